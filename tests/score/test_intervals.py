"""How far the figures may be chance."""

from collections.abc import Callable
from typing import get_args

import pytest

from narrate.records.case import Case
from narrate.records.walkaround import Walkaround
from narrate.score.counts import COUNTED, Counted, Counts
from narrate.score.intervals import f1_intervals
from narrate.score.measure import CaseScore, add_counts, measure_case
from narrate.score.names import Names

ScoreOf = Callable[..., CaseScore]


@pytest.fixture(scope="session")
def score_of(names: Names, walkaround: Callable[..., Walkaround], case: Callable[..., Case]) -> ScoreOf:
    """A case score with the given counts of some fields and nothing else."""
    empty = measure_case(case(), walkaround(), names=names)

    def build(**counts: Counts) -> CaseScore:
        return CaseScore(**{**vars(empty), "counts": empty.counts | counts})

    return build


def test_the_interval_holds_the_figure(score_of: ScoreOf) -> None:
    """The interval by cases lies about the F1, is the same every time, and is a point where cases agree."""
    mixed = [score_of(whole=Counts(n % 5, 5, 5)) for n in range(20)]
    alike = [score_of(whole=Counts(4, 5, 5)) for _ in range(20)]
    interval = f1_intervals(mixed)["whole"]
    assert interval is not None
    assert interval[0] < 0.4 < interval[1]
    assert 0.4 == pytest.approx(add_counts(mixed)["whole"].f1)
    assert interval == f1_intervals(mixed)["whole"]
    assert (0.8, 0.8) == pytest.approx(f1_intervals(alike)["whole"])


def test_every_field_has_its_own_interval(score_of: ScoreOf) -> None:
    """Two fields with the same counts have the same interval, one that nobody asked for has none."""
    scores = [score_of(whole=Counts(n % 3, 3, 3), reason=Counts(n % 3, 3, 3), code=Counts(1, 1, 1)) for n in range(9)]
    intervals = f1_intervals(scores)
    assert set(COUNTED) == set(intervals)
    assert intervals["whole"] == intervals["reason"] != intervals["code"] == (1.0, 1.0)
    assert intervals["price"] is None


def test_no_interval_of_nothing(score_of: ScoreOf) -> None:
    """Nothing to score has no interval."""
    assert {None} == set(f1_intervals([]).values())
    assert {None} == set(f1_intervals([score_of()]).values())


def test_everything_counted_is_in_the_list() -> None:
    """No field is counted that the totals and intervals leave out."""
    assert set(get_args(Counted)) == set(COUNTED)
