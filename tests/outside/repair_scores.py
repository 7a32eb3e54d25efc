"""Slips put right in Disfl-QA's questions: whether what was taken back is void, and the last word stands."""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from asking import Asked
from published import Question

from narrate.find.draft import Amount, Draft, Mention
from narrate.score.counts import Share

CARDINALS = frozenset(
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety hundred thousand million billion".split()
)
ORDINALS = frozenset("first second third fourth fifth sixth seventh eighth ninth tenth".split())
DIRECTIONS = frozenset(
    "left right front rear back upper lower top bottom inner outer inside outside north south east west northern "
    "southern eastern western".split()
)
APART = 10
"""The two lie at most so many words apart; else they are rarely two readings of one thing."""
EDGE = re.compile(r"^\W+|\W+$")


@dataclass(frozen=True)
class Slip:
    """A number, ordinal or direction said first, and the one that takes its place: word numbers in the question."""

    words: tuple[str, ...]
    sort: str
    first: int
    last: int


@dataclass(frozen=True)
class RepairScores:
    """Of each sort of slip, how many were taken back rightly; of the questions as written, how many lost anything."""

    right: dict[str, Share]
    missed: dict[str, tuple[str, ...]]
    false: Share
    false_texts: tuple[str, ...]


def slips(questions: Sequence[Question]) -> list[Slip]:
    """The slips told by comparing both versions: a word that only the disfluent one has, then one that both have."""
    return [slip for question in questions if (slip := _slip(question))]


def _slip(question: Question) -> Slip | None:
    words = question.disfluent.split()
    plain = [EDGE.sub("", word.lower()) for word in words]
    kept = Counter(EDGE.sub("", word.lower()) for word in question.original.split())
    for first, word in enumerate(plain):
        sort = _sort(word)
        if sort is None or word in kept:
            continue
        for last in range(first + 1, min(first + 1 + APART, len(plain))):
            if _sort(plain[last]) == sort and plain[last] in kept:
                return Slip(tuple(words), sort, first, last)
    return None


def _sort(word: str) -> str | None:
    if word.isdecimal() or word in CARDINALS:
        return "number"
    if word in ORDINALS or re.fullmatch(r"\d+(st|nd|rd|th)", word):
        return "ordinal"
    return "direction" if word in DIRECTIONS else None


def score_repairs(asked: Asked, questions: Sequence[Question]) -> RepairScores:
    """Look for the slips in the disfluent versions, and for anything taken back in the originals."""
    right: dict[str, Share] = {}
    missed: dict[str, tuple[str, ...]] = {}
    for slip in slips(questions):
        void = void_words(asked.read(slip.words))
        won = slip.first in void and slip.last not in void
        right[slip.sort] = right.get(slip.sort, Share()) + Share(won, 1)
        if not won:
            missed[slip.sort] = (*missed.get(slip.sort, ()), " ".join(slip.words))
    false = [q.original for q in questions if void_words(asked.read(q.original))]
    return RepairScores(right, missed, Share(len(false), len(questions)), tuple(false))


def void_words(draft: Draft) -> frozenset[int]:
    """The numbers of the words that lie in anything taken back."""
    taken = {void.item for void in draft.voids}
    items: list[Mention | Amount] = [*draft.mentions, *draft.amounts]
    spans = [(item.first, item.last) for item in items if item.id in taken]
    tokens = [draft.tokens[number] for first, last in spans for number in range(first, last + 1)]
    return frozenset(word for token in tokens for word in range(token.first_word, token.last_word + 1))
