"""Numbers beside numbers: the two sides of an axle, two edges, front and rear, and the visit before.

What has worn since the last visit is told with its rate, and how far it is to the limit as a range; nothing is
projected from one number, nor across a part that was replaced.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import combinations

from narrate.judge.numbering import new_ids
from narrate.judge.places import OPPOSITE, place_of
from narrate.records.walkaround import Finding, Measurement, Odometer, Suggestion, Walkaround
from narrate.words.conversion import as_decimal, convertible, in_unit
from narrate.words.rule_entries import Spread
from narrate.words.rules import Rules

KIND = "comparison"
COMPARED = ("left", "inner", "front")
"""The first of each pair of opposite places that are compared."""
READING = Fraction(1, 2)
"""How wrong a number may be read: half of its last digit."""
DISTANCE = {"mi": "miles", "km": "kilometers"}
THOUSAND = 1000


@dataclass(frozen=True)
class Reading:
    """One number of one place of one part."""

    finding: Finding
    number: Measurement
    place: str


def compare_numbers(walkaround: Walkaround, rules: Rules, previous: Walkaround | None) -> Walkaround:
    """Fill `comparisons`, and suggest to look further where two sides lie too far apart."""
    readings = list(_readings(walkaround))
    texts: list[str] = []
    suggestions = list(walkaround.suggestions)
    ids = new_ids(walkaround, "s")
    for one, other in _opposites(readings):
        texts.append(_apart(one, other))
        spread = _too_far(one, other, rules)
        if spread:
            text = f"{_capital(one.finding.component.name)}: {spread.text}."
            suggestions.append(
                Suggestion(id=next(ids), kind=KIND, for_=one.finding.id, text=text, source=spread.source)
            )
    if previous:
        texts += _since(readings, walkaround, previous, rules)
    return walkaround.model_copy(update={"comparisons": tuple(texts), "suggestions": tuple(suggestions)})


def _readings(walkaround: Walkaround) -> Iterator[Reading]:
    for finding in walkaround.findings:
        if finding.review.state != "dropped":
            for number in finding.measurements:
                place = place_of(finding, number)
                if place and number.high is None and number.quantity:
                    yield Reading(finding, number, place)


def _opposites(readings: list[Reading]) -> Iterator[tuple[Reading, Reading]]:
    """Pairs that differ in one token, which is the opposite: left and right of one axle, inner and outer of a tire."""
    for one, other in combinations(readings, 2):
        if not _of_one_kind(one, other):
            continue
        here, there = set(one.place.split()), set(other.place.split())
        apart = here - there
        if len(apart) == 1 and {OPPOSITE.get(next(iter(apart)))} == there - here:
            first = next(iter(apart)) in COMPARED
            yield (one, other) if first else (other, one)


def _of_one_kind(one: Reading, other: Reading) -> bool:
    return (
        one.finding.component.id == other.finding.component.id
        and one.finding.position == other.finding.position
        and one.number.quantity == other.number.quantity
        and convertible(one.number.unit, other.number.unit)
    )


def _apart(one: Reading, other: Reading) -> str:
    part, unit = one.finding.component.name, one.number.unit
    gap = abs(_difference(one, other))
    told = f"{_said(one.number)} {one.place}, {_said(other.number)} {other.place}"
    if not gap:
        return f"{_capital(part)}: {told}; the same."
    return f"{_capital(part)}: {told}; {_amount(as_decimal(gap), unit)} apart."


def _difference(one: Reading, other: Reading) -> Fraction:
    return Fraction(one.number.value) - in_unit(other.number.value, other.number.unit, one.number.unit)


def _too_far(one: Reading, other: Reading, rules: Rules) -> Spread | None:
    # Front and rear wear apart by nature: only sides and edges are held against one another.
    if {"front"} & (set(one.place.split()) ^ set(other.place.split())):
        return None
    for spread in rules.spreads:
        about = one.finding.component.id in spread.components and one.number.quantity == spread.quantity
        if about and convertible(one.number.unit, spread.unit):
            first = in_unit(one.number.value, one.number.unit, spread.unit)
            second = in_unit(other.number.value, other.number.unit, spread.unit)
            if abs(first - second) > Fraction(spread.most):
                return spread
    return None


def _since(readings: list[Reading], now: Walkaround, before: Walkaround, rules: Rules) -> Iterator[str]:
    wears = {(component, each.quantity) for each in rules.spreads for component in each.components}
    driven = _driven(before.vehicle.odometer, now.vehicle.odometer)
    changed = {f.component.id for w in (now, before) for f in w.findings if f.recommendation.timing == "done"}
    for old in _readings(before):
        for new in readings:
            if _of_one_kind(old, new) and old.place == new.place:
                if (new.finding.component.id, new.number.quantity) in wears:
                    yield _worn(old, new, driven, replaced=new.finding.component.id in changed)
                else:
                    yield f"{_then_and_now(old, new)}."


def _driven(before: Odometer | None, now: Odometer | None) -> tuple[Fraction, str] | None:
    """Distance between two visits, in the unit of the second; None where it is not known or makes no sense."""
    if before is None or now is None:
        return None
    distance = Fraction(now.value) - in_unit(before.value, before.unit, now.unit)
    return (distance, now.unit) if distance > 0 else None


def _worn(old: Reading, new: Reading, driven: tuple[Fraction, str] | None, *, replaced: bool) -> str:
    told = _then_and_now(old, new)
    lost = in_unit(old.number.value, old.number.unit, new.number.unit) - Fraction(new.number.value)
    if replaced or lost < 0:
        return f"{told}; it was replaced or measured otherwise, so nothing is projected."
    if not driven or not lost:
        return f"{told}."
    distance, unit = driven
    rate = lost / distance * THOUSAND
    told += f"; {_amount(_short(rate), new.number.unit)} in 1,000 {DISTANCE[unit]}"
    reach = _reach(old, new, lost, distance)
    if reach is None:
        return f"{told}."
    low, high = (f"{int(each / 100) * 100:,}" for each in reach)
    limit = new.number.verdict
    assert limit is not None
    assert limit.limit is not None
    assert limit.unit is not None
    return (
        f"{told}; the limit of {_amount(limit.limit, limit.unit)} ({limit.rule_set}) may be reached in {low} to {high} "
        f"{DISTANCE[unit]}, if it wears on as it did and each number is read to within half of its last digit."
    )


def _then_and_now(old: Reading, new: Reading) -> str:
    part = f"{_capital(new.finding.component.name)}, {new.place}"
    return f"{part}: {_said(old.number)} at the visit before, {_said(new.number)} now"


def _reach(old: Reading, new: Reading, lost: Fraction, distance: Fraction) -> tuple[Fraction, Fraction] | None:
    """The least and the most distance to the limit; None without a limit, past it, or where reading hides the wear."""
    verdict, unit = new.number.verdict, new.number.unit
    if verdict is None or verdict.limit is None or verdict.unit is None or verdict.result != "within":
        return None
    left = Fraction(new.number.value) - in_unit(verdict.limit, verdict.unit, unit)
    error = READING * _step(new.number.value) + READING * _size(_step(old.number.value), old.number.unit, unit)
    if left <= 0 or lost <= error:
        return None
    own = READING * _step(new.number.value)
    low = max(Fraction(0), left - own) / (lost + error) * distance
    return low, (left + own) / (lost - error) * distance


def _step(value: Decimal) -> Fraction:
    """One of its last digit: 1 of 6, 0.1 of 3.5."""
    exponent = value.as_tuple().exponent
    return Fraction(10) ** exponent if isinstance(exponent, int) else Fraction(1)


def _size(step: Fraction, unit: str, wanted: str) -> Fraction:
    """A difference in another unit, whose zero does not matter."""
    return in_unit(step, unit, wanted) - in_unit(Fraction(0), unit, wanted)


def _said(number: Measurement) -> str:
    return _amount(number.value, number.unit)


def _amount(value: Decimal | str, unit: str) -> str:
    return f"{value}/32 in" if unit == "1/32in" else f"{value} {unit}"


def _short(value: Fraction) -> str:
    return f"{float(value):.2g}" if value < 10 else f"{float(value):.0f}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
