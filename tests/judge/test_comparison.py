"""Numbers beside numbers, and what has worn since the visit before: every figure worked out by hand."""

from datetime import date
from decimal import Decimal
from typing import Any, Literal

import pytest
from judged import Amount, finding, lexicon, number, rules, walk

from narrate.errors import UsageError
from narrate.judge.comparison import compare_numbers
from narrate.judge.judging import Asked, judge
from narrate.judge.limits import judge_limits
from narrate.records.reviewed import Review
from narrate.records.walkaround import (
    Finding,
    Measurement,
    Odometer,
    Recommendation,
    Suggestion,
    Vehicle,
    Verdict,
    Walkaround,
)

Unit = Literal["mi", "km"]
PROJECTED = "may be reached"


def compared(*findings: Finding, before: Walkaround | None = None) -> Walkaround:
    """Findings with their comparisons."""
    return compare_numbers(walk(*findings), rules(), before)


def pads(*places: tuple[Amount, str], unit: str = "mm", component: str = "brake_pad") -> Finding:
    """A part with a number at each place."""
    quantity = "tread depth" if component == "tire" else "thickness"
    numbers = [number(value, unit, quantity, at=at) for value, at in places]
    return finding(component, at=[at for _, at in places], numbers=numbers)


# --- Sides, edges, axles


@pytest.mark.parametrize(
    ("given", "text"),
    [
        ((("5", "front left"), ("4", "front right")), "Brake pad: 5 mm front left, 4 mm front right; 1 mm apart."),
        ((("4", "front right"), ("5", "front left")), "Brake pad: 5 mm front left, 4 mm front right; 1 mm apart."),
        ((("5", "left"), ("5", "right")), "Brake pad: 5 mm left, 5 mm right; the same."),
        ((("5", "left"), ("5.0", "right")), "Brake pad: 5 mm left, 5.0 mm right; the same."),
        ((("6", "front"), ("8.5", "rear")), "Brake pad: 6 mm front, 8.5 mm rear; 2.5 mm apart."),
        (
            (("3", "front left inner"), ("4.5", "front left outer")),
            "Brake pad: 3 mm front left inner, 4.5 mm front left outer; 1.5 mm apart.",
        ),
    ],
)
def test_opposite_places_are_compared(given: tuple[tuple[str, str], ...], text: str) -> None:
    assert (text,) == compared(pads(*given)).comparisons


def test_two_findings_are_compared_too() -> None:
    left, right = pads(("5", "left")), pads(("4", "right")).model_copy(update={"id": "f2"})
    assert ("Brake pad: 5 mm left, 4 mm right; 1 mm apart.",) == compared(left, right).comparisons


def test_a_place_of_the_finding_counts_for_its_number() -> None:
    left = finding("brake_pad", at="left", numbers=[number(5, "mm", "thickness")])
    right = finding("brake_pad", id="f2", at="right", numbers=[number(4, "mm", "thickness")])
    assert 1 == len(compared(left, right).comparisons)


def test_units_are_turned_into_the_first_s() -> None:
    left = finding("brake_pad", at="left", numbers=[number(10, "mm", "thickness")])
    right = finding("brake_pad", id="f2", at="right", numbers=[number(8, "1/32in", "thickness")])
    # 8/32 in = 6.35 mm, and 10 mm - 6.35 mm = 3.65 mm
    assert ("Brake pad: 10 mm left, 8/32 in right; 3.65 mm apart.",) == compared(left, right).comparisons


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (("front left", {}), ("rear right", {})),
        (("front left", {}), ("front left", {})),
        (("front left", {}), ("right", {})),
        (("left", {}), ("right", {"quantity": "runout"})),
        (("left", {}), ("right", {"unit": "psi"})),
        (("left", {}), ("right", {"high": Decimal(6)})),
        (("left", {"quantity": None}), ("right", {"quantity": None})),
    ],
)
def test_what_is_not_opposite_or_not_of_one_kind_is_not_compared(
    one: tuple[str, dict[str, object]], other: tuple[str, dict[str, object]]
) -> None:
    base = number(5, "mm", "thickness")
    findings = [
        finding("brake_pad", id=f"f{n}", at=at, numbers=[base.model_copy(update=change)])
        for n, (at, change) in enumerate((one, other))
    ]
    assert () == compared(*findings).comparisons


def test_different_parts_and_dropped_ones_are_not_compared() -> None:
    left, right = pads(("5", "left")), pads(("4", "right"))
    assert () == compared(left, pads(("4", "right"), component="brake_shoe")).comparisons
    assert () == compared(left, right.model_copy(update={"review": Review(state="dropped")})).comparisons


@pytest.mark.parametrize(
    ("component", "unit", "left", "right", "told"),
    [
        ("brake_pad", "mm", "6", "3.9", True),
        ("brake_pad", "mm", "3.9", "6", True),
        ("brake_pad", "mm", "6", "4", False),
        ("brake_pad", "1/32in", "9", "6", True),  # 3/32 in = 2.38125 mm, over 2 mm
        ("brake_pad", "1/32in", "8", "6", False),  # 2/32 in = 1.5875 mm
        ("tire", "1/32in", "8", "5", True),
        ("tire", "1/32in", "8", "6", False),
        ("tire", "mm", "6", "4.4", True),  # 1.6 mm, and 2/32 in are 1.5875 mm
        ("tire", "mm", "6", "4.5", False),
        ("brake_rotor", "mm", "26", "20", False),
    ],
)
def test_sides_too_far_apart_are_looked_into(component: str, unit: str, left: str, right: str, told: bool) -> None:
    judged = compared(pads((left, "front left"), (right, "front right"), unit=unit, component=component))
    assert told == bool(judged.suggestions)
    for each in judged.suggestions:
        assert "of the side that is worn more" in each.text
        assert ("comparison", "f1", "common practice, no source") == (each.kind, each.for_, each.source)


def test_edges_too_far_apart_are_looked_into() -> None:
    inner_outer = pads(("3", "front left inner"), ("7", "front left outer"))
    [each] = compared(inner_outer).suggestions
    assert each.text.startswith("Brake pad: look at caliper, slides and hose")


def test_front_and_rear_may_lie_apart() -> None:
    judged = compared(pads(("3", "front"), ("9", "rear")))
    assert 1 == len(judged.comparisons)
    assert () == judged.suggestions


def test_other_suggestions_stay_and_numbers_go_on() -> None:
    other = Suggestion(id="s1", kind="goes_with", text="fit both", source="a source")
    walkaround = walk(pads(("3", "left"), ("7", "right")), suggestions=(other,))
    once = compare_numbers(walkaround, rules(), None)
    assert ["s1", "s2"] == [each.id for each in once.suggestions]
    assert other == once.suggestions[0]


def test_judging_again_gives_the_same_comparisons() -> None:
    asked = Asked(rule_set=None, today=date(2026, 1, 1))
    once = judge(walk(pads(("3", "left"), ("7", "right"))), rules(), lexicon(), asked)
    assert "comparison" in {each.kind for each in once.suggestions}
    assert once == judge(once, rules(), lexicon(), asked)


# --- The visit before


def odometer(value: Amount | None, unit: Unit = "mi") -> Vehicle:
    """A vehicle that shows a distance."""
    return Vehicle(odometer=None if value is None else Odometer(value=Decimal(value), unit=unit))


def visit(
    value: Amount,
    at: tuple[Amount | None, Unit] = (None, "mi"),
    *,
    unit: str = "mm",
    limit: Amount | None = None,
    **fields: Any,
) -> Walkaround:
    """A visit with one number of the front left pad and, if asked, its limit in mm."""
    measured: Measurement = number(value, unit, "thickness")
    if limit is not None:
        verdict = Verdict(result="within", limit=Decimal(limit), unit="mm", rule_set="a set")
        measured = measured.model_copy(update={"verdict": verdict})
    return walk(finding("brake_pad", at="front left", numbers=[measured], **fields), vehicle=odometer(*at))


def since(before: Walkaround, now: Walkaround) -> str:
    """The one sentence about the visit before."""
    [text] = compare_numbers(now, rules(), before).comparisons
    return text


def test_wear_in_miles_with_the_range_to_the_limit() -> None:
    # 10 - 8 = 2 mm in 10,000 miles: 0.2 mm in 1,000. Each number may be half a millimeter out.
    # At the soonest (8 - 0.5 - 3) mm at (2 + 1) mm in 10,000 miles: 4.5 / 3 * 10,000 = 15,000.
    # At the latest (8 + 0.5 - 3) mm at (2 - 1) mm in 10,000 miles: 5.5 / 1 * 10,000 = 55,000.
    text = since(visit(10, (40000, "mi")), visit(8, (50000, "mi"), limit=3))
    assert (
        "Brake pad, front left: 10 mm at the visit before, 8 mm now; 0.2 mm in 1,000 miles; "
        "the limit of 3 mm (a set) may be reached in 15,000 to 55,000 miles, "
        "if it wears on as it did and each number is read to within half of its last digit."
    ) == text


def test_finer_reading_makes_the_range_narrower() -> None:
    # Half of the last digit is 0.05 mm: (8 - 0.05 - 3) / 2.1 * 10,000 = 23,571 and (5.05) / 1.9 * 10,000 = 26,578.
    text = since(visit("10.0", (40000, "mi")), visit("8.0", (50000, "mi"), limit=3))
    assert "23,500 to 26,500 miles" in text


def test_odometers_in_different_units() -> None:
    # 50,000 mi = 80,467.2 km, so 90,467.2 km is 10,000 km on.
    text = since(visit(10, (50000, "mi")), visit(8, ("90467.2", "km"), limit=3))
    assert "0.2 mm in 1,000 kilometers" in text
    assert "15,000 to 55,000 kilometers" in text


def test_odometers_in_kilometers_and_then_in_miles() -> None:
    # 80,467.2 km = 50,000 mi.
    text = since(visit(10, ("80467.2", "km")), visit(8, (54000, "mi")))
    # 2 mm in 4,000 mi
    assert "; 0.5 mm in 1,000 miles." in text


def test_numbers_in_different_units() -> None:
    # 8/32 in = 6.35 mm; 6.35 - 5 = 1.35 mm in 10,000 mi = 0.135 mm in 1,000.
    # Half of the last digit: 0.5 mm now, 1/64 in = 0.396875 mm before; together 0.896875 mm.
    # (5 - 0.5 - 1.6) / (1.35 + 0.896875) * 10,000 = 12,906; (5 + 0.5 - 1.6) / (1.35 - 0.896875) * 10,000 = 86,068.
    text = since(visit(8, (10000, "mi"), unit="1/32in"), visit(5, (20000, "mi"), limit="1.6"))
    assert "8/32 in at the visit before, 5 mm now; 0.14 mm in 1,000 miles" in text
    assert "12,900 to 86,000 miles" in text


def test_a_number_almost_at_its_limit_may_be_there_already() -> None:
    # 3 - 0.5 mm would be under 2.9 mm already.
    text = since(visit(10, (40000, "mi")), visit(3, (50000, "mi"), limit="2.9"))
    assert "may be reached in 0 to" in text


def test_one_visit_alone_projects_nothing() -> None:
    walkaround = visit(8, (50000, "mi"), limit=3)
    assert () == compare_numbers(walkaround, rules(), None).comparisons
    assert () == compare_numbers(walkaround, rules(), walk(vehicle=odometer(40000))).comparisons


@pytest.mark.parametrize(
    ("before", "now"),
    [
        ((None, "mi"), (50000, "mi")),
        ((40000, "mi"), (None, "mi")),
        ((None, "mi"), (None, "mi")),
        ((50000, "mi"), (50000, "mi")),
        ((60000, "mi"), (50000, "mi")),
    ],
)
def test_without_a_distance_nothing_is_projected(
    before: tuple[Amount | None, Unit], now: tuple[Amount | None, Unit]
) -> None:
    text = since(visit(10, before), visit(8, now, limit=3))
    assert "Brake pad, front left: 10 mm at the visit before, 8 mm now." == text


@pytest.mark.parametrize("which", ["before", "now"])
def test_nothing_is_projected_across_a_part_that_was_replaced(which: str) -> None:
    done: dict[str, Any] = {"recommendation": Recommendation(action="replace", timing="done")}
    text = since(
        visit(10, (40000, "mi"), **(done if which == "before" else {})),
        visit(8, (50000, "mi"), limit=3, **(done if which == "now" else {})),
    )
    assert "nothing is projected" in text
    assert PROJECTED not in text
    assert "in 1,000" not in text


def test_a_number_that_went_up_projects_nothing() -> None:
    text = since(visit(8, (40000, "mi")), visit(10, (50000, "mi"), limit=3))
    assert "it was replaced or measured otherwise, so nothing is projected" in text
    assert PROJECTED not in text


def test_no_wear_projects_nothing() -> None:
    text = since(visit(8, (40000, "mi")), visit(8, (50000, "mi"), limit=3))
    assert text.endswith("8 mm at the visit before, 8 mm now.")


def test_wear_hidden_by_the_error_of_reading_projects_nothing() -> None:
    # 9 - 8 = 1 mm, and two halves of a millimeter may be misread.
    assert PROJECTED not in since(visit(9, (40000, "mi")), visit(8, (50000, "mi"), limit=3))
    assert PROJECTED in since(visit("9.0", (40000, "mi")), visit("8.0", (50000, "mi"), limit=3))


@pytest.mark.parametrize("result", ["at_limit", "below", "above", "no_rule"])
def test_past_the_limit_or_without_one_nothing_is_projected(result: str) -> None:
    now = visit(8, (50000, "mi"), limit=3)
    [each] = now.findings
    [measured] = each.measurements
    assert measured.verdict
    other = measured.model_copy(update={"verdict": measured.verdict.model_copy(update={"result": result})})
    now = now.model_copy(update={"findings": (each.model_copy(update={"measurements": (other,)}),)})
    assert PROJECTED not in since(visit(10, (40000, "mi")), now)


@pytest.mark.parametrize(
    "change", [{"locations": ("front right",)}, {"locations": ()}, {"review": Review(state="dropped")}]
)
def test_another_place_is_not_the_same_part(change: dict[str, object]) -> None:
    before = visit(10, (40000, "mi"))
    before = before.model_copy(update={"findings": (before.findings[0].model_copy(update=change),)})
    assert () == compare_numbers(visit(8, (50000, "mi")), rules(), before).comparisons


def test_the_limit_is_the_one_the_number_was_judged_by() -> None:
    # 10 mm to 6 mm in 20,000 miles, and the federal 1/32 in = 0.79375 mm:
    # (6 - 0.5 - 0.79375) / 5 * 20,000 = 18,825; (6 + 0.5 - 0.79375) / 3 * 20,000 = 38,041.
    now = judge_limits(visit(6, (60000, "mi")), rules(), "us_federal")
    text = since(visit(10, (40000, "mi")), now)
    assert "the limit of 1/32 in (US federal, light vehicles in use) may be reached in 18,800 to 38,000 miles" in text


def tires(value: Amount, quantity: str, unit: str, at: Amount, component: str = "tire") -> Walkaround:
    """A visit with one number."""
    measured = number(value, unit, quantity)
    return walk(finding(component, at="front left", numbers=[measured]), vehicle=odometer(at))


def test_a_pressure_does_not_wear() -> None:
    assert "in 1,000 miles" not in since(tires(35, "pressure", "psi", 40000), tires(30, "pressure", "psi", 40020))


def test_a_large_rate_is_a_plain_number() -> None:
    assert "e+" not in since(tires(12, "tread depth", "1/32in", 40000), tires(4, "tread depth", "1/32in", 40050))


def test_play_that_grew_was_not_replaced() -> None:
    before = tires("0.1", "play", "in", 40000, "tie_rod_end")
    assert "it was replaced" not in since(before, tires("0.2", "play", "in", 50000, "tie_rod_end"))


def test_another_position_is_not_the_same_part() -> None:
    before = visit(10, (40000, "mi"), position="1")
    assert () == compare_numbers(visit(8, (50000, "mi"), position="2"), rules(), before).comparisons


# --- Another vehicle

VIN, OTHER_VIN = "1M8GDM9AXKP042788", "1G4AH59H45G118341"


def judged(before: Vehicle, now: Vehicle) -> Walkaround:
    """A walkaround judged with a visit before."""
    asked = Asked(rule_set=None, today=date(2026, 1, 1), previous=walk(vehicle=before))
    return judge(walk(vehicle=now), rules(), lexicon(), asked)


@pytest.mark.parametrize(
    ("before", "now", "what"),
    [
        ({"vin": VIN}, {"vin": OTHER_VIN}, "vin"),
        ({"plate": "ABC 123"}, {"plate": "ABC 124"}, "plate"),
        ({"vin": VIN, "plate": "ABC 123"}, {"vin": OTHER_VIN, "plate": "ABC 123"}, "vin"),
        ({"vin": VIN, "plate": "ABC 123"}, {"plate": "XYZ 9"}, "plate"),
    ],
)
def test_a_visit_of_another_vehicle_is_refused(before: dict[str, str], now: dict[str, str], what: str) -> None:
    with pytest.raises(UsageError, match=f"of another vehicle: its {what} is") as raised:
        judged(Vehicle(**before), Vehicle(**now))
    assert 1 == str(raised.value).count(".")


@pytest.mark.parametrize(
    ("before", "now"),
    [
        ({}, {}),
        ({"vin": VIN}, {}),
        ({}, {"plate": "ABC 123"}),
        ({"vin": VIN}, {"plate": "ABC 123"}),
        ({"vin": VIN.lower()}, {"vin": f" {VIN[:9]}-{VIN[9:]}"}),
        ({"plate": "abc-123"}, {"plate": "ABC 123"}),
    ],
)
def test_a_visit_that_may_be_of_this_vehicle_is_taken(before: dict[str, str], now: dict[str, str]) -> None:
    assert judged(Vehicle(**before), Vehicle(**now))


def test_an_unknown_rule_set_is_refused() -> None:
    with pytest.raises(UsageError, match=r"There is no rule set 'mars'; the rule sets are us_federal, "):
        judge(walk(), rules(), lexicon(), Asked(rule_set="mars", today=date(2026, 1, 1)))
