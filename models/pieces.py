"""Pieces of labelled narrations: a sentence or three that stand by themselves, as further training text.

A program that has only seen whole walk-rounds finds a single sentence strange.
"""

import random
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from labelled import Labelled, Marked

LONGEST, MOST_UNITS = 60, 3
"""Words in a piece, and how many of the smallest ones are put together."""
PUNCTUATED = 0.02
"""Sentence ends a word from which on a text is cut at these only."""
ENDS = (".", "!", "?")
ANNOUNCED = "LT"
"""Kinds of label that reach over several findings and may stand outside the piece."""


def pieces_of(labelled: Labelled) -> Iterator[Labelled]:
    """The narration cut where no finding is cut, one to three of these units at a time; what is long stays out.

    Drawn by the narration's name, so that the same data come out again.
    """
    chance = random.Random(f"pieces of {labelled.name}")
    cuts = [0, *_cuts(labelled), len(labelled.words)]
    at = 0
    while at < len(cuts) - 1:
        last = min(len(cuts) - 1, at + chance.randint(1, MOST_UNITS))
        while last > at + 1 and cuts[last] - cuts[at] > LONGEST:
            last -= 1
        if 3 <= cuts[last] - cuts[at] <= LONGEST and last - at < len(cuts) - 1:
            yield _piece(labelled, cuts[at], cuts[last])
        at = last


def with_pieces(narrations: Iterable[Labelled]) -> list[Labelled]:
    """The narrations, each followed by its pieces."""
    return [told for labelled in narrations for told in (labelled, *pieces_of(labelled))]


def is_punctuated(words: Sequence[str]) -> bool:
    """Whether sentences end so often that the rest of the text does not lack its ends."""
    return sum(word.endswith(ENDS) for word in words) >= PUNCTUATED * len(words)


def _cuts(labelled: Labelled) -> list[int]:
    """Numbers of the words before which the text may be cut, in order."""
    words = labelled.words
    reach: dict[int, tuple[int, int]] = {}
    for marked in labelled.stretches:
        for number in marked.numbers if marked.kind not in ANNOUNCED else ():
            first, last = reach.get(number, (marked.first, marked.last))
            reach[number] = min(first, marked.first), max(last, marked.last)
    whole = set(range(1, len(words)))
    for first, last in (*reach.values(), *((m.first, m.last) for m in labelled.stretches)):
        whole -= set(range(first + 1, last + 1))
    if is_punctuated(words):
        return [n for n in sorted(whole) if words[n - 1].endswith(ENDS)]
    # Without punctuation nobody knows where a statement begins; its first label is the last place it can.
    return sorted(whole & {m.first for m in labelled.stretches})


def _piece(labelled: Labelled, first: int, end: int) -> Labelled:
    inside = [m for m in labelled.stretches if first <= m.first and m.last < end]
    told = frozenset(n for m in inside if m.kind not in ANNOUNCED for n in m.numbers)
    stretches = tuple(_moved(m, first, told) for m in inside)
    return replace(
        labelled,
        words=labelled.words[first:end],
        numbers=tuple(frozenset(pair for pair in word if pair[1] in told) for word in labelled.numbers[first:end]),
        status={n: status for n, status in labelled.status.items() if n in told},
        stretches=stretches,
        rows={n: row for n, row in labelled.rows.items() if n in told},
    )


def _moved(marked: Marked, by: int, told: frozenset[int]) -> Marked:
    return replace(marked, first=marked.first - by, last=marked.last - by, numbers=marked.numbers & told)
