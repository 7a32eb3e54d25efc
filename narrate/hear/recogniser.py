"""What recognition takes and gives, whatever engine does it; and how speech is cut into windows."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Protocol

from narrate.hear.audio import Samples
from narrate.records.recording import Word

Stretch = tuple[float, float]
"""start_s and end_s of a piece of the recording."""

LONGEST_WINDOW_S = 29.0
"""The model hears 30 s at once; a little less keeps rounding from cutting the last word."""
MARGIN_S = 0.4
"""Sound left around speech, so that no first or last sound of a word is lost."""
SHORTEST_CUT_S = 15.0
"""A window is not cut before this, however long the pause: each window costs the same, full or not."""


@dataclass(frozen=True, kw_only=True)
class Heard:
    """One window as recognised. Times are seconds from the start of the recording."""

    start_s: float
    end_s: float
    words: tuple[Word, ...]
    average_log_probability: float
    """Mean natural logarithm of the tokens' probabilities."""
    no_speech: float
    """The model's probability, 0 to 1, that nothing was said."""

    @property
    def text(self) -> str:
        """The words as one string."""
        return " ".join(word.text for word in self.words)


class Recogniser(Protocol):
    """A loaded speech model."""

    english_only: bool

    def speech(self, samples: Samples) -> tuple[Stretch, ...]:
        """Return where somebody speaks, in order, without pauses and margins.

        With margins on both sides each stretch is at most LONGEST_WINDOW_S long.
        """

    def language(self, samples: Samples) -> tuple[str, float]:
        """Return the likeliest language (ISO 639-1) of at most 30 s of speech and its probability."""

    def count_tokens(self, text: str) -> int:
        """Return how many of the model's tokens a text takes."""

    def listen(self, samples: Samples, windows: Sequence[Stretch], *, language: str, hints: str) -> Iterator[Heard]:
        """Recognise windows of at most 30 s each, in order, several at once."""

    def listen_again(self, samples: Samples, window: Stretch, *, language: str) -> Heard:
        """Recognise one window slowly, without hints, trying higher temperatures where it fails."""


def with_margins(speech: Sequence[Stretch], total_s: float) -> tuple[Stretch, ...]:
    """Return the stretches with MARGIN_S on both sides; of a shorter pause each side gets half."""
    if not speech:
        return ()
    halves = [min((start_s - end_s) / 2, MARGIN_S) for (_, end_s), (start_s, _) in pairwise(speech)]
    before = [min(speech[0][0], MARGIN_S), *halves]
    after = [*halves, min(total_s - speech[-1][1], MARGIN_S)]
    return tuple(
        (start_s - sooner_s, end_s + later_s)
        for (start_s, end_s), sooner_s, later_s in zip(speech, before, after, strict=True)
    )


def cut_windows(stretches: Sequence[Stretch]) -> tuple[Stretch, ...]:
    """Return windows that cover all stretches, each at most LONGEST_WINDOW_S long, cut at long pauses.

    A window is one unbroken piece of the recording: its pauses stay in it, so times need no mapping.
    """
    windows: list[Stretch] = []
    left = list(stretches)
    while left:
        count = _window_count(left)
        windows.append((left[0][0], left[count - 1][1]))
        left = left[count:]
    return tuple(windows)


def _window_count(stretches: Sequence[Stretch]) -> int:
    """Return how many of the stretches make the next window."""
    start_s = stretches[0][0]
    fitting = sum(1 for _, end_s in stretches if end_s - start_s <= LONGEST_WINDOW_S) or 1
    if fitting == len(stretches):
        return fitting
    # Of the places where it may end, the longest pause parts the least of what belongs together.
    late = [i for i in range(1, fitting + 1) if stretches[i - 1][1] - start_s >= SHORTEST_CUT_S]
    return max(late or [fitting], key=lambda i: (stretches[i][0] - stretches[i - 1][1], i))
