"""Symptoms: which of them some words name, and whether two speak of the same thing."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from narrate.words.entries import SymptomEntry
from narrate.words.lexicon import Lexicon
from narrate.words.phrases import phrase_words

BETWEEN = 2
"""How many other words may stand between two words of one phrase: "pulls a bit to the left"."""


@dataclass(frozen=True, slots=True, eq=False)
class Symptoms:
    """The symptoms of a lexicon, made ready for look-up."""

    entries: Mapping[str, SymptomEntry]
    wider: Mapping[str, tuple[str, ...]]
    """For each symptom those it is a case of, nearest first."""
    phrases: Mapping[str, tuple[tuple[str, ...], ...]]
    """By their first two letters, all phrases that begin so."""
    meanings: Mapping[tuple[str, ...], frozenset[str]]
    """Symptoms a phrase says, and `when …` or `unless …` for those whose circumstances it gives."""
    told_by: frozenset[tuple[str, ...]]
    """What may stand between a complaint told again and its cause."""

    def named(self, words: Sequence[str]) -> tuple[str, ...]:
        """The symptoms some words name: the most particular ones first, then what those are cases of."""
        said = {key for phrase, _ in self._met(words) for key in self.meanings[phrase]}
        named = [
            key
            for key, e in self.entries.items()
            if key in said and (not e.when or f"when {key}" in said) and f"unless {key}" not in said
        ]
        above = {wide for key in named for wide in self.wider[key]}
        return (*(key for key in named if key not in above), *(key for key in self.entries if key in above))

    def words_of(self, words: Sequence[str]) -> frozenset[int]:
        """The numbers of the words that say a symptom or its circumstances."""
        return frozenset(number for _, numbers in self._met(words) for number in numbers)

    def _met(self, words: Sequence[str]) -> Iterator[tuple[tuple[str, ...], tuple[int, ...]]]:
        for start, word in enumerate(words):
            for phrase in self.phrases.get(word[:2], ()):
                if numbers := _follows(words, start, phrase):
                    yield phrase, numbers

    def particular(self, named: Sequence[str]) -> tuple[str, ...]:
        """Of some symptoms those that no other of them is a case of."""
        above = {wide for key in named for wide in self.wider[key]}
        return tuple(key for key in named if key not in above)

    def related(self, ones: Sequence[str], others: Sequence[str]) -> bool:
        """Whether a symptom of the ones is one of the others or a case of it, or the other way round."""
        mine, theirs = self.particular(ones), self.particular(others)
        return any(a == b or a in self.wider[b] or b in self.wider[a] for a in mine for b in theirs)


@lru_cache(maxsize=4)
def symptoms_of(lexicon: Lexicon) -> Symptoms:
    """Make the symptoms of a lexicon ready; kept once made."""
    entries = lexicon.symptoms
    wider = {key: _above(entries, key) for key in entries}
    meanings: dict[tuple[str, ...], set[str]] = defaultdict(set)
    for key, entry in entries.items():
        says = next((entries[k].says for k in (key, *wider[key]) if entries[k].says), ())
        for phrase in says:
            meanings[phrase_words(phrase, lexicon.spelling)].add(key)
        for phrase in entry.when:
            meanings[phrase_words(phrase, lexicon.spelling)].add(f"when {key}")
        for phrase in entry.unless:
            meanings[phrase_words(phrase, lexicon.spelling)].add(f"unless {key}")
    phrases: dict[str, list[tuple[str, ...]]] = defaultdict(list)
    for words in meanings:
        phrases[words[0][:2]].append(words)
    return Symptoms(
        entries=entries,
        wider=wider,
        phrases={begin: tuple(found) for begin, found in phrases.items()},
        meanings={words: frozenset(keys) for words, keys in meanings.items()},
        told_by=frozenset(phrase_words(phrase, lexicon.spelling) for phrase in lexicon.told_by),
    )


def _above(entries: Mapping[str, SymptomEntry], key: str) -> tuple[str, ...]:
    wide = entries[key].under
    return (wide, *_above(entries, wide)) if wide else ()


def _follows(words: Sequence[str], start: int, phrase: Sequence[str]) -> tuple[int, ...]:
    """The numbers of the words of a phrase that begins at a word and goes on with few words between; () if none."""
    numbers: list[int] = []
    for part in phrase:
        reach = range(numbers[-1] + 1, min(numbers[-1] + 2 + BETWEEN, len(words))) if numbers else (start,)
        at = next((n for n in reach if _fits(words[n], part)), None)
        if at is None:
            return ()
        numbers.append(at)
    return tuple(numbers)


def _fits(word: str, part: str) -> bool:
    return word.startswith(part[:-1]) if part.endswith("*") else word == part
