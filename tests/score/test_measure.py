"""What counts as right, given and owed, and the figures that stand beside F1."""

from collections.abc import Callable
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from narrate.records.case import Case
from narrate.records.reviewed import Review
from narrate.records.walkaround import Finding, Measurement, Walkaround
from narrate.score.counts import Counts, Share
from narrate.score.measure import measure_case
from narrate.score.names import Names

MakeFinding = Callable[..., Finding]
MakeWalk = Callable[..., Walkaround]
MakeCase = Callable[..., Case]

PADS: dict[str, object] = {
    "component": ["brake pad"],
    "locations": [["front left", "front right"], ["front"]],
    "status": "fault",
    "conditions": ["worn out", "thin"],
    "actions": ["replace"],
}
THREE = Measurement(value=Decimal("3"), unit="mm", said="three")
PARTS = ("brake pad", "brake rotor", "tire", "battery", "horn")
PLACES = ("front left", "front right", "rear left", "rear right")


def test_a_perfect_prediction_is_whole(
    names: Names, finding: MakeFinding, walkaround: MakeWalk, case: MakeCase
) -> None:
    """Everything right: every scored count is one of one, places in any order, names from the lexicon."""
    pads = finding("brake pad", "front right", "front left", conditions=("worn",), action="replace")
    score = measure_case(case(PADS), walkaround(pads), names=names)
    for name in ("component", "location", "status", "condition", "action", "whole"):
        assert Counts(1, 1, 1) == score.counts[name]
    assert () == score.misses


@pytest.mark.parametrize(
    ("change", "wrong"),
    [
        ({"locations": ("front left",)}, "location"),
        ({"status": "ok"}, "status"),
        ({"conditions": ()}, "condition"),
        ({"recommendation": {"action": "monitor"}}, "action"),
        ({"recommendation": {"action": None}}, "action"),
    ],
)
def test_one_wrong_field_spoils_the_whole(
    change: dict[str, object],
    wrong: str,
    names: Names,
    finding: MakeFinding,
    walkaround: MakeWalk,
    case: MakeCase,
) -> None:
    """Only the wrong field and the whole suffer, and the miss says which."""
    pads = finding("brake pad", "front", **({"conditions": ("worn",), "action": "replace"} | change))
    score = measure_case(case(PADS), walkaround(pads), names=names)
    right = {name: counts.right for name, counts in score.counts.items() if counts.owed}
    expected = dict.fromkeys(("component", "location", "status", "condition", "action", "whole"), 1)
    assert expected | {wrong: 0, "whole": 0} == right
    assert [("wrong", wrong)] == [(miss.kind, miss.text.split(":")[0]) for miss in score.misses]


def test_missing_keys_are_not_scored(names: Names, finding: MakeFinding, walkaround: MakeWalk, case: MakeCase) -> None:
    """With only a component asked for, all else may be anything, amounts and links too."""
    found = finding("tire", "rear left", action="flush", codes=("P0442",), measurements=(THREE,))
    score = measure_case(case({"component": ["tire"]}), walkaround(found), names=names)
    scored = {name: counts for name, counts in score.counts.items() if counts.owed or counts.given}
    assert {"component": Counts(1, 1, 1), "whole": Counts(1, 1, 1)} == scored


def test_none_may_be_given_is_scored(names: Names, finding: MakeFinding, walkaround: MakeWalk, case: MakeCase) -> None:
    """`[[]]` asks for no place, `actions = []` for no action."""
    wanted = case({"component": ["tire"], "locations": [[]], "actions": []})
    good = measure_case(wanted, walkaround(finding("tire")), names=names)
    bad = measure_case(wanted, walkaround(finding("tire", "front", action="replace")), names=names)
    assert [(1, 1, 1), (0, 0, 0)] == [
        tuple(score.counts[name].right for name in ("location", "action", "whole")) for score in (good, bad)
    ]


def test_extra_missed_optional_and_dropped(
    names: Names, finding: MakeFinding, walkaround: MakeWalk, case: MakeCase
) -> None:
    """Extra ones count as given, missed ones as owed, optional and dropped ones nowhere."""
    wanted = case({"component": ["tire"]}, {"component": ["horn"]}, {"component": ["fuse"], "optional": True})
    dropped = finding("lamp", review=Review(state="dropped"))
    found = walkaround(finding("tire"), finding("hose"), finding("fuse"), dropped)
    score = measure_case(wanted, found, names=names)
    assert Counts(right=1, given=2, owed=2) == score.counts["whole"]
    assert [("missing", "horn"), ("extra", "hose")] == [(m.kind, m.component) for m in score.misses]


def test_swapped_sides_are_counted(names: Names, finding: MakeFinding, walkaround: MakeWalk, case: MakeCase) -> None:
    """The other side is a swap; no side, both sides, or a pair asked for is none."""
    one = {"component": ["tire"], "locations": [["front left"], ["left"]]}
    pair = {"component": ["tire"], "locations": [["front left", "front right"]]}
    swaps = [
        measure_case(case(wanted), walkaround(finding("tire", *places)), names=names).swapped
        for wanted, places in (
            (one, ["front right"]),
            (one, ["rear left"]),
            (one, []),
            (one, ["front left", "front right"]),
            (pair, ["front left"]),
        )
    ]
    assert [Share(1, 1), Share(0, 1), Share(0, 1), Share(0, 1), Share(0, 0)] == swaps


def test_conditions_on_each_other_s_side_are_swaps(
    names: Names, finding: MakeFinding, walkaround: MakeWalk, case: MakeCase
) -> None:
    """Left torn and right cracked, found the other way round, is two swapped sides."""
    wanted = case(
        {"component": ["cv boot"], "locations": [["left"]], "status": "fault", "conditions": ["torn"]},
        {"component": ["cv boot"], "locations": [["right"]], "status": "fault", "conditions": ["cracked"]},
    )
    found = walkaround(
        finding("cv boot", "left", conditions=("cracked",)), finding("cv boot", "right", conditions=("torn",))
    )
    assert Share(2, 2) == measure_case(wanted, found, names=names).swapped


def test_flips_are_counted(names: Names, finding: MakeFinding, walkaround: MakeWalk, case: MakeCase) -> None:
    """Ok for fault or fault for ok is a flip; not settled is not."""
    flips = [
        measure_case(
            case({"component": ["tire"], "status": wanted}),
            walkaround(finding("tire", status=given)),
            names=names,
        ).flipped
        for wanted, given in (("ok", "fault"), ("fault", "ok"), ("fault", "unclear"), ("work", "fault"))
    ]
    assert [Share(1, 1), Share(1, 1), Share(0, 1), Share(0, 0)] == flips


def test_what_may_not_be_a_fault_is_counted(
    names: Names, finding: MakeFinding, walkaround: MakeWalk, case: MakeCase
) -> None:
    """A forbidden component counts as a fault only, not when found to be fine."""
    wanted = case(must_not=("wheel cylinder",))
    for status, forbidden in (("fault", ("wheel cylinder",)), ("ok", ())):
        found = walkaround(finding("wheel cylinder", status=status))
        assert forbidden == measure_case(wanted, found, names=names).forbidden


def test_misses_of_judging_cases_are_not_listed(
    names: Names, finding: MakeFinding, walkaround: MakeWalk, case: MakeCase
) -> None:
    """A case that only judges counts and says nothing more."""
    score = measure_case(case(PADS), walkaround(finding("horn")), names=names, tunable=False)
    assert (Counts(0, 1, 1), ()) == (score.counts["whole"], score.misses)


@st.composite
def tellings(draw: st.DrawFn) -> list[tuple[str, str, str]]:
    """Different findings: a part, a place and a status each."""
    kinds = st.tuples(st.sampled_from(PARTS), st.sampled_from(PLACES), st.sampled_from(("fault", "ok")))
    return draw(st.lists(kinds, max_size=8, unique_by=lambda kind: kind[:2]))


def wanted_of(telling: list[tuple[str, str, str]]) -> list[dict[str, object]]:
    return [{"component": [part], "locations": [[place]], "status": status} for part, place, status in telling]


@given(telling=tellings(), data=st.data())
def test_the_expected_findings_score_one(
    telling: list[tuple[str, str, str]],
    data: st.DataObject,
    names: Names,
    finding: MakeFinding,
    walkaround: MakeWalk,
    case: MakeCase,
) -> None:
    """Whatever is expected, finding just that, in any order, is F1 1.0 with no swap and no flip."""
    shuffled = data.draw(st.permutations(telling))
    found = walkaround(*(finding(part, place, status=status) for part, place, status in shuffled))
    score = measure_case(case(*wanted_of(telling)), found, names=names)
    assert (1.0 if telling else None) == score.counts["whole"].f1
    assert (0, 0) == (score.swapped.part, score.flipped.part)


@given(wanted=tellings(), given_=tellings())
def test_counts_never_exceed_what_there_is(
    wanted: list[tuple[str, str, str]],
    given_: list[tuple[str, str, str]],
    names: Names,
    finding: MakeFinding,
    walkaround: MakeWalk,
    case: MakeCase,
) -> None:
    """Right is at most given and owed; given and owed are the findings there are."""
    found = walkaround(*(finding(part, place, status=status) for part, place, status in given_))
    whole = measure_case(case(*wanted_of(wanted)), found, names=names).counts["whole"]
    assert (len(given_), len(wanted)) == (whole.given, whole.owed)
    assert whole.right <= min(whole.given, whole.owed)
