"""Every case found and measured."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from narrate.records.case import Case
from narrate.records.walkaround import Walkaround
from narrate.score.cases import CaseFile
from narrate.score.counts import Counted, Counts, Share
from narrate.score.intervals import Interval, f1_intervals
from narrate.score.measure import CaseScore, add_counts, measure_case
from narrate.score.names import Names
from narrate.score.word_errors import WordScore, measure_words


@dataclass(frozen=True)
class Score:
    """All cases together, and each alone."""

    counts: dict[Counted, Counts]
    intervals: dict[Counted, Interval | None]
    """95% intervals of F1, by case; None where there is nothing to score."""
    cases: tuple[CaseScore, ...]
    words: WordScore | None = None
    """None where the cases were read as text."""

    @property
    def whole_f1_interval(self) -> Interval | None:
        """The interval of the F1 of whole findings."""
        return self.intervals["whole"]

    @property
    def swapped(self) -> Share:
        """Left/right swaps among paired findings asked for on one side."""
        return sum((case.swapped for case in self.cases), Share())

    @property
    def flipped(self) -> Share:
        """Ok/fault flips among paired findings expected ok or at fault."""
        return sum((case.flipped for case in self.cases), Share())

    @property
    def conditions_beyond(self) -> Share:
        """Conditions given that are not acceptable ones."""
        return sum((case.conditions_beyond for case in self.cases), Share())

    @property
    def carrying_kept(self) -> Share:
        """Nothing lost: words carrying missed findings that lie in some evidence or unplaced."""
        return sum((case.kept.carrying for case in self.cases), Share())

    @property
    def unplaced_words(self) -> Share:
        """Words that unplaced holds, of all words."""
        return sum((case.kept.unplaced for case in self.cases), Share())


def score_cases(
    cases: Sequence[CaseFile],
    *,
    find: Callable[[Case], Walkaround],
    names: Names,
    audio: bool = False,
    resamples: int = 2000,
    seed: int = 0,
) -> Score:
    """Make a walkaround of each case by `find` and measure it; with `audio`, measure the words heard too."""
    scores: list[CaseScore] = []
    words: WordScore | None = WordScore(Share(), Share()) if audio else None
    for file in cases:
        walkaround = find(file.case)
        scores.append(measure_case(file.case, walkaround, names=names, tunable=file.tunable, keys=file.keys))
        if words is not None:
            words += measure_words(file.case, walkaround)
    intervals = f1_intervals(scores, resamples=resamples, seed=seed)
    return Score(add_counts(scores), intervals, tuple(scores), words)
