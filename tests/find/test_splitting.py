"""One part, two places, two stories: two findings; one story at two places is one."""

from collections.abc import Callable

import pytest

from narrate.find.findings import Context
from narrate.find.mining import Mined, mine, text_recording
from narrate.find.stages import run_stages
from narrate.find.vocabulary import Vocabulary
from narrate.records.walkaround import Finding

Found = Callable[[str], Mined]


@pytest.fixture(scope="module")
def found(ready: Vocabulary) -> Found:
    """What a text gives."""
    context = Context("us", "left", "r1")
    return lambda text: mine(run_stages(text_recording(text).words, ready), ready, context)


def told(finding: Finding) -> tuple[tuple[str, ...], str, tuple[str, ...]]:
    """Places, status and conditions."""
    return finding.locations, finding.status, tuple(c.id for c in finding.conditions)


def numbers(finding: Finding) -> list[tuple[str, str]]:
    """(value, unit) of each measurement."""
    return [(str(m.value), m.unit) for m in finding.measurements]


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        (
            "The left front tire is bald and the right front tire is bulging.",
            [(("front left",), "fault", ("worn",)), (("front right",), "fault", ("bulging",))],
        ),
        (
            "left tie rod end is loose and the right is fine",
            [(("left",), "fault", ("loose",)), (("right",), "ok", ())],
        ),
        (
            "front brake pads are fine, rears are worn out",
            [(("front",), "ok", ()), (("rear",), "fault", ("worn",))],
        ),
        (
            "Left mirror is cracked, right mirror is missing.",
            [(("left",), "fault", ("cracked",)), (("right",), "fault", ("missing",))],
        ),
        (
            "left front strut is leaking and right front strut is dry",
            [(("front left",), "fault", ("leaking",)), (("front right",), "ok", ())],
        ),
    ],
)
def test_two_places_with_two_stories_are_two_findings(
    found: Found, said: str, expected: list[tuple[tuple[str, ...], str, tuple[str, ...]]]
) -> None:
    assert expected == [told(f) for f in found(said).findings]


@pytest.mark.parametrize(
    ("said", "places"),
    [
        ("both rear shocks are leaking", ("rear left", "rear right")),
        ("front and rear struts are leaking", ("front", "rear")),
        ("all four tires are bald", ("front left", "front right", "rear left", "rear right")),
        ("the left and right struts are leaking", ("left", "right")),
    ],
)
def test_one_story_in_one_breath_is_one_finding(found: Found, said: str, places: tuple[str, ...]) -> None:
    assert [places] == [f.locations for f in found(said).findings]


def test_front_and_rear_numbers_told_apart_are_two_findings(found: Found) -> None:
    said = "Tire tread is five thirty seconds on the fronts and seven on the rears."
    assert [(("front",), [("5", "1/32in")]), (("rear",), [("7", "1/32in")])] == [
        (f.locations, numbers(f)) for f in found(said).findings
    ]


def test_two_sides_with_one_fault_and_two_numbers_keep_both_numbers(found: Found) -> None:
    said = "left front tire is worn at 2 mil and right front tire is worn at 3 mil"
    (finding,) = found(said).findings
    assert (("front left", "front right"), [("2", "mm"), ("3", "mm")]) == (finding.locations, numbers(finding))


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        (
            "left front tire is worn at 2 mil and right front tire is worn at 3 mil",
            [("2", "front left"), ("3", "front right")],
        ),
        (
            "offside rear tyre is worn at 2 mil and nearside rear tyre is worn at 3 mil",
            [("2", "rear left"), ("3", "rear right")],
        ),
        (
            "front tires are worn at 2 mil on the left and 3 mil on the right",
            [("2", "front left"), ("3", "front right")],
        ),
        ("brake pads are worn, 2 mil on the left and 3 mil on the right", [("2", "left"), ("3", "right")]),
        ("Left front pad is 3 mm, right front pad is 5 mm.", [("3", "front left"), ("5", "front right")]),
        ("rear tires are at four on the left and six on the right", [("4", "rear left"), ("6", "rear right")]),
    ],
)
def test_each_number_of_two_sides_keeps_its_place(found: Found, said: str, expected: list[tuple[str, str]]) -> None:
    (finding,) = found(said).findings
    assert expected == [(str(m.value), m.location) for m in finding.measurements]


def test_a_number_before_a_comma_does_not_go_with_the_place_after_it(found: Found) -> None:
    said = "Front tires are at five thirty seconds, rears are at seven."
    assert [(("front",), ["5"]), (("rear",), ["7"])] == [
        (f.locations, [str(m.value) for m in f.measurements]) for f in found(said).findings
    ]


def test_the_other_one_is_told_apart_too(found: Found) -> None:
    said = "The left CV boot is torn and the right one is cracked."
    assert [(("left",), "fault", ("torn",)), (("right",), "fault", ("cracked",))] == [
        told(f) for f in found(said).findings
    ]


def test_the_other_one_is_told_apart_from_a_fine_one(found: Found) -> None:
    said = "the left strut is dry and the right one is leaking"
    assert [(("left",), "ok", ()), (("right",), "fault", ("leaking",))] == [told(f) for f in found(said).findings]


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("front pads at 8 mm and rear pads at 3 mm", [("front", "8"), ("rear", "3")]),
        ("front rotors are 24 mm and rear rotors are 10 mm", [("front", "24"), ("rear", "10")]),
        ("Rear pads are at 3 mil. Front pads are at 7 mil.", [("rear", "3"), ("front", "7")]),
        ("tires are at six in the front and four in the rear", [("front", "6"), ("rear", "4")]),
    ],
)
def test_two_ends_with_their_numbers_are_two_findings(found: Found, said: str, expected: list[tuple[str, str]]) -> None:
    assert [((place,), [value]) for place, value in expected] == [
        (f.locations, [str(m.value) for m in f.measurements]) for f in found(said).findings
    ]


@pytest.mark.parametrize(
    ("said", "condition"),
    [
        ("front struts are leaking and rear struts are leaking", "leaking"),
        ("Front rotors are scored, rears are scored.", "scored"),
    ],
)
def test_two_ends_with_one_fault_told_apart_are_two_findings(found: Found, said: str, condition: str) -> None:
    assert [(("front",), "fault", (condition,)), (("rear",), "fault", (condition,))] == [
        told(f) for f in found(said).findings
    ]


@pytest.mark.xfail(strict=True, reason="'the rears' is linked to the front pads, named last, which so become both")
def test_the_work_on_one_end_leaves_the_other_alone(found: Found) -> None:
    said = "Rear pads 3 mil, front pads 7 mil, replace the rears."
    assert [(("rear",), "replace"), (("front",), None)] == [
        (f.locations, f.recommendation.action) for f in found(said).findings
    ]


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        (
            "Right rear u joint is shot, the left one is fine",
            [(("rear right",), "fault", ("worn",)), (("rear left",), "ok", ())],
        ),
        (
            "tail light bulb out on the passenger side, the other one burns fine",
            [(("right",), "fault", ("burnt_out",)), (("left",), "ok", ())],
        ),
        (
            "Lower radiator hose is soft. Upper one's good.",
            [(("lower",), "fault", ("soft",)), (("upper",), "ok", ())],
        ),
        (
            "Wheel cylinders, just the left one damp, other side's dry.",
            [(("left",), "fault", ("wet",)), (("right",), "ok", ())],
        ),
    ],
)
def test_the_other_one_takes_over_what_is_not_told_anew(
    found: Found, said: str, expected: list[tuple[tuple[str, ...], str, tuple[str, ...]]]
) -> None:
    assert expected == [told(f) for f in found(said).findings]


def test_a_place_alone_is_enough_for_the_other_one(found: Found) -> None:
    said = "Right rear shock's leaking, oil all down it. Left's dry."
    assert [(("rear right",), "fault", ("leaking",)), (("rear left",), "ok", ())] == [
        told(f) for f in found(said).findings
    ]


def test_places_behind_their_verdicts_are_told_apart(found: Found) -> None:
    said = "Rear shocks, just the one wet, driver side. Passenger's dry."
    assert [(("rear left",), "fault", ("wet",)), (("rear right",), "ok", ())] == [told(f) for f in found(said).findings]


def test_front_and_back_in_one_breath_are_not_told_apart(found: Found) -> None:
    said = "Tires, left side five thirty-seconds front and back, right side seven."
    assert 1 == len(found(said).findings)
