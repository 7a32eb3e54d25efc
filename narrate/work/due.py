"""When something said is due: "in three thousand miles", "by 2027-01-10", "within six months", "at 60,000"."""

import re
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Literal

from narrate.find.numbers import read_number
from narrate.records.walkaround import Odometer
from narrate.words.conversion import in_unit

Unit = Literal["mi", "km"]
UNITS: dict[str, Unit] = {
    "mi": "mi", "mile": "mi", "miles": "mi",
    "km": "km", "kms": "km", "kilometer": "km", "kilometers": "km", "kilometre": "km", "kilometres": "km",
}  # fmt: skip
DAYS = {"day": 1, "days": 1, "week": 7, "weeks": 7}
MONTHS = {"month": 1, "months": 1, "year": 12, "years": 12}
THOUSANDS = ("k", "grand")
VAGUE = frozenset({"few", "several", "some", "dozen"})
"""A few thousand is no number."""
LEAST_DISTANCE = 500
"""A number without a unit that is so high is a distance."""
_WORD = re.compile(r"\d{4}-\d{2}-\d{2}|\d+(?:\.\d+)?|[a-z]+")
_THOUSANDS = re.compile(r"(?<=\d)[, ](?=\d{3}(?!\d))")
_COUPLE = re.compile(r"\b(?:a )?couple(?: of)?\b")


@dataclass(frozen=True)
class Due:
    """A day, or an odometer, or neither where words tell none."""

    on: date | None = None
    at: Odometer | None = None


def due_of(words: str | None, *, said_on: date, odometer: Odometer | None) -> Due:
    """When words of a walk-round say that something is due.

    A distance counts from the odometer then; after "at" it is the odometer to come.
    Without an odometer a distance comes to nothing.

    >>> due_of("within six months", said_on=date(2026, 11, 30), odometer=None).on
    datetime.date(2027, 5, 30)
    >>> due_of("in 3,000 miles", said_on=date(2026, 11, 30), odometer=Odometer(value=51000, unit="mi")).at.value
    Decimal('54000')
    """
    told = _words(words or "")
    if VAGUE & set(told):
        return Due()
    for place, word in enumerate(told):
        if len(word) == 10 and "-" in word:
            return Due(on=_day(word))
        number = _number(told, place)
        if number is None or number[0] <= 0:
            continue
        value, unit = number[0], told[number[1]] if number[1] < len(told) else ""
        if unit in UNITS or (not unit and value >= LEAST_DISTANCE):
            return Due(at=_reached(value, UNITS.get(unit), odometer, absolute="at" in told[:place]))
        if unit in DAYS:
            return Due(on=said_on + timedelta(days=int(value * DAYS[unit])))
        if unit in MONTHS:
            return Due(on=months_after(said_on, int(value * MONTHS[unit])))
    return Due()


def months_after(day: date, months: int) -> date:
    """The same day so many months later, or the last of that month.

    >>> months_after(date(2026, 8, 31), 6)
    datetime.date(2027, 2, 28)
    """
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    for last in (day.day, 30, 29, 28):
        try:
            return date(year, month + 1, min(day.day, last))
        except ValueError:
            continue
    raise AssertionError


def _words(text: str) -> list[str]:
    """The words and numbers; "3,000" and "3 000" are one, a "couple of" two, "a" month one."""
    lower = _COUPLE.sub("2", _THOUSANDS.sub("", text.lower()))
    told = _WORD.findall(lower)
    return ["1" if _one_of_something(told, place) else word for place, word in enumerate(told)]


def _one_of_something(told: list[str], place: int) -> bool:
    """Whether a word is the "a" of "a month", but not of "half a year"."""
    after = told[place + 1 : place + 2]
    return told[place] in ("a", "an") and bool({*UNITS, *DAYS, *MONTHS} & set(after)) and "half" not in told[:place]


def _number(told: list[str], place: int) -> tuple[Decimal, int] | None:
    """The number that begins at a word, and the place after it."""
    number = read_number(told, place)
    if number is None:
        return None
    if told[number.end : number.end + 1] and told[number.end] in THOUSANDS:
        return number.value * 1000, number.end + 1
    return number.value, number.end


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def _reached(value: Decimal, unit: Unit | None, odometer: Odometer | None, *, absolute: bool) -> Odometer | None:
    if odometer is None:
        return None
    there = in_unit_of(value, unit or odometer.unit, odometer.unit)
    if absolute:
        # What it has passed already was said of something else.
        return Odometer(value=there, unit=odometer.unit) if there > odometer.value else None
    return Odometer(value=odometer.value + there, unit=odometer.unit)


def in_unit_of(value: Decimal, unit: Unit, wanted: Unit) -> Decimal:
    """A distance in another unit, to the whole one."""
    if unit == wanted:
        return value
    return Decimal(round(in_unit(value, unit, wanted)))
