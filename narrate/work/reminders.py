"""Whom to remind of what: days that customers named, work declined months ago, parts to be watched."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Literal

from narrate.records.walkaround import Odometer
from narrate.store.engine import Store
from narrate.store.left_over import LeftOver, LeftVehicle, everything_left
from narrate.work.due import Due, due_of, in_unit_of, months_after

AFTER_MONTHS = 6
"""When to come back to what was declined, or is to be watched without a time being said. Common practice, no source."""
LEAST_DAYS = 14
"""Two visits nearer than that tell no usual distance."""
MONTH_DAYS = Decimal("30.44")


@dataclass(frozen=True, kw_only=True)
class Reminder:
    """One thing to remind one customer of. `due_on` is a day; `due_at` an odometer, reached about that day."""

    kind: Literal["declined", "decide_by", "watched"]
    due_on: date | None
    due_at: Odometer | None
    odometer_then: Odometer | None
    """About what it shows on the last day asked for, by the usual distance; None where two visits do not tell it."""
    why: str
    left: LeftOver
    vehicle_id: int | None
    vehicle: str
    plate: str | None
    customer: str | None
    phone: str | None


def reminders(
    store: Store, *, today: date, until: date | None = None, within: Decimal = Decimal(1000), months: int = AFTER_MONTHS
) -> tuple[Reminder, ...]:
    """Return what is due by the day `until` (30 days from `today` if not given), the earliest first.

    By distance it is due where the vehicle is within `within` (of its odometer's own unit) of what was said, as far
    as its usual distance a month tells. `months`: when declined work and parts to be watched without a time come.
    """
    last = until or today + timedelta(days=30)
    found = [
        reminder
        for vehicle in everything_left(store)
        for left in vehicle.left
        if (reminder := _reminder(vehicle, left, last, within, months)) is not None
    ]
    return tuple(sorted(found, key=lambda each: (each.due_on or date.max, each.vehicle, each.left.title)))


def usual_distance(readings: Sequence[tuple[str, Odometer]]) -> Decimal | None:
    """Return the distance a month, in the unit of the last reading; None where two visits do not tell it."""
    if len(readings) < 2:
        return None
    (first_day, first), (last_day, last) = readings[0], readings[-1]
    days = (date.fromisoformat(last_day) - date.fromisoformat(first_day)).days
    driven = last.value - in_unit_of(first.value, first.unit, last.unit)
    return driven / days * MONTH_DAYS if days >= LEAST_DAYS and driven > 0 else None


def _reminder(vehicle: LeftVehicle, left: LeftOver, last: date, within: Decimal, months: int) -> Reminder | None:
    due, why = _due(left, months)
    usual = usual_distance(vehicle.readings)
    expected = _expected(vehicle, usual, last)
    on = due.on
    if due.at is not None:
        near = in_unit_of(due.at.value, due.at.unit, expected.unit) - within if expected else None
        if expected is None or near is None:
            on = months_after(_local_day(left.at), months)
            why += "; how far it is driven is not known, so by time"
        elif expected.value < near:
            return None
        else:
            on = _day_of(vehicle, usual, near)
    if on is None or on > last:
        return None
    return Reminder(
        kind=left.kind,
        due_on=on,
        due_at=due.at,
        odometer_then=expected,
        why=why,
        left=left,
        vehicle_id=vehicle.vehicle_id,
        vehicle=vehicle.vehicle,
        plate=vehicle.plate,
        customer=vehicle.customer,
        phone=vehicle.phone,
    )


def _due(left: LeftOver, months: int) -> tuple[Due, str]:
    """When it is due, and why then."""
    said_on = _local_day(left.at)
    if left.kind == "decide_by" and left.decide_by_date:
        return Due(on=date.fromisoformat(left.decide_by_date)), "to be decided by then"
    if left.kind == "declined":
        return Due(on=months_after(said_on, months)), f"declined {said_on.isoformat()}"
    for words in _words(left):
        due = due_of(words, said_on=said_on, odometer=left.odometer)
        if due.on or due.at:
            return due, f"to be watched, “{words}”"
    return Due(on=months_after(said_on, months)), f"to be watched since {said_on.isoformat()}"


def _words(left: LeftOver) -> Iterator[str]:
    urgency = left.urgency
    while urgency is not None:
        if urgency.by:
            yield urgency.by
        urgency = urgency.said
    if left.timing:
        yield left.timing


def _expected(vehicle: LeftVehicle, usual: Decimal | None, day: date) -> Odometer | None:
    """About what the odometer shows on a day: what was read last, and the usual distance since."""
    if usual is None:
        return None
    last_day, last = vehicle.readings[-1]
    days = max((day - date.fromisoformat(last_day)).days, 0)
    return Odometer(value=(last.value + usual * days / MONTH_DAYS).quantize(Decimal(1)), unit=last.unit)


def _day_of(vehicle: LeftVehicle, usual: Decimal | None, value: Decimal) -> date:
    """About the day when the odometer shows so much; not before it was read last."""
    last_day, last = vehicle.readings[-1]
    begin = date.fromisoformat(last_day)
    return begin + timedelta(days=max(int((value - last.value) / usual * MONTH_DAYS), 0)) if usual else begin


def _local_day(at: str) -> date:
    moment = datetime.fromisoformat(at)
    return moment.astimezone().date() if moment.tzinfo else moment.date()
