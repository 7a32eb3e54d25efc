"""The only place that knows spaCy: a blank English tokenizer and its phrase matcher."""

from collections.abc import Iterable, Sequence
from typing import Any, cast

from spacy.lang.en import English
from spacy.matcher import PhraseMatcher
from spacy.tokens import Doc
from spacy.vocab import Vocab


class Tokenizer:
    """Splits text at blanks, punctuation and possessives; contractions stay whole."""

    def __init__(self) -> None:
        # Any, because spaCy types it as a plain callable; the blank pipeline's is its rule tokenizer.
        self._tokenizer = cast(Any, English().tokenizer)
        # The exceptions split "isn't" into "is" and "n't"; the lexicon's cues are whole words.
        self._tokenizer.rules = {}

    def split(self, text: str) -> list[tuple[str, int]]:
        """Pieces of the text, each with the character it starts at."""
        return [(token.text, token.idx) for token in self._tokenizer(text)]


class PhraseIndex:
    """Finds every phrase of a set in a sequence of words, in time that hardly grows with the set."""

    def __init__(self, phrases: Iterable[Sequence[str]]) -> None:
        self._vocab = Vocab()
        self._matcher = PhraseMatcher(self._vocab, attr="ORTH")
        self._numbers = {tuple(words): number for number, words in enumerate(phrases)}
        # One key for all: a key each would cost more than the matching of a whole day.
        self._matcher.add("phrase", [Doc(self._vocab, words=list(words)) for words in self._numbers])

    def matches(self, words: Sequence[str]) -> list[tuple[int, int, int]]:
        """(phrase number, first, last) of every occurrence, overlaps included; last is inclusive."""
        if not words:
            return []
        found = self._matcher(Doc(self._vocab, words=list(words)))
        return [(self._numbers[tuple(words[start:end])], start, end - 1) for _, start, end in found]
