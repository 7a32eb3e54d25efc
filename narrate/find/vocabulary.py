"""The lexicon made ready for find/: phrase index, guessing table, word sets. Built once a lexicon."""

import gc
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise

from narrate.find.encoder import Encoder, load_encoder
from narrate.find.linear import Joiner, load_joiner
from narrate.find.spacy_engine import PhraseIndex, Tokenizer
from narrate.words.lexicon import Lexicon, Phrase
from narrate.words.phrases import phrase_words
from narrate.words.sounds import Speller, load_speller

SILENT = frozenset(
    {
        "opener", "source", "source_filler", "bridge", "light", "listing", "counted", "article", "distance",
        "while_open", "because", "or_else", "placing", "spanning", "short_of", "function",
    }
)  # fmt: skip
"""Cues that are looked up word by word where they matter; as mentions they would only be many."""


@dataclass(frozen=True, slots=True)
class Longer:
    """Names that go on before, or behind, a shorter one: "gasket" behind "valve cover". One entry a name."""

    components: tuple[str, ...]
    names: tuple[str, ...]
    rests: tuple[tuple[str, ...], ...]
    """What goes on, word by word …"""
    sounds: tuple[str, ...]
    """… and how it sounds."""


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """What every stage may look things up in."""

    lexicon: Lexicon
    tokenizer: Tokenizer
    index: PhraseIndex
    phrases: tuple[tuple[Phrase, ...], ...]
    """By number in the index: all meanings of one phrase."""
    known: frozenset[str]
    """Every word that occurs in a component's phrase, as it may be spelled out letter by letter."""
    guessable: tuple[str, ...]
    """Component phrases to compare a window with, and the component of each."""
    guessable_ids: tuple[str, ...]
    names_by_word: dict[str, tuple[int, ...]]
    """For each word of a part name, and each two words run together: the numbers of the names that have it."""
    name_words: tuple[str, ...]
    """The keys of `names_by_word`."""
    name_sounds: tuple[str, ...]
    """How each of `guessable` sounds, run together."""
    names_by_sound: dict[str, tuple[int, ...]]
    """The same as `names_by_word` for how the words sound."""
    sound_words: tuple[str, ...]
    """The keys of `names_by_sound`."""
    longer_names: dict[tuple[tuple[str, ...], bool], Longer]
    """For each name of a part that longer ones end (True) or begin with: these."""
    explained: frozenset[str]
    """Words the guessing pass leaves alone: everyday words and words of the lexicon."""
    cue_words: dict[str, frozenset[str]]
    """For each cue: those of its phrases that are one word."""
    cue_phrases: dict[str, frozenset[tuple[str, ...]]]
    """For each cue: its phrases, word by word."""
    units: dict[tuple[str, ...], str]
    joiner: Joiner
    encoder: Encoder | None = None
    """The trained encoder, where its files are there."""
    names_like: dict[str, tuple[int, ...]] = field(default_factory=dict)
    """For each strange word met so far: the part names to compare it with. The same mis-hearings come up again."""
    names_sounding: dict[str, frozenset[int]] = field(default_factory=dict)
    """For each word met so far: the part names with a word that sounds like it."""
    weighed: dict[tuple[object, ...], float] = field(default_factory=dict)
    """What combinations of features that come up again and again weigh by this joiner, once added up."""


@lru_cache(maxsize=4)
def vocabulary(lexicon: Lexicon, joiner: Joiner | None = None) -> Vocabulary:
    """Make a lexicon ready, with the shipped models or, given other weights, with these alone; kept once made."""
    meanings: dict[tuple[str, ...], list[Phrase]] = defaultdict(list)
    units: dict[tuple[str, ...], str] = {}
    known: set[str] = set()
    for phrase in lexicon.phrases():
        if phrase.id in SILENT:
            continue
        known.update(phrase.words)
        if phrase.family == "unit":
            units.setdefault(phrase.words, phrase.id)
        elif all((phrase.family, phrase.id) != (other.family, other.id) for other in meanings[phrase.words]):
            meanings[phrase.words].append(phrase)
    guessable = [
        (" ".join(words), phrase.id)
        for words, phrases in meanings.items()
        for phrase in phrases
        if phrase.family == "component" and phrase.how not in ("heard", "short") and len("".join(words)) >= 5
    ]
    names_by_word = _names_by_word([text for text, _ in guessable])
    speller = load_speller()
    split = [text.split() for text, _ in guessable]
    names_by_sound = _names_by_sound(split, speller)
    made = Vocabulary(
        lexicon=lexicon,
        tokenizer=Tokenizer(),
        index=PhraseIndex(meanings),
        phrases=tuple(tuple(phrases) for phrases in meanings.values()),
        known=frozenset(known),
        guessable=tuple(text for text, _ in guessable),
        guessable_ids=tuple(component for _, component in guessable),
        names_by_word=names_by_word,
        name_words=tuple(names_by_word),
        name_sounds=tuple("".join(map(speller.sounds, words)) for words in split),
        names_by_sound=names_by_sound,
        sound_words=tuple(names_by_sound),
        longer_names=_longer_names(list(zip(split, (key for _, key in guessable), strict=True)), meanings, speller),
        explained=lexicon.everyday | known,
        cue_words={
            cue: frozenset(lexicon.spelling.get(w, w) for w in entry.words if " " not in w)
            for cue, entry in lexicon.cues.items()
        },
        cue_phrases={
            cue: frozenset(phrase_words(said, lexicon.spelling) for said in entry.words)
            for cue, entry in lexicon.cues.items()
        },
        units=units,
        joiner=joiner or load_joiner(),
        encoder=None if joiner else load_encoder(),
    )
    # The lexicon is a hundred thousand objects that live as long as the process. Unless they are set aside, every
    # full garbage collection walks them all: a third of the time find takes.
    gc.collect()
    gc.freeze()
    return made


def _names_by_sound(names: list[list[str]], speller: Speller) -> dict[str, tuple[int, ...]]:
    by_sound: dict[str, set[int]] = defaultdict(set)
    for number, words in enumerate(names):
        sounds = [speller.sounds(word) for word in words]
        for run in (*sounds, *(a + b for a, b in pairwise(sounds))):
            by_sound[run].add(number)
    return {run: tuple(sorted(numbers)) for run, numbers in by_sound.items() if len(run) > 1}


def _longer_names(
    names: list[tuple[list[str], str]], meanings: Mapping[tuple[str, ...], list[Phrase]], speller: Speller
) -> dict[tuple[tuple[str, ...], bool], Longer]:
    parts = {words for words, phrases in meanings.items() if any(p.family == "component" for p in phrases)}
    longer: dict[tuple[tuple[str, ...], bool], list[tuple[str, str, tuple[str, ...]]]] = defaultdict(list)
    for split, component in names:
        words = tuple(split)
        for cut in range(1, len(words)):
            for shorter, rest, before in ((words[:cut], words[cut:], False), (words[cut:], words[:cut], True)):
                if shorter in parts:
                    longer[shorter, before].append((component, " ".join(words), rest))
    made = {}
    for key, found in longer.items():
        components, texts, rests = zip(*found, strict=True)
        made[key] = Longer(components, texts, rests, tuple("".join(map(speller.sounds, rest)) for rest in rests))
    return made


def _names_by_word(names: list[str]) -> dict[str, tuple[int, ...]]:
    by_word: dict[str, list[int]] = defaultdict(list)
    for number, name in enumerate(names):
        words = name.split()
        # A recogniser often runs the first two words together: "swaybar", "tyrod".
        pairs = ("".join(words[:2]),) if 1 < len(words) <= 3 and not words[-1].endswith("s") else ()
        for word in {word for word in (*words, *pairs) if len(word) >= 4}:
            by_word[word].append(number)
    return {word: tuple(numbers) for word, numbers in by_word.items()}
