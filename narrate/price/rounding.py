"""Money to its smallest unit: exact before, rounded once.

Half up is section 324 of the Streamlined Sales and Use Tax Agreement: "carried to the third decimal place", up
"whenever the third decimal place is greater than four". Of an exact number that is half up, and never half up twice.
Source: Rhode Island 44-18.1-25, North Dakota 57-39.4-25, Kansas 79-3676 (all read).
"""

from collections.abc import Sequence
from decimal import ROUND_DOWN, ROUND_HALF_EVEN, ROUND_HALF_UP, Context, Decimal
from fractions import Fraction
from math import floor

from narrate.price.currencies import MINOR_DIGITS
from narrate.records.estimate import Rounding

Exact = Decimal | Fraction
_MODES = {"half_up": ROUND_HALF_UP, "half_even": ROUND_HALF_EVEN, "down": ROUND_DOWN}
_UNITS = {digits: Decimal(1).scaleb(-digits) for digits in (0, 2, 3)}
_WIDE = Context(prec=60)


def rounded(value: Exact, currency: str, how: Rounding = "half_up") -> Decimal:
    """The amount in whole smallest units of an ISO 4217 currency; below zero it is rounded as above.

    >>> rounded(Decimal("0.825"), "USD"), rounded(Decimal("0.8246"), "USD"), rounded(Decimal("0.5"), "JPY", "half_even")
    (Decimal('0.83'), Decimal('0.82'), Decimal('0'))
    """
    digits = MINOR_DIGITS.get(currency, 2)
    if isinstance(value, Decimal):
        return value.quantize(_UNITS[digits], rounding=_MODES[how], context=_WIDE) + 0
    scaled = abs(Fraction(value)) * 10**digits
    units = floor(scaled)
    rest = scaled - units
    half = Fraction(1, 2)
    if how != "down" and (rest > half or (rest == half and (how == "half_up" or units % 2))):
        units += 1
    return Decimal(-units if value < 0 else units).scaleb(-digits)


def shared_out(total: Decimal, parts: Sequence[Fraction], currency: str) -> list[Decimal]:
    """A total that is the parts' sum rounded, as rounded parts that sum to it: what is left goes to those cut most.

    >>> shared_out(Decimal("0.73"), [Fraction("0.6"), Fraction("0.125")], "USD")
    [Decimal('0.60'), Decimal('0.13')]
    """
    digits = MINOR_DIGITS.get(currency, 2)
    scaled = [part * 10**digits for part in parts]
    units = [floor(each) for each in scaled]
    left = int(total.scaleb(digits)) - sum(units)
    by_cut = sorted(range(len(parts)), key=lambda number: (units[number] - scaled[number], number))
    for number in by_cut[:left]:
        units[number] += 1
    return [Decimal(each).scaleb(-digits) for each in units]
