"""How well the words were heard: word error rate, and which part names came through."""

from collections.abc import Iterable
from dataclasses import dataclass

import jiwer

from narrate.records.case import Case
from narrate.records.walkaround import Walkaround
from narrate.score.counts import Share
from narrate.score.names import split_words, spoken_at


@dataclass(frozen=True)
class WordScore:
    """What was heard of what was said."""

    errors: Share
    """Words substituted, left out or put in, of the words said; can exceed one."""
    part_names: Share
    """Of the expected findings with an accepted name that was said, those with such a name heard."""

    def __add__(self, other: "WordScore") -> "WordScore":
        return WordScore(self.errors + other.errors, self.part_names + other.part_names)


def measure_words(case: Case, walkaround: Walkaround) -> WordScore:
    """Compare the words heard in all recordings with those of the case."""
    heard = " ".join(word.text for recording in walkaround.recordings for word in recording.words)
    return WordScore(count_word_errors(case.said, heard), count_part_names(case, heard))


def count_word_errors(said: str, heard: str) -> Share:
    """Errors by jiwer once case, punctuation and hyphens are gone.

    Nothing else is made equal: `2` heard for `two` is an error, as is another spelling.
    """
    reference, hypothesis = plain_words(said), plain_words(heard)
    if not reference:  # jiwer refuses an empty reference
        return Share(len(hypothesis.split()), 0)
    result = jiwer.process_words(reference, hypothesis)
    wrong = result.substitutions + result.deletions + result.insertions
    return Share(wrong, len(reference.split()))


def count_part_names(case: Case, heard: str) -> Share:
    """Part-name recall; names are compared without plurals, hyphens and words for places."""
    said, words = case.said.split(), heard.split()
    spoken = [_spoken(expected.component, said) for expected in case.finding]
    named = [names for names in spoken if names]
    return Share(sum(bool(spoken_at(names, words)) for names in named), len(named))


def plain_words(text: str) -> str:
    """Lower-case words without punctuation.

    >>> plain_words("It's a half-shaft, O.K.?")
    'its a half shaft ok'
    """
    return " ".join(split_words(text))


def _spoken(names: Iterable[str], words: list[str]) -> list[str]:
    return [name for name in names if spoken_at([name], words)]
