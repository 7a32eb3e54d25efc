"""Reason, consequence, timing, conditional work, tests, part options and urgency."""

from collections.abc import Callable
from typing import get_args

import pytest

from narrate.records.case import Case
from narrate.records.walkaround import Finding, Walkaround
from narrate.score.counts import COUNTED, Counted, Counts, Detail
from narrate.score.details import DETAIL_KEYS, same_words, used_keys
from narrate.score.measure import CaseScore, measure_case
from narrate.score.names import Names

Measure = Callable[..., CaseScore]
WANTED: dict[str, object] = {
    "component": ["water pump"],
    "reason": ["the seal has gone hard"],
    "consequence": ["it will overheat", "it'll overheat on the motorway"],
    "timing": ["before winter"],
    "while_open": ["while the timing belt is off"],
    "tests": ["pressure tested it", "spun it by hand"],
    "part_options": ["new", "other_maker"],
    "urgency": "this_visit",
}
SAID: dict[str, object] = {
    "reason": "because the seal has gone hard",
    "consequence": "it'll overheat",
    "recommendation": {"timing": "before winter", "conditional_on": "the timing belt is off"},
    "tests": ("spun it by hand", "pressure tested it"),
    "part_options": ("other_maker", "new"),
    "urgency": {"when": "this_visit"},
}


@pytest.fixture
def measure(
    names: Names, finding: Callable[..., Finding], walkaround: Callable[..., Walkaround], case: Callable[..., Case]
) -> Measure:
    """Score water pumps said with these fields against the findings wanted."""

    def score(
        *wanted: dict[str, object], said: tuple[dict[str, object], ...], keys: frozenset[str] | None = None
    ) -> CaseScore:
        pumps = [finding("water pump", **fields) for fields in said]
        return measure_case(case(*wanted), walkaround(*pumps), names=names, keys=keys)

    return score


def details(score: CaseScore) -> dict[Counted, Counts]:
    """The counts of the details that are not empty."""
    told = set(get_args(Detail))
    return {name: score.counts[name] for name in COUNTED if name in told and score.counts[name] != Counts()}


def test_every_detail_counts(measure: Measure) -> None:
    """One owed, given and right of each, and two tests and options, in whatever order."""
    one, two = Counts(1, 1, 1), Counts(2, 2, 2)
    assert {
        "reason": one,
        "consequence": one,
        "timing": one,
        "while open": one,
        "test": two,
        "part option": two,
        "urgency": one,
    } == details(measure(WANTED, said=(SAID,)))


def test_details_missed_are_owed_and_told(measure: Measure) -> None:
    """With none given, all are owed, none is right, and the misses say what was."""
    score = measure(WANTED, said=({},))
    assert {(0, 0)} == {(counts.right, counts.given) for counts in details(score).values()}
    assert 9 == sum(counts.owed for counts in details(score).values())
    assert "timing: before winter expected, none found" in [miss.text for miss in score.misses]


def test_a_detail_that_was_not_said_is_wrong(measure: Measure) -> None:
    """Where the file tells of details, those of other findings, unexpected ones too, are held against."""
    wanted = ({"component": ["water pump"]}, {"component": ["horn"], "reason": ["it fell off"]})
    score = measure(*wanted, said=({"reason": "heat"}, {"reason": "age", "tests": ("hit it",)}))
    assert {"reason": Counts(0, 2, 1), "test": Counts(0, 1, 0)} == details(score)


def test_files_without_details_score_none(measure: Measure) -> None:
    """Nobody asked, unless another case of the same file does."""
    wanted = {"component": ["water pump"]}
    assert {} == details(measure(wanted, said=({"reason": "heat"},)))
    assert {"reason": Counts(0, 1, 0)} == details(
        measure(wanted, said=({"reason": "heat"},), keys=frozenset({"timing"}))
    )


def test_one_answer_meets_one_owed(measure: Measure) -> None:
    """A long wording that resembles two tests is one of them; a second of the same is too many."""
    wanted = {"component": ["water pump"], "tests": ["spun it by hand", "spun it with the drill"]}
    assert {"test": Counts(1, 1, 2)} == details(measure(wanted, said=({"tests": ("spun it by hand with the drill",)},)))
    twice = ("spun it by hand", "spun it by hand again")
    assert {"test": Counts(1, 2, 1)} == details(measure({**wanted, "tests": twice[:1]}, said=({"tests": twice},)))


@pytest.mark.parametrize(("said", "right"), [("done", 1), ("next week", 0)])
def test_work_that_was_done_says_so(said: str, right: int, measure: Measure) -> None:
    """`timing = ["done"]` is met by done work only."""
    wanted = {"component": ["water pump"], "timing": ["done"]}
    assert {"timing": Counts(right, 1, 1)} == details(measure(wanted, said=({"recommendation": {"timing": said}},)))


def test_an_urgency_by_rule_is_not_said(measure: Measure) -> None:
    """What a rule adds is neither right nor wrong; what is owed stays owed."""
    rule = {"urgency": {"when": "this_visit", "origin": "rule"}}
    wanted = {"component": ["water pump"], "urgency": "this_visit"}
    assert {"urgency": Counts(0, 0, 1)} == details(measure(wanted, said=(rule,)))


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("It's been leaking!", "its been leaking", True),
        ("a b", "a c", True),
        ("a b", "a c d", False),
        ("a a a", "a", True),
        ("a a a a", "a", False),
        ("", "", False),
        ("-", "a", False),
    ],
)
def test_half_the_words_make_a_text_the_same(one: str, other: str, same: bool) -> None:
    """The F1 of the words, each as often as it is said, is at least one half."""
    assert (same, same) == (same_words(one, other), same_words(other, one))


def test_the_keys_of_a_file_are_those_of_all_its_cases(case: Callable[..., Case]) -> None:
    """A key used once anywhere is used."""
    keys = used_keys((case(WANTED), case(plate="X1")))
    assert DETAIL_KEYS | {"plate", "component"} <= keys
    assert "technician" not in keys
