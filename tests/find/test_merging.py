"""The same thing said again is more evidence; another place, condition or work is another finding."""

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


def told(finding: Finding) -> tuple[str, tuple[str, ...], tuple[str, ...], str | None]:
    """Part, places, conditions and action."""
    return (
        finding.component.id,
        finding.locations,
        tuple(c.id for c in finding.conditions),
        finding.recommendation.action,
    )


def test_the_same_thing_said_again_is_one_finding(found: Found) -> None:
    (finding,) = found("The left strut is leaking. The left strut is leaking badly.").findings
    assert ("strut", ("left",), ("leaking",), None) == told(finding)


def test_said_again_later_it_is_more_evidence(found: Found) -> None:
    said = (
        "The left front strut is leaking. Battery tests good. The air filter is clean. The horn works fine. "
        "All the brake hoses are good. So yes the left front strut is leaking, replace it."
    )
    finding = found(said).findings[0]
    assert (("strut", ("front left",), ("leaking",), "replace"), 2) == (told(finding), len(finding.evidence))


def test_said_again_with_what_to_do_it_gains_the_work(found: Found) -> None:
    (finding,) = found("The water pump is leaking. So that water pump needs replacing.").findings
    assert ("water_pump", (), ("leaking",), "replace") == told(finding)


def test_named_again_only_to_be_offered_it_gains_the_work(found: Found) -> None:
    (finding,) = found("The water pump is leaking. So that needs a water pump.").findings
    assert ("water_pump", (), ("leaking",), "replace") == told(finding)


@pytest.mark.parametrize(
    "said",
    [
        "Left ball joint is worn. Right ball joint is worn.",
        "Right ball joint is worn. Left ball joint is worn.",
        "The left ball joint is worn and the right ball joint is worn.",
    ],
)
def test_two_sides_with_one_story_are_one_finding(found: Found, said: str) -> None:
    assert [("ball_joint", ("left", "right"), ("worn",), None)] == [told(f) for f in found(said).findings]


def test_two_sides_with_two_stories_are_two_findings(found: Found) -> None:
    said = "The left ball joint is worn, replace it. The right ball joint is torn, replace it."
    assert [
        ("ball_joint", ("left",), ("worn",), "replace"),
        ("ball_joint", ("right",), ("torn",), "replace"),
    ] == [told(f) for f in found(said).findings]


@pytest.mark.parametrize(
    ("said", "places"),
    [
        ("Front rotors are scored. Rear rotors are scored.", [("front",), ("rear",)]),
        ("Upper ball joint is loose. Lower ball joint is loose.", [("upper",), ("lower",)]),
    ],
)
def test_ends_and_levels_told_apart_are_two_findings(found: Found, said: str, places: list[tuple[str, ...]]) -> None:
    assert places == [f.locations for f in found(said).findings]


def test_another_part_is_another_finding(found: Found) -> None:
    said = "The battery is weak. Battery terminals are corroded."
    assert ["battery", "battery_terminal"] == [f.component.id for f in found(said).findings]


def test_a_fault_and_a_fine_one_are_two_findings(found: Found) -> None:
    said = "Front tires are good, rear tires are bald."
    assert [("ok", ("front",)), ("fault", ("rear",))] == [(f.status, f.locations) for f in found(said).findings]


def test_findings_stand_in_the_order_first_said(found: Found) -> None:
    said = "The radiator is leaking. The battery is weak. So that radiator needs replacing."
    assert ["radiator", "battery"] == [f.component.id for f in found(said).findings]


def test_findings_are_numbered_in_order(found: Found) -> None:
    walk = found("The radiator is leaking. The battery is weak. The belt is cracked.")
    assert ["f1", "f2", "f3"] == [f.id for f in walk.findings]


@pytest.mark.xfail(strict=True, reason="after an inner tie rod the bare 'tie rod' means that, 'outer' or not")
def test_an_inner_and_an_outer_tie_rod_are_two_findings(found: Found) -> None:
    said = "Inner tie rod is loose. Outer tie rod is loose."
    assert [("inner_tie_rod", ()), ("tie_rod_end", ("outer",))] == [
        (f.component.id, f.locations) for f in found(said).findings
    ]


def test_what_is_said_of_it_next_is_part_of_the_same_finding(found: Found) -> None:
    assert [("drive_belt", (), ("cracked", "frayed"), None)] == [
        told(f) for f in found("the belt is cracked. it is also frayed").findings
    ]
