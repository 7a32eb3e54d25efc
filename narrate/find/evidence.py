"""Evidence: from token numbers to stretches of the words as heard."""

from collections.abc import Iterable

from narrate.find.draft import Draft
from narrate.records.walkaround import Evidence

NEAR = 4
"""Stretches with at most this many words between them, and no command, are one piece of evidence."""


def evidence_of(draft: Draft, tokens: Iterable[int], recording: str) -> tuple[Evidence, ...]:
    """The stretches of words that cover some tokens, verbatim, with the times of their first and last word."""
    words = sorted({word for number in tokens for word in words_under(draft, number, number)})
    stretches: list[list[int]] = []
    told = [command.first_word for command in draft.commands]
    for word in words:
        apart = stretches and any(stretches[-1][1] < first < word for first in told)
        if stretches and word - stretches[-1][1] <= NEAR + 1 and not apart:
            stretches[-1][1] = word
        else:
            stretches.append([word, word])
    return tuple(stretch_evidence(draft, first, last, recording) for first, last in stretches)


def stretch_evidence(draft: Draft, first: int, last: int, recording: str) -> Evidence:
    """One piece of evidence: the words from `first` to `last`."""
    return Evidence(
        recording=recording,
        first_word=first,
        last_word=last,
        start_s=draft.words[first].start_s,
        end_s=draft.words[last].end_s,
        said=said(draft, first, last),
    )


def words_under(draft: Draft, first: int, last: int) -> range:
    """The numbers of the words under a stretch of tokens."""
    return range(draft.tokens[first].first_word, draft.tokens[last].last_word + 1)


def said(draft: Draft, first: int, last: int) -> str:
    """Words as heard, joined by blanks."""
    return " ".join(word.text for word in draft.words[first : last + 1])


def said_tokens(draft: Draft, first: int, last: int) -> str:
    """The words as heard under a stretch of tokens."""
    return said(draft, draft.tokens[first].first_word, draft.tokens[last].last_word)
