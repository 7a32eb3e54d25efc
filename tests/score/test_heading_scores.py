"""Order number, vehicle and technician, and where a second vehicle begins."""

from collections.abc import Callable

import pytest

from narrate.records.case import Case
from narrate.records.walkaround import Evidence, Suggestion, Walkaround
from narrate.score.counts import Counts
from narrate.score.measure import CaseScore, measure_case
from narrate.score.names import Names

WANTED: dict[str, object] = {
    "order_number": "4711",
    "plate": "AB12 CDE",
    "odometer": ["88210", "mi"],
    "vehicle": {"year": 2014, "make": "Honda", "model": "Civic"},
    "technician": "Sam Hill",
}
VEHICLE: dict[str, object] = {
    "plate": "ab12cde",
    "odometer": {"value": "88210.0", "unit": "mi"},
    "year": 2014,
    "make": "HONDA",
    "model": "civic",
}
SAID = "the pads are fine on this one now then the next vehicle is a van with a flat tire and that is it for today"


@pytest.fixture
def measure(names: Names, walkaround: Callable[..., Walkaround], case: Callable[..., Case]) -> Callable[..., CaseScore]:
    """Score a walk-round without findings against a case without any."""

    def score(wanted: dict[str, object], found: dict[str, object], *, said: str = SAID) -> CaseScore:
        return measure_case(case(said=SAID, **wanted), walkaround(said=said, **found), names=names)

    return score


def split(first: int | None) -> Suggestion:
    """A suggestion to split the recording there; None: it does not say where."""
    evidence = () if first is None else (Evidence(recording="r1", first_word=first, last_word=first, said="…"),)
    return Suggestion(id="s1", kind="split", text="another vehicle", source="cue words", evidence=evidence)


def test_every_value_of_the_heading_counts(measure: Callable[..., CaseScore]) -> None:
    """Seven values, names in any case, the plate without blanks, trailing zeros without meaning."""
    found = {"order_number": "4711", "technician": "sam hill", "vehicle": VEHICLE}
    score = measure(WANTED, found)
    assert Counts(7, 7, 7) == score.counts["heading"]
    assert () == score.misses


@pytest.mark.parametrize(
    ("change", "counts"),
    [
        ({"plate": "AB12 CDF"}, Counts(4, 5, 7)),
        ({"odometer": {"value": "88210", "unit": "km"}}, Counts(4, 5, 7)),
        ({"odometer": None}, Counts(4, 4, 7)),
        ({"year": 2015}, Counts(4, 5, 7)),
    ],
)
def test_a_wrong_value_is_given_and_a_missing_one_is_not(
    change: dict[str, object], counts: Counts, measure: Callable[..., CaseScore]
) -> None:
    """Each value stands for itself."""
    assert counts == measure(WANTED, {"vehicle": VEHICLE | change}).counts["heading"]


def test_a_heading_that_was_not_said_is_wrong(measure: Callable[..., CaseScore]) -> None:
    """Where the case tells of its heading, a value beyond is held against and told."""
    score = measure({"plate": "AB12 CDE"}, {"technician": "Sam", "vehicle": {"plate": "AB12CDE"}})
    assert Counts(1, 2, 1) == score.counts["heading"]
    assert ["technician: none expected, Sam found"] == [miss.text for miss in score.misses]


def test_no_heading_is_scored_where_none_is_told(measure: Callable[..., CaseScore]) -> None:
    """A case that says nothing of it asks for nothing."""
    score = measure({}, {"technician": "Sam"})
    assert (Counts(), ()) == (score.counts["heading"], score.misses)


@pytest.mark.parametrize(
    ("first", "counts"),
    [
        ([9], Counts(1, 1, 1)),
        ([3], Counts(1, 1, 1)),
        ([15], Counts(1, 1, 1)),
        ([2], Counts(0, 1, 1)),
        ([16], Counts(0, 1, 1)),
        ([None], Counts(0, 1, 1)),
        ([20, 9], Counts(1, 2, 1)),
        ([8, 9], Counts(1, 2, 1)),
        ([], Counts(0, 0, 1)),
    ],
)
def test_a_split_is_right_near_the_second_vehicle(
    first: list[int | None], counts: Counts, measure: Callable[..., CaseScore]
) -> None:
    """Within six words of where its talk begins, and once."""
    wanted = {"second_vehicle": "the next vehicle is"}
    score = measure(wanted, {"suggestions": [split(number) for number in first]})
    assert counts == score.counts["second vehicle"]
    assert counts.owed - counts.right + counts.given - counts.right == len(score.misses)


def test_the_second_vehicle_is_found_among_words_misheard(measure: Callable[..., CaseScore]) -> None:
    """Most of its words are enough, wherever the recognised text has them."""
    wanted = {"second_vehicle": "the next vehicle is a"}
    heard = "um well the pads are fine on this one now then the necks vehicle is a van"
    assert 1 == measure(wanted, {"suggestions": [split(17)]}, said=heard).counts["second vehicle"].right
    assert (
        0 == measure(wanted, {"suggestions": [split(9)]}, said="it was not heard at all").counts["second vehicle"].right
    )


def test_a_split_of_one_vehicle_is_wrong(measure: Callable[..., CaseScore]) -> None:
    """No case needs to say that there is only one; other suggestions are no splits."""
    other = Suggestion(id="s2", kind="goes_with", text="…", source="…")
    score = measure({}, {"suggestions": [split(9), other]})
    assert Counts(0, 1, 0) == score.counts["second vehicle"]
    assert [("extra", "second vehicle")] == [(miss.kind, miss.component) for miss in score.misses]
