"""Which parts, faults and work a few words sound like, more freely than a guess may be: to be offered to a person."""

from collections.abc import Iterator, Sequence
from functools import lru_cache

from rapidfuzz import fuzz, process

from narrate.find.draft import Draft
from narrate.find.sounding import likeness, names_sounding_like
from narrate.find.vocabulary import Vocabulary
from narrate.words.lexicon import Lexicon
from narrate.words.sounds import load_speller

Stretches = Sequence[tuple[int, int]]
"""First and last token of each, both inclusive."""
BESIDE = 3
"""So many words on each side of a finding's own may belong to the name that was misheard."""
LONGEST = 4
ALIKE, ALIKE_SHORT = 0.62, 0.7
"""How alike a name must be (0 to 1) to be offered; a fault or work, whose words are short, more."""
CLOSEST = 5
BY_SOUND = 62.0
"""How like the whole must sound (ratio of sounds, 0 to 100) to be weighed closely."""
OFFERED = 4


def sounds_like_part(draft: Draft, vocabulary: Vocabulary, stretches: Stretches) -> list[str]:
    """Parts whose names the words sound like, the most alike first."""
    scores: dict[str, float] = {}
    for words in _windows(draft, vocabulary, stretches, BESIDE):
        sounding = names_sounding_like(vocabulary, words)
        sets = [sounding.get(word, frozenset()) for word in words]
        near = sorted(frozenset().union(*sets))
        sounds = _sounds(words)
        closest = process.extract(
            sounds, [vocabulary.name_sounds[n] for n in near], scorer=fuzz.ratio, limit=CLOSEST, processor=None,
            score_cutoff=BY_SOUND,
        )  # fmt: skip
        for _, _, at in closest:
            part = vocabulary.guessable_ids[near[at]]
            score = likeness(words, vocabulary.guessable[near[at]].split())
            scores[part] = max(score, scores.get(part, 0.0))
    return _best(scores, ALIKE)


def sounds_like_condition(draft: Draft, vocabulary: Vocabulary, stretches: Stretches, part: str | None) -> list[str]:
    """Faults that the words sound like, of those that such a part can have."""
    lexicon = vocabulary.lexicon
    found = _alike(draft, vocabulary, stretches, _phrases(lexicon, "condition"))
    return [key for key in found if part is None or lexicon.legal(part, key)][:OFFERED]


def sounds_like_action(draft: Draft, vocabulary: Vocabulary, stretches: Stretches) -> list[str]:
    """Work that the words sound like."""
    return _alike(draft, vocabulary, stretches, _phrases(vocabulary.lexicon, "action"))[:OFFERED]


def _alike(
    draft: Draft, vocabulary: Vocabulary, stretches: Stretches, phrases: Sequence[tuple[str, str, str]]
) -> list[str]:
    sounds = [each[2] for each in phrases]
    scores: dict[str, float] = {}
    for words in _windows(draft, vocabulary, stretches, 0):
        heard = _sounds(words)
        for _, _, at in process.extract(
            heard, sounds, scorer=fuzz.ratio, limit=CLOSEST, processor=None, score_cutoff=BY_SOUND
        ):
            key, text, _ = phrases[at]
            score = likeness(words, text.split())
            scores[key] = max(score, scores.get(key, 0.0))
    return _best(scores, ALIKE_SHORT)


def _best(scores: dict[str, float], least: float) -> list[str]:
    good = [(-score, key) for key, score in scores.items() if score >= least]
    return [key for _, key in sorted(good)]


def _windows(draft: Draft, vocabulary: Vocabulary, stretches: Stretches, beside: int) -> Iterator[tuple[str, ...]]:
    """Runs of words that neither begin nor end with a word that no name begins or ends with."""
    function = vocabulary.cue_words["function"]
    for first, last in stretches:
        texts = [token.text for token in draft.tokens[max(0, first - beside) : last + beside + 1]]
        idle = [not text.isalpha() or text in function or (text,) in vocabulary.units for text in texts]
        for begin in range(len(texts)):
            for end in range(begin, min(len(texts), begin + LONGEST)):
                if not idle[begin] and not idle[end]:
                    yield tuple(texts[begin : end + 1])


def _sounds(words: Sequence[str]) -> str:
    return "".join(map(load_speller().sounds, words))


@lru_cache(maxsize=8)
def _phrases(lexicon: Lexicon, family: str) -> tuple[tuple[str, str, str], ...]:
    """(id, words, how they sound) of every phrase of a family."""
    said = ((phrase.id, phrase.words) for phrase in lexicon.phrases() if phrase.family == family)
    return tuple((id_, " ".join(words), _sounds(words)) for id_, words in said)
