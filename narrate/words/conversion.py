"""Units of measurement turned into one another exactly, by fractions: a comparison never sees a rounded number.

Factors: NIST SP 811 (2008), appendix B.8; the inch is 25.4 mm, the pound 0.45359237 kg, standard gravity
9.80665 m/s2, the US gallon 231 cubic inches, all by definition. Temperatures have another zero besides.
"""

from decimal import Context, Decimal
from fractions import Fraction

_INCH_MM = Fraction(254, 10)
_POUND_FORCE_N = Fraction("0.45359237") * Fraction("9.80665")
_PSI_KPA = _POUND_FORCE_N / (Fraction("0.0254") ** 2) / 1000

_SCALES: dict[str, tuple[str, Fraction, Fraction]] = {
    # unit: what it measures, its size in the base unit, where its zero lies in the base unit
    "mm": ("length", Fraction(1), Fraction(0)),
    "in": ("length", _INCH_MM, Fraction(0)),
    "1/32in": ("length", _INCH_MM / 32, Fraction(0)),
    "kPa": ("pressure", Fraction(1), Fraction(0)),
    "bar": ("pressure", Fraction(100), Fraction(0)),
    "psi": ("pressure", _PSI_KPA, Fraction(0)),
    "N.m": ("torque", Fraction(1), Fraction(0)),
    "lbf.ft": ("torque", _POUND_FORCE_N * Fraction("0.3048"), Fraction(0)),
    "degC": ("temperature", Fraction(1), Fraction(0)),
    "degF": ("temperature", Fraction(5, 9), Fraction(-160, 9)),
    "km": ("distance", Fraction(1), Fraction(0)),
    "mi": ("distance", Fraction("1.609344"), Fraction(0)),
    "l": ("volume", Fraction(1), Fraction(0)),
    "qt": ("volume", Fraction("0.946352946"), Fraction(0)),
    "V": ("voltage", Fraction(1), Fraction(0)),
    "mV": ("voltage", Fraction(1, 1000), Fraction(0)),
    "A": ("current", Fraction(1), Fraction(0)),
    "mA": ("current", Fraction(1, 1000), Fraction(0)),
    "month": ("age", Fraction(1), Fraction(0)),
    "year": ("age", Fraction(12), Fraction(0)),
}
_SHOWN = Context(prec=9)
"""Digits of a number that has no end, which is only ever shown."""


def convertible(one: str, other: str) -> bool:
    """Whether numbers in two units can be compared."""
    return one == other or (one in _SCALES and other in _SCALES and _SCALES[one][0] == _SCALES[other][0])


def in_unit(value: Decimal | Fraction, unit: str, wanted: str) -> Fraction:
    """The same amount in another unit, exactly. Raises ValueError where the units measure different things.

    >>> in_unit(Decimal(2), "1/32in", "mm")
    Fraction(127, 80)
    """
    if unit == wanted:
        return Fraction(value)
    if not convertible(unit, wanted):
        message = f"{unit} cannot be turned into {wanted}"
        raise ValueError(message)
    _, size, zero = _SCALES[unit]
    _, other_size, other_zero = _SCALES[wanted]
    return (Fraction(value) * size + zero - other_zero) / other_size


def as_decimal(value: Fraction) -> Decimal:
    """A fraction as decimal digits: exact where they end, else nine of them.

    >>> as_decimal(Fraction(127, 80))
    Decimal('1.5875')
    """
    exact = Decimal(value.numerator) / Decimal(value.denominator)
    if Fraction(exact) == value:
        return exact.normalize() if exact % 1 else exact.quantize(Decimal(1))
    return _SHOWN.divide(Decimal(value.numerator), Decimal(value.denominator))
