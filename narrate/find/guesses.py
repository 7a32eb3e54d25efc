"""Stage 4: parts the recogniser spelled wrong, or heard as other words (sounding.py). A guess keeps its runner-up.

The gate of the first is cheap: only stretches with a word that neither everyday English nor the lexicon explains are
compared, and only with the part names that contain a word like it.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from rapidfuzz import fuzz, process

from narrate.find.draft import Draft, Mention, Token
from narrate.find.sounding import begins_alike, signs_needed, sounding_like
from narrate.find.surroundings import in_car_talk, talk_of
from narrate.find.vocabulary import Vocabulary

CUTOFF = 82.0
"""rapidfuzz ratio, 0 to 100: below it more ordinary words are taken for parts than parts are mended."""
WORD_CUTOFF = 68.0
"""How like a strange word must be to one word (or two run together) of a part name to compare the whole name."""
LIKE = 24
AT_ONCE = 100
"""Strange words compared together: the comparison is quicker by the hundred, and its table stays small."""
LONGEST = 4
MARGIN = 4.0
"""A different part this close behind is an alternative worth showing."""
BREAK = 0.4


def guess_mentions(draft: Draft, vocabulary: Vocabulary) -> Draft:
    """Compare unexplained stretches with all part names; keep the best match of each stretch."""
    covered = {
        number
        for mention in draft.mentions
        if mention.family == "component" and not mention.needs_context
        for number in range(mention.first, mention.last + 1)
    }
    strange = [
        number for number, token in enumerate(draft.tokens) if number not in covered and _strange(token, vocabulary)
    ]
    talk = talk_of(draft, vocabulary)
    found: dict[tuple[int, int], Mention] = {}
    likes = _names_like([draft.tokens[number].text for number in strange], vocabulary)
    for number, names in zip(strange, likes, strict=True):
        texts = [vocabulary.guessable[name] for name in names]
        for first, last in _windows(draft, number, covered, talk.mass) if names else ():
            guess = _guess(draft, vocabulary, first, last, names, texts)
            if guess and in_car_talk(talk, guess.key, first, last, signs=signs_needed(talk, first, last)):
                found[first, last] = guess
    guesses: list[Mention] = []
    taken: set[int] = set()
    scored = sorted(found.values(), key=lambda guess: (-guess.score, guess.first - guess.last))
    for guess in scored:
        span = set(range(guess.first, guess.last + 1))
        if span & taken:
            continue
        taken |= span
        guesses.append(replace(guess, id=f"m{len(draft.mentions) + len(guesses)}"))
    for guess in sounding_like(talk, taken):
        taken |= set(range(guess.first, guess.last + 1))
        guesses.append(replace(guess, id=f"m{len(draft.mentions) + len(guesses)}"))
    unknown = [
        _unknown(number, len(draft.mentions) + len(guesses) + count)
        for count, number in enumerate(
            n for n in strange if n not in taken and _named_as_part(draft, n, vocabulary.cue_words["article"])
        )
    ]
    kept = tuple(
        mention
        for mention in draft.mentions
        if not any(guess.first <= mention.last and mention.first <= guess.last for guess in guesses)
    )
    return replace(draft, mentions=(*kept, *guesses, *unknown))


def _named_as_part(draft: Draft, number: int, articles: frozenset[str]) -> bool:
    """Whether a word nothing explains stands where a part is named: "the blarg is …"."""
    return number > 0 and draft.tokens[number - 1].text in articles


def _unknown(number: int, count: int) -> Mention:
    """A thing without a name in the lexicon: what is said of it must not go to the part named before."""
    why = "named like a part, and unknown"
    return Mention(f"m{count}", "unknown", "unknown", number, number, "unknown", 0.0, because=(f"t{number}",), why=why)


def _strange(token: Token, vocabulary: Vocabulary) -> bool:
    text = token.text
    return len(text) >= 4 and text.isalpha() and text not in vocabulary.explained


def _names_like(strange: list[str], vocabulary: Vocabulary) -> list[tuple[int, ...]]:
    """For each strange word: numbers of the part names that have a word, or two run together, like it."""
    new = [word for word in dict.fromkeys(strange) if word not in vocabulary.names_like]
    for start in range(0, len(new), AT_ONCE):
        some = new[start : start + AT_ONCE]
        scores = process.cdist(
            some, vocabulary.name_words, scorer=fuzz.ratio, score_cutoff=WORD_CUTOFF, dtype=np.uint8, workers=1
        )
        for word, row in zip(some, scores, strict=True):
            near = np.flatnonzero(row)
            best = near[np.argsort(-row[near].astype(int), kind="stable")[:LIKE]]
            names = (vocabulary.names_by_word[vocabulary.name_words[like]] for like in best)
            vocabulary.names_like[word] = tuple(sorted({name for numbers in names for name in numbers}))
    return [vocabulary.names_like[word] for word in strange]


def _windows(draft: Draft, number: int, covered: set[int], mass: list[float]) -> Iterator[tuple[int, int]]:
    """Stretches of up to LONGEST tokens around a strange one, not across a boundary or a known part."""
    for first in range(max(0, number - LONGEST + 1), number + 1):
        if mass[number] - mass[first] >= BREAK or first in covered:
            continue
        for last in range(number, min(len(draft.tokens), first + LONGEST)):
            if mass[last] - mass[first] >= BREAK or last in covered:
                break
            if not covered.intersection(range(first, number)):
                yield first, last


def _guess(
    draft: Draft, vocabulary: Vocabulary, first: int, last: int, names: tuple[int, ...], texts: list[str]
) -> Mention | None:
    said = " ".join(token.text for token in draft.tokens[first : last + 1])
    best = process.extract(
        said,
        texts,
        scorer=fuzz.ratio,
        score_cutoff=CUTOFF,
        limit=4,
        processor=None,
    )
    if not best:
        return None
    if first == last and not begins_alike(said, best[0][0]):
        return None
    ids = [vocabulary.guessable_ids[names[at]] for _, _, at in best]
    name, score, _ = best[0]
    other = next((number for number, component in enumerate(ids) if component != ids[0]), None)
    near = other is not None and score - best[other][1] < MARGIN
    return Mention(
        id="",
        family="component",
        key=ids[0],
        first=first,
        last=last,
        how="guess",
        score=score / 100,
        runner_up=ids[other] if other is not None and near else None,
        because=tuple(f"t{number}" for number in range(first, last + 1)),
        why=f"'{said}' is spelled like '{name}' ({score:.0f} of 100)",
    )
