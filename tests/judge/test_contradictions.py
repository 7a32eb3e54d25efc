"""What cannot both be right is quoted with its times, and nothing is decided."""

from typing import Any

import pytest
from judged import finding, lexicon, number, walk

from narrate.judge.contradictions import find_contradictions
from narrate.judge.quoting import quoted
from narrate.records.reviewed import Review
from narrate.records.walkaround import Contradiction, Finding, Measurement, Recommendation


def found(*findings: Finding) -> list[Contradiction]:
    """The contradictions of findings."""
    return list(find_contradictions(walk(*findings), lexicon()).contradictions)


def fine(at: str | tuple[str, ...], **fields: Any) -> Finding:
    """A rotor that is fine, told at 12 seconds."""
    return finding("brake_rotor", id="f1", at=at, status="ok", said="rotors are fine", start_s=12.7, **fields)


def faulty(at: str | tuple[str, ...], **fields: Any) -> Finding:
    """A rotor that is not, told at 1:15."""
    return finding(
        "brake_rotor", id="f2", at=at, conditions=["scored"], said="this rotor is scored", start_s=75, **fields
    )


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("front left", "front left"),
        ("front", "front left"),
        ("front left", "front"),
        ("front", ("front left", "rear left")),
        ((), ()),
        ("left", "front left"),
        (("rear left", "rear right"), "rear"),
    ],
)
def test_fine_and_faulty_in_one_place(one: str, other: str) -> None:
    for findings in ((fine(one), faulty(other)), (faulty(other), fine(one))):
        [each] = found(*findings)
        assert "verdict" == each.about
        assert {"f1", "f2"} == set(each.between)
        assert "'rotors are fine' (0:12)" in each.text
        assert "'this rotor is scored' (1:15)" in each.text


@pytest.mark.parametrize(
    ("one", "other"),
    [("front", "rear"), ("front left", "front right"), ("front", "rear left"), ("left", "front right"), ((), "front")],
)
def test_different_places_do_not_contradict(one: str, other: str) -> None:
    assert [] == found(fine(one), faulty(other))


@pytest.mark.parametrize("status", ["unclear", "unchecked", "work", "ok"])
def test_only_fine_and_faulty_contradict(status: str) -> None:
    assert [] == found(fine("front"), faulty("front").model_copy(update={"status": status}))


def test_different_parts_do_not_contradict() -> None:
    assert [] == found(fine("front"), finding("brake_pad", id="f2", at="front"))


def test_different_positions_do_not_contradict() -> None:
    assert [] == found(fine("front", position="1"), faulty("front", position="2"))


@pytest.mark.parametrize(
    "change", [{"review": Review(state="dropped")}, {"recommendation": Recommendation(action="replace", timing="done")}]
)
def test_what_was_dropped_or_is_done_does_not_contradict(change: dict[str, object]) -> None:
    assert [] == found(fine("front"), faulty("front").model_copy(update=change))


def pads(id: str, *numbers: Measurement, at: str | tuple[str, ...] = "front left", **fields: Any) -> Finding:
    """Pads with numbers."""
    said = " and ".join(each.said for each in numbers)
    return finding("brake_pad", id=id, at=at, status="unclear", numbers=numbers, said=said, start_s=61, **fields)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (("4", "mm"), ("6", "mm")),
        (("4", "mm"), ("4.5", "mm")),
        (("4", "mm"), ("4", "1/32in")),
        (("1", "in"), ("25", "mm")),
    ],
)
def test_two_amounts_for_one_place(one: tuple[str, str], other: tuple[str, str]) -> None:
    [each] = found(pads("f1", number(*one, "thickness")), pads("f2", number(*other, "thickness")))
    assert ("amount", ("f1", "f2")) == (each.about, each.between)
    assert f"'{' '.join(one)}' in '{' '.join(one)}' (1:01)" in each.text
    assert f"'{' '.join(other)}' in '{' '.join(other)}' (1:01)" in each.text
    assert "front left" in each.text


def test_two_amounts_in_one_finding_name_it_once() -> None:
    [each] = found(pads("f1", number(4, "mm", "thickness"), number(6, "mm", "thickness")))
    assert ("f1",) == each.between


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (("1", "in"), ("25.4", "mm")),
        (("32", "1/32in"), ("1", "in")),
        (("4", "mm"), ("4.0", "mm")),
        (("4", "mm"), ("4", "mm")),
        (("4", "mm"), ("4", "psi")),
    ],
)
def test_one_amount_in_two_units_is_no_contradiction(one: tuple[str, str], other: tuple[str, str]) -> None:
    assert [] == found(pads("f1", number(*one, "thickness")), pads("f2", number(*other, "thickness")))


@pytest.mark.parametrize(
    "other",
    [
        pads("f2", number(6, "mm", "thickness"), at="front right"),
        pads("f2", number(6, "mm", "thickness"), at=()),
        pads("f2", number(6, "mm", "thickness"), at=("front left", "front right")),
        pads("f2", number(6, "mm", "runout")),
        pads("f2", number(5, "mm", "thickness", high=6)),
        pads("f2", number(6, "mm", "thickness"), position="2"),
        pads("f2", number(6, "mm", "thickness", at="front right"), at=("front left", "front right")),
        pads("f2", number(6, "mm", "thickness"), review=Review(state="dropped")),
    ],
)
def test_amounts_of_something_else_do_not_contradict(other: Finding) -> None:
    assert [] == found(pads("f1", number(4, "mm", "thickness")), other)


def test_the_number_s_own_place_counts() -> None:
    both = ("front left", "front right")
    one = pads("f1", number(4, "mm", "thickness", at="front right"), at=both)
    [each] = found(one, pads("f2", number(6, "mm", "thickness"), at="front right"))
    assert "front right" in each.text


@pytest.mark.parametrize(
    ("component", "at", "name"),
    [
        ("brake_master_cylinder", "left", "brake master cylinder, none on the left"),
        ("brake_master_cylinder", "front right", "brake master cylinder, none on the right"),
        ("water_pump", "left", "water pump, none on the left"),
        ("battery", ("left", "right"), "battery, none on the left and right"),
    ],
)
def test_a_side_that_the_part_does_not_have(component: str, at: str, name: str) -> None:
    [each] = found(finding(component, at=at, said="the left one is leaking", start_s=3600))
    assert ("location", ("f1",)) == (each.about, each.between)
    assert f"There is only one {name}: 'the left one is leaking' (60:00)." == each.text


@pytest.mark.parametrize(
    ("component", "at"),
    [("brake_pad", "front left"), ("brake_master_cylinder", ()), ("brake_master_cylinder", "front"), ("ghost", "left")],
)
def test_a_place_that_may_be_right(component: str, at: str) -> None:
    assert [] == found(finding(component, at=at))


@pytest.mark.parametrize("component", ["oil_pan", "windshield", "radiator", "bumper"])
def test_a_large_part_has_a_left_side(component: str) -> None:
    assert [] == found(finding(component, at="left"))


@pytest.mark.parametrize(
    ("start_s", "told"), [(None, "'it drips'"), (0.0, "'it drips' (0:00)"), (59.9, "'it drips' (0:59)")]
)
def test_words_are_quoted_with_their_time(start_s: float | None, told: str) -> None:
    assert told == quoted(finding("oil_pan", said="it drips", start_s=start_s))


def test_a_finding_added_by_hand_has_no_words() -> None:
    assert "f1, without words" == quoted(finding("oil_pan", evidence=()))


def test_finding_again_gives_the_same_and_leaves_findings_alone() -> None:
    once = find_contradictions(walk(fine("front"), faulty("front")), lexicon())
    assert once == find_contradictions(once, lexicon())
    assert (fine("front"), faulty("front")) == once.findings
