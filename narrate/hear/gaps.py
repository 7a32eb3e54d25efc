"""Speech without words: where somebody spoke and nothing was written, and how what was said is put there.

A decoder that has written half of a window may stop there, sure of every word it wrote; only the voice detector
shows the rest.
"""

from collections.abc import Iterator, Sequence
from itertools import pairwise

from narrate.hear.guard import plain
from narrate.hear.recogniser import MARGIN_S, Stretch
from narrate.records.recording import Word

SHORTEST_GAP_S = 1.2
"""Speech shorter than this may be a cough, a hesitation, or a word whose time is told badly.

Measured with base: in eight recordings heard well no gap holds more than 0.6 s of speech; sentences that were passed
over leave 2.4 s and more.
"""
LONGEST_WORD_S = 1.0
"""A word that is said to last longer has been stretched over what was not written; its tail counts as a gap."""
SLACK_S = 0.1
"""By so much the times of words are wrong either way."""


def find_gaps(words: Sequence[Word], window: Stretch, speech: Sequence[Stretch]) -> tuple[Stretch, ...]:
    """Return the stretches of a window in which somebody speaks for long and no word lies.

    speech: where somebody speaks, without the pauses. A stretch holds no sound of the words beside it.
    """
    found = []
    for start_s, end_s in _between(words, window):
        pieces = [
            (max(first_s, start_s), min(last_s, end_s))
            for first_s, last_s in speech
            if min(last_s, end_s) > max(first_s, start_s)
        ]
        if sum(last_s - first_s for first_s, last_s in pieces) >= SHORTEST_GAP_S:
            found.append((max(pieces[0][0] - MARGIN_S, start_s), min(pieces[-1][1] + MARGIN_S, end_s)))
    return tuple(found)


def put_in(words: Sequence[Word], found: Sequence[Word], gap: Stretch) -> tuple[Word, ...]:
    """Return the words with those found in a gap in their place, without what the neighbours say already."""
    at = sum(1 for word in words if _middle_s(word) < _middle_of(gap))
    before, after = list(words[:at]), list(words[at:])
    fresh = list(found)
    fresh = fresh[_shared(before, fresh) :]
    fresh = fresh[: len(fresh) - _shared(fresh, after)]
    return (*before, *fresh, *after)


def _between(words: Sequence[Word], window: Stretch) -> Iterator[Stretch]:
    """Yield what lies between one word and the next, and before the first and after the last."""
    spans = [_span(word) for word in words]
    edges = [(window[0], window[0]), *spans, (window[1], window[1])]
    for (_, end_s), (start_s, _) in pairwise(edges):
        if start_s > end_s:
            yield end_s, start_s


def _span(word: Word) -> Stretch:
    """Return where a word surely lies at most: a stretched one is cut, and the slack is added."""
    start_s, end_s = word.start_s or 0.0, word.end_s or 0.0
    return start_s - SLACK_S, min(end_s, start_s + LONGEST_WORD_S) + SLACK_S


def _shared(left: Sequence[Word], right: Sequence[Word]) -> int:
    """Return how many words at the end of `left` are those at the beginning of `right`."""
    texts = [plain(word.text) for word in left], [plain(word.text) for word in right]
    most = min(len(left), len(right))
    return max((n for n in range(1, most + 1) if texts[0][-n:] == texts[1][:n]), default=0)


def _middle_s(word: Word) -> float:
    """Return the middle of a word in seconds."""
    return _middle_of(_span(word))


def _middle_of(stretch: Stretch) -> float:
    """Return the middle of a stretch in seconds."""
    return (stretch[0] + stretch[1]) / 2
