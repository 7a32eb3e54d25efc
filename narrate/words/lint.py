"""What a checked lexicon still has that will surprise someone: shared names, sound-alikes, padding."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from collections.abc import Set as AbstractSet

import numpy as np
from rapidfuzz.fuzz import ratio
from rapidfuzz.process import cdist

from narrate.words.command_lint import lint_commands
from narrate.words.lexicon import Lexicon, Phrase
from narrate.words.phrases import plural
from narrate.words.remarks import Remark

ALIKE = 90
"""Similarity (0 to 100) from which two names are easily heard as one another."""
SHORTEST = 6
"""Letters from which a name is compared: in shorter ones a single letter is a whole other word."""
SIDE_WORDS = frozenset(("left", "right", "driver", "passenger", "nearside", "offside"))
NAMING = frozenset(("driver", "passenger"))
"""Side words that often name a part: an injector driver, the passenger compartment."""
PADDING = frozenset(("assembly", "unit"))


def lint(lexicon: Lexicon, *, sound_alikes: int = 40) -> tuple[Remark, ...]:
    """Everything worth telling about a lexicon, errors first; of the sound-alikes only the closest."""
    phrases = [phrase for phrase in lexicon.phrases() if phrase.family == "component"]
    return (
        *_shared_names(phrases),
        *lint_commands(lexicon),
        *_everyday_words(lexicon),
        *_words_in_names(lexicon),
        *_plurals(lexicon),
        *_sound_alikes(phrases, sound_alikes),
    )


def _shared_names(phrases: Iterable[Phrase]) -> Iterator[Remark]:
    """Names that belong to two components: whichever is taken is wrong half of the time."""
    owners: dict[tuple[str, ...], dict[str, str]] = defaultdict(dict)
    for phrase in phrases:
        # A short name may have many owners: the words around it tell which is meant.
        if phrase.how != "short":
            owners[phrase.words].setdefault(phrase.id, phrase.how)
    for words, ids in owners.items():
        # Two plurals that are the same come from two names that are the same, which are told already.
        if len(ids) > 1 and set(ids.values()) != {"plural"}:
            first, *others = sorted(ids)
            message = f"'{' '.join(words)}' is also a name of {', '.join(others)}; keep it in one of them"
            yield Remark("error", message, f"component.{first}")


def _everyday_words(lexicon: Lexicon) -> Iterator[Remark]:
    """Other names that are a single everyday word and count without car talk around them."""
    for component, entry in lexicon.components.items():
        for alias in entry.aliases:
            if alias in lexicon.everyday and alias not in entry.needs_context:
                message = f"'{alias}' is an everyday word; list it under needs_context too"
                yield Remark("warning", message, f"component.{component}")


def _words_in_names(lexicon: Lexicon) -> Iterator[Remark]:
    """Side words, which belong to the place and not to the part; and words that add nothing."""
    for component, entry in lexicon.components.items():
        names = set(entry.names)
        for alias in entry.aliases:
            words = alias.split()
            for side in sorted(_idle_sides(words, names | set(entry.short))):
                message = f"'{alias}' holds the side word '{side}'; leave it out, places are found apart"
                yield Remark("warning", message, f"component.{component}")
            rest = _without(words, PADDING)
            if rest != alias and rest in names:
                message = f"'{alias}' is '{rest}' with padding; leave it out"
                yield Remark("warning", message, f"component.{component}")


def _idle_sides(words: list[str], names: set[str]) -> frozenset[str]:
    """The side words that only say where; driver and passenger may also be part of what a thing is."""
    said = SIDE_WORDS.intersection(words)
    return said if _without(words, said) in names else said - NAMING


def _without(words: list[str], dropped: AbstractSet[str]) -> str:
    return " ".join(word for word in words if word not in dropped)


def _plurals(lexicon: Lexicon) -> Iterator[Remark]:
    """Plurals written out though they are made."""
    for component, entry in lexicon.components.items():
        if lexicon.kinds[entry.kind].mass:
            continue
        made = {plural(name): name for name in (entry.name, entry.gb, *entry.aliases) if name}
        for alias in entry.aliases:
            if alias in made:
                message = f"'{alias}' is the plural of '{made[alias]}', which is made by itself; leave it out"
                yield Remark("warning", message, f"component.{component}")


def _sound_alikes(phrases: Iterable[Phrase], most: int) -> list[Remark]:
    """Names of different components that are nearly the same letters, the closest first."""
    names: dict[str, Phrase] = {}
    for phrase in phrases:
        text = "".join(phrase.words)
        if phrase.how in ("name", "alias") and len(text) >= SHORTEST and not phrase.needs_context:
            names.setdefault(text, phrase)
    # All pairs would take a minute. Names that differ at the beginning and at the end at once are not alike.
    blocks: dict[tuple[str, str], list[str]] = defaultdict(list)
    for text in names:
        blocks["begins", text[:2]].append(text)
        blocks["ends", text[-2:]].append(text)
    pairs: dict[tuple[str, str], float] = {}
    for texts in blocks.values():
        scores = cdist(texts, texts, scorer=ratio, score_cutoff=ALIKE, dtype=np.uint8)
        for one, other in zip(*np.nonzero(np.triu(scores, 1)), strict=True):
            if names[texts[one]].id != names[texts[other]].id:
                first, second = sorted((texts[one], texts[other]))
                pairs[first, second] = ratio(first, second)
    closest = sorted(pairs.items(), key=lambda pair: (-pair[1], pair[0]))[:most]
    return [_alike(names[one], names[other], score) for (one, other), score in closest]


def _alike(one: Phrase, other: Phrase, score: float) -> Remark:
    message = (
        f"'{' '.join(one.words)}' sounds like '{' '.join(other.words)}' of {other.id} ({score:.0f} of 100); "
        "make sure that is meant"
    )
    return Remark("warning", message, f"component.{one.id}")
