"""Numbers against limits: each at its boundary from both sides, by the file and by values noted independently."""

from decimal import Decimal

import pytest
from judged import Amount, finding, number, rules, walk

from narrate.judge.limits import SAID, SHOP, judge_limits, source_of
from narrate.records.walkaround import Measurement, Verdict
from narrate.words.rule_entries import NO_SOURCE, Limit

A_LITTLE = Decimal("0.0001")


def judged(component: str, said: Measurement, rule_set: str | None, at: str | tuple[str, ...] = ()) -> Measurement:
    """One number of one part, judged."""
    found = judge_limits(walk(finding(component, at=at, numbers=[said])), rules(), rule_set).findings[0]
    return found.measurements[0]


def verdict_of(component: str, said: Measurement, rule_set: str, at: str | tuple[str, ...] = ()) -> Verdict:
    """By a rule set, the shop's own included."""
    told = judged(component, said, None if rule_set == SHOP else rule_set, at)
    verdict = told.shop_verdict if rule_set == SHOP else told.verdict
    assert verdict is not None
    return verdict


# ---- Every limit of the file


CASES = [(limit, component) for limit in rules().limits for component in limit.components]
"""Every limit with every part that it is for."""
EVERY = pytest.mark.parametrize(
    ("limit", "component"),
    CASES,
    ids=[f"{limit.rule_set}-{component}-{limit.quantity}-{source_of(limit)}" for limit, component in CASES],
)


def bound_of(limit: Limit) -> Decimal:
    value = limit.least if limit.least is not None else limit.most
    assert value is not None
    return value


def against_itself(limit: Limit, component: str, more: Decimal) -> Verdict:
    said = number(bound_of(limit) + more, limit.unit, limit.quantity)
    return verdict_of(component, said, limit.rule_set, limit.places)


@EVERY
def test_past_the_limit(limit: Limit, component: str) -> None:
    past = -A_LITTLE if limit.least is not None else A_LITTLE
    verdict = against_itself(limit, component, past)
    assert verdict.result == ("below" if limit.least is not None else "above")
    assert (verdict.limit, verdict.unit, verdict.margin) == (bound_of(limit), limit.unit, past)
    assert verdict.rule_set == rules().rule_sets[limit.rule_set].name
    assert verdict.source == source_of(limit)


@EVERY
def test_just_within_the_limit(limit: Limit, component: str) -> None:
    inside = A_LITTLE if limit.least is not None else -A_LITTLE
    assert against_itself(limit, component, inside).result == "within"


@EVERY
def test_at_the_limit_exactly(limit: Limit, component: str) -> None:
    verdict = against_itself(limit, component, Decimal(0))
    assert (verdict.result, verdict.margin) == ("at_limit", Decimal(0))


@EVERY
def test_other_quantities_are_not_judged_by_it(limit: Limit, component: str) -> None:
    told = judged(component, number(bound_of(limit), limit.unit, "hardness"), limit.rule_set, limit.places)
    assert told.verdict == Verdict(result="no_rule")
    assert told.shop_verdict is None


def test_every_limit_says_where_it_is_from() -> None:
    for limit in rules().limits:
        told = source_of(limit)
        assert (told == NO_SOURCE) == (limit.rule_set == SHOP)
        assert limit.how in ("read", "common practice") or told.endswith(f"({limit.how})")


# ---- Boundaries noted from the sources, whatever the file says

ROWS = [
    # 49 CFR 570.5(h) as RCW 46.37.360(5) adopts it (read): one thirty-second of an inch, 0.79375 mm
    ("us_federal", "brake_pad", "thickness", "", "0.80", "mm", "within"),
    ("us_federal", "brake_pad", "thickness", "", "0.79", "mm", "below"),
    ("us_federal", "brake_shoe", "thickness", "", "0.79375", "mm", "at_limit"),
    ("us_federal", "brake_pad", "thickness", "", "1", "1/32in", "at_limit"),
    # 49 CFR 570.9(a) (from memory); the same number in N.C.G.S. 20-122.1 (read): two thirty-seconds
    ("us_federal", "tire", "tread depth", "", "2", "1/32in", "at_limit"),
    ("us_federal", "tire", "tread depth", "", "1", "1/32in", "below"),
    ("us_federal", "tire", "tread depth", "", "1.5875", "mm", "at_limit"),
    ("us_federal", "tire", "tread depth", "", "1.58", "mm", "below"),
    # 49 CFR 570.7(b) (read): a quarter of an inch in the linkage
    ("us_federal", "tie_rod_end", "play", "", "0.25", "in", "at_limit"),
    ("us_federal", "tie_rod_end", "play", "", "0.26", "in", "above"),
    ("us_federal", "inner_tie_rod", "play", "", "6.35", "mm", "at_limit"),
    ("us_federal", "idler_arm", "play", "", "6.3", "mm", "within"),
    # 49 CFR 570.7(a) table 1 (read): 2 in, 50.80 mm, for steering wheels of 16 in and less
    ("us_federal", "steering_wheel", "freeplay", "", "50.80", "mm", "at_limit"),
    ("us_federal", "steering_wheel", "freeplay", "", "2.1", "in", "above"),
    ("us_federal", "steering_wheel", "freeplay", "", "1.9", "in", "within"),
    # 49 CFR 570.10(b) (read): an eighth of an inch, 3.175 mm
    ("us_federal", "wheel", "runout", "", "0.125", "in", "at_limit"),
    ("us_federal", "wheel", "runout", "", "3.18", "mm", "above"),
    ("us_federal", "wheel", "runout", "", "3.17", "mm", "within"),
    # 49 CFR 393.75(b) and (c) (read at second hand); USPS Handbook PO-515 452.11-.12 (read): 4/32 front, 2/32 rear
    ("us_commercial", "tire", "tread depth", "front left", "4", "1/32in", "at_limit"),
    ("us_commercial", "tire", "tread depth", "front right", "3", "1/32in", "below"),
    ("us_commercial", "tire", "tread depth", "front", "3.17", "mm", "below"),
    ("us_commercial", "tire", "tread depth", "front", "3.18", "mm", "within"),
    ("us_commercial", "tire", "tread depth", "rear left", "3", "1/32in", "within"),
    ("us_commercial", "tire", "tread depth", "rear left", "2", "1/32in", "at_limit"),
    ("us_commercial", "tire", "tread depth", "rear right", "1", "1/32in", "below"),
    # 49 CFR 393.47(d), hydraulic (read at second hand): 1.6 mm as it is printed
    ("us_commercial", "brake_pad", "thickness", "", "1.6", "mm", "at_limit"),
    ("us_commercial", "brake_pad", "thickness", "", "1.59", "mm", "below"),
    # 19VAC30-70 (read at second hand): two thirty-seconds, riveted or bonded
    ("us_virginia", "brake_pad", "thickness", "", "1.5875", "mm", "at_limit"),
    ("us_virginia", "brake_shoe", "thickness", "", "1", "1/32in", "below"),
    ("us_virginia", "brake_pad", "thickness", "", "1.59", "mm", "within"),
    # MOT inspection manual, cars, 1.1.13(a)(ii) (read in published test records): less than 1.5 mm fails
    ("gb", "brake_pad", "thickness", "", "1.5", "mm", "at_limit"),
    ("gb", "brake_pad", "thickness", "", "1.49", "mm", "below"),
    # C&U Regulations 1986 reg. 27 (read at second hand): 1.6 mm
    ("gb", "tire", "tread depth", "", "1.6", "mm", "at_limit"),
    ("gb", "tire", "tread depth", "", "1.61", "mm", "within"),
    # Directive 89/459/EEC (from memory): 1.6 mm
    ("eu", "tire", "tread depth", "", "1.6", "mm", "at_limit"),
    ("eu", "tire", "tread depth", "", "1.59", "mm", "below"),
    # Near-equal limits (notes, section 0): 2/32 in is 1.5875 mm, less than 1.6 mm
    ("gb", "tire", "tread depth", "", "2", "1/32in", "below"),
    ("us_federal", "tire", "tread depth", "", "1.59", "mm", "within"),
    ("gb", "tire", "tread depth", "", "1.59", "mm", "below"),
    ("gb", "brake_pad", "thickness", "", "1.55", "mm", "within"),
    ("us_virginia", "brake_pad", "thickness", "", "1.55", "mm", "below"),
    # Common practice, no source (notes, section 10)
    ("shop", "brake_pad", "thickness", "", "3", "mm", "at_limit"),
    ("shop", "brake_pad", "thickness", "", "2.9", "mm", "below"),
    ("shop", "tire", "tread depth", "", "4", "1/32in", "at_limit"),
    ("shop", "tire", "age", "", "11", "year", "above"),
    ("shop", "tire", "age", "", "120", "month", "at_limit"),
    ("shop", "brake_fluid", "moisture", "", "3.5", "percent", "above"),
    ("shop", "brake_fluid", "moisture", "", "3", "percent", "at_limit"),
    ("shop", "alternator", "voltage", "", "13.4", "V", "below"),
    ("shop", "alternator", "voltage", "", "14100", "mV", "within"),
    ("shop", "charging_system", "voltage", "", "14.9", "V", "above"),
]


@pytest.mark.parametrize(("rule_set", "component", "quantity", "at", "value", "unit", "result"), ROWS)
def test_noted_boundaries(
    rule_set: str, component: str, quantity: str, at: str, value: str, unit: str, result: str
) -> None:
    assert verdict_of(component, number(value, unit, quantity), rule_set, at or ()).result == result


def test_the_rows_touch_every_rule_set_and_every_kind_of_limit() -> None:
    wanted = {(limit.rule_set, limit.quantity) for limit in rules().limits}
    assert wanted == {(row[0], row[2]) for row in ROWS}


def test_the_steering_wheel_verdict_says_which_row_was_used() -> None:
    verdict = verdict_of("steering_wheel", number(2, "in", "freeplay"), "us_federal")
    assert verdict.source == "49 CFR 570.7(a) table 1, the row for steering wheels of 16 in and less"


# ---- Margins


@pytest.mark.parametrize(
    ("value", "unit", "margin"),
    # 1.55 mm are 1.952755906 thirty-seconds (calculated)
    [("1.55", "mm", "-0.047244094"), ("1.5875", "mm", "0"), ("0.125", "in", "2"), ("3", "1/32in", "1")],
)
def test_the_margin_is_in_the_unit_of_the_limit(value: str, unit: str, margin: str) -> None:
    verdict = verdict_of("brake_pad", number(value, unit, "thickness"), "us_virginia")
    assert verdict.unit == "1/32in"
    assert verdict.margin is not None
    assert round(verdict.margin, 9) == Decimal(margin)


# ---- Ranges: the end nearer to the limit counts


@pytest.mark.parametrize(
    ("low", "high", "result", "margin"),
    [(3, 4, "at_limit", 0), (4, 5, "within", 1), (2, 4, "below", -1), (4, 3, "at_limit", 0)],
)
def test_of_a_range_the_lower_end_meets_a_least(low: int, high: int, result: str, margin: int) -> None:
    verdict = verdict_of("brake_pad", number(low, "mm", "thickness", high=high), SHOP)
    assert (verdict.result, verdict.margin) == (result, Decimal(margin))


@pytest.mark.parametrize(("low", "high", "result"), [("0.2", "0.3", "above"), ("0.1", "0.25", "at_limit")])
def test_of_a_range_the_upper_end_meets_a_most(low: str, high: str, result: str) -> None:
    assert verdict_of("tie_rod_end", number(low, "in", "play", high=high), "us_federal").result == result


# ---- The technician's own limit


def test_a_spoken_limit_goes_before_the_rule_set() -> None:
    told = judged("brake_pad", number("1.8", "mm", "thickness", limit=2), "gb")
    assert told.verdict == Verdict(
        result="below",
        limit=Decimal(2),
        unit="mm",
        margin=Decimal("-0.2"),
        rule_set=SAID,
        source="said by the technician",
    )
    assert told.shop_verdict is not None
    assert (told.shop_verdict.result, told.shop_verdict.limit) == ("below", Decimal(3))


@pytest.mark.parametrize(("value", "result"), [("23.9", "below"), ("24", "at_limit"), ("24.1", "within")])
def test_a_rotor_is_judged_by_its_stamped_limit_only(value: str, result: str) -> None:
    # 49 CFR 570.5(g): the embossed dimension; without it nothing can be said (notes, section 1).
    rotor = judged("brake_rotor", number(value, "mm", "thickness", limit=24), "us_federal")
    assert rotor.verdict is not None
    assert rotor.verdict.result == result
    assert judged("brake_rotor", number(value, "mm", "thickness"), "us_federal").verdict == Verdict(result="no_rule")


@pytest.mark.parametrize(("value", "result"), [("3", "above"), ("2", "at_limit"), ("1", "within")])
def test_a_spoken_limit_is_a_most_where_the_rules_hold_a_most(value: str, result: str) -> None:
    assert verdict_of("tie_rod_end", number(value, "mm", "play", limit=2), "gb").result == result


# ---- No rule


@pytest.mark.parametrize(
    ("component", "said", "rule_set"),
    [
        ("brake_pad", number(3, "furlong", "thickness"), "gb"),
        ("brake_pad", number(3, "psi", "thickness"), "gb"),
        ("brake_pad", number(3, "mm", None), "gb"),
        ("brake_pad", number(3, "mm", "thickness"), "eu"),
        # No source of Virginia's own was read for the tread.
        ("tire", number(1, "1/32in", "tread depth"), "us_virginia"),
        ("brake_shoe", number(1, "mm", "thickness"), "gb"),
        ("battery", number("12.4", "V", "voltage"), "us_federal"),
        ("no_such_part", number(3, "mm", "thickness"), "gb"),
        ("brake_pad", number(1, "mm", "thickness"), None),
    ],
)
def test_without_a_rule_there_is_no_verdict(component: str, said: Measurement, rule_set: str | None) -> None:
    assert judged(component, said, rule_set).verdict == Verdict(result="no_rule")


# ---- The shop's verdict beside the legal one


@pytest.mark.parametrize(
    ("value", "rule_set", "legal", "shop"),
    [
        ("2.5", "gb", "within", "below"),
        ("1.4", "gb", "below", "below"),
        ("3.5", "gb", "within", "within"),
        ("3", "us_federal", "within", "at_limit"),
        ("2.5", None, "no_rule", "below"),
    ],
)
def test_the_shops_verdict_stands_beside_the_legal_one(
    value: Amount, rule_set: str | None, legal: str, shop: str
) -> None:
    told = judged("brake_pad", number(value, "mm", "thickness"), rule_set)
    assert told.verdict is not None
    assert told.shop_verdict is not None
    assert (told.verdict.result, told.shop_verdict.result) == (legal, shop)
    assert told.shop_verdict.source == NO_SOURCE


# ---- Front tires of commercial vehicles


@pytest.mark.parametrize(
    ("at", "place", "limit"),
    [
        (("front left",), None, 4),
        (("front",), None, 4),
        (("rear left",), None, 2),
        (("front left", "rear left"), "rear left", 2),
        (("front left", "rear left"), "front left", 4),
        ((), None, 2),
    ],
)
def test_which_commercial_limit_a_place_brings(at: tuple[str, ...], place: str | None, limit: int) -> None:
    verdict = verdict_of("tire", number(5, "1/32in", "tread depth", at=place), "us_commercial", at)
    assert verdict.limit == limit


def test_a_front_tire_below_both_commercial_limits_breaks_the_first() -> None:
    assert verdict_of("tire", number(1, "1/32in", "tread depth"), "us_commercial", "front").result == "below"
