"""How sums, dates and digests stand on paper."""

from datetime import date, datetime
from decimal import Decimal

from narrate.export.phrases import say_money

DIGITS = dict.fromkeys(
    ("BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "VND", "VUV", "XAF", "XOF", "XPF"),
    0,
) | dict.fromkeys(("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"), 3)
"""Digits after the point, of the currencies that have other than two (ISO 4217, from memory)."""
MONTHS = "January February March April May June July August September October November December".split()


def say_sum(amount: Decimal, currency: str) -> str:
    """`$1,204.50`: the currency's own digits at least; what has more is shown whole, never rounded.

    >>> say_sum(Decimal("-1204.5"), "USD"), say_sum(Decimal("1204"), "JPY"), say_sum(Decimal("0.1255"), "USD")
    ('−$1,204.50', '1,204 JPY', '$0.1255')
    """
    said = say_money(Decimal(0), currency).replace("0", figure(abs(amount), DIGITS.get(currency, 2)), 1)
    return f"−{said}" if amount < 0 else said


def figure(amount: Decimal, digits: int = 0) -> str:
    """`1,204.50`: at least so many digits after the point."""
    plain = amount.normalize() if amount else Decimal(0)
    has = max(0, -int(plain.as_tuple().exponent))
    return f"{plain:,.{max(digits, has)}f}"


def say_day(told: str | None) -> str:
    """`27 November 2026`, with `, 14:30` where a time of day is told; what is no date stays as it is."""
    if not told:
        return ""
    try:
        if len(told) <= len("2026-11-27"):
            return _day(date.fromisoformat(told))
        at = datetime.fromisoformat(told)
    except ValueError:
        return told
    zone = " UTC" if at.utcoffset() is not None and not at.utcoffset() else ""
    return f"{_day(at.date())}, {at:%H:%M}{zone}"


def say_digest(digest: str) -> str:
    """The first sixteen digits of a sha256, in fours, as a person reads them out: `3f2a 91bc 04d7 e6aa`."""
    short = digest.removeprefix("sha256:")[:16]
    return " ".join(short[place : place + 4] for place in range(0, len(short), 4))


def _day(day: date) -> str:
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"
