"""Units turned into one another, held against published values and against exactness."""

from decimal import Decimal
from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from narrate.words.conversion import as_decimal, convertible, in_unit
from narrate.words.load import load_lexicon

# value, unit, wanted unit, published value, half of the last digit that is printed, where it is printed
PUBLISHED = [
    ("1", "in", "mm", "25.4", "0", "NIST SP 811 App. B; SI appendix '1 in = 25.4 mm' (read)"),
    ("1", "psi", "kPa", "6.894757", "0.0000005", "table '6,894.757 Pa' (read)"),
    ("32", "psi", "kPa", "220.63", "0.005", "calculated from 6.894757"),
    ("100", "lbf.ft", "N.m", "135.5817948331400400", "0", "calculated from 0.45359237 kg, 9.80665 m/s2, 0.3048 m"),
    ("1", "lbf.ft", "N.m", "1.355818", "0.0000005", "NIST SP 811 App. B.8 (from memory)"),
    ("80", "N.m", "lbf.ft", "59.00", "0.005", "calculated from the same"),
    # 12 x '1 lbf.in = 0.112 985 N.m', SI appendix (read)
    ("1", "lbf.ft", "N.m", "1.35582", "0.000006", "twelve pound-force inches (read)"),
    ("1", "bar", "kPa", "100", "0", "unit definitions of a public units library (read)"),
    ("1", "mi", "km", "1.609344", "0", "SI appendix (read)"),
    ("4", "qt", "l", "3.785411784", "0", "US gallon, 231 cubic inches (from memory)"),
    ("1", "qt", "l", "0.946352946", "0", "US quart (from memory)"),
    ("-34", "degF", "degC", "-36.67", "0.005", "calculated, C = (F-32)*5/9"),
    # Coolant, service text of a carmaker (read): the pairs it prints are whole degrees.
    ("-37", "degC", "degF", "-35", "1", "coolant 50/50, 'freeze point of -37C (-35F)' (read)"),
    ("-46", "degC", "degF", "-50", "1", "coolant 56 percent, '-46 (-50)' (read)"),
    ("-8", "degF", "degC", "-22", "0.5", "coolant undiluted, '-8 (-22)' (read)"),
]


@pytest.mark.parametrize(
    ("value", "unit", "wanted", "printed", "half", "source"), PUBLISHED, ids=lambda each: str(each)
)
def test_published_values(value: str, unit: str, wanted: str, printed: str, half: str, source: str) -> None:
    assert abs(in_unit(Decimal(value), unit, wanted) - Fraction(printed)) <= Fraction(half), source


# Calculated from 1 in = 25.4 mm (notes, section 6).
STEPS = {1: "0.79375", 2: "1.5875", 3: "2.38125", 4: "3.175", 5: "3.96875", 6: "4.7625", 8: "6.35", 10: "7.9375"}


@pytest.mark.parametrize(("steps", "mm"), STEPS.items())
def test_thirty_seconds_of_an_inch(steps: int, mm: str) -> None:
    assert in_unit(Decimal(steps), "1/32in", "mm") == Fraction(mm)
    assert as_decimal(in_unit(Decimal(steps), "1/32in", "mm")) == Decimal(mm)
    assert in_unit(Decimal(mm), "mm", "1/32in") == steps


# Brake fluid, FMVSS 116 S5.1.1 and S5.1.2 (read at second hand): all pairs are exact both ways.
BOILING = [(205, 401), (140, 284), (230, 446), (155, 311), (260, 500), (180, 356)]


@pytest.mark.parametrize(("celsius", "fahrenheit"), [*BOILING, (0, 32), (100, 212), (-40, -40)])
def test_temperatures_both_ways(celsius: int, fahrenheit: int) -> None:
    assert in_unit(Decimal(celsius), "degC", "degF") == fahrenheit
    assert in_unit(Decimal(fahrenheit), "degF", "degC") == celsius


def test_an_eighth_of_an_inch_is_four_thirty_seconds() -> None:
    assert in_unit(Decimal("0.125"), "in", "1/32in") == 4


@pytest.mark.parametrize(
    ("value", "unit", "wanted", "due"),
    [("12600", "mV", "V", "12.6"), ("50", "mA", "A", "0.05"), ("10", "year", "month", "120")],
)
def test_plain_multiples(value: str, unit: str, wanted: str, due: str) -> None:
    assert in_unit(Decimal(value), unit, wanted) == Fraction(due)


SYMBOLS = sorted({unit.symbol for unit in load_lexicon().units.values()})
PAIRS = [(one, other) for one, other in product(SYMBOLS, repeat=2) if convertible(one, other)]
AMOUNTS = st.decimals(min_value=-1_000_000, max_value=1_000_000, places=4)


@given(pair=st.sampled_from(PAIRS), value=AMOUNTS)
def test_there_and_back_is_the_same(pair: tuple[str, str], value: Decimal) -> None:
    unit, wanted = pair
    assert in_unit(in_unit(value, unit, wanted), wanted, unit) == Fraction(value)


@given(pair=st.sampled_from(PAIRS), one=AMOUNTS, other=AMOUNTS)
def test_the_order_of_amounts_stays(pair: tuple[str, str], one: Decimal, other: Decimal) -> None:
    unit, wanted = pair
    assert (one < other) == (in_unit(one, unit, wanted) < in_unit(other, unit, wanted))


def test_being_convertible_has_no_direction() -> None:
    assert all((other, one) in PAIRS for one, other in PAIRS)
    assert all((symbol, symbol) in PAIRS for symbol in SYMBOLS)


@pytest.mark.parametrize("pair", [("mm", "psi"), ("V", "A"), ("percent", "mm"), ("deg", "degC"), ("furlong", "mm")])
def test_units_of_different_things_are_refused(pair: tuple[str, str]) -> None:
    unit, wanted = pair
    assert not convertible(unit, wanted)
    with pytest.raises(ValueError, match=f"{unit} cannot be turned into {wanted}"):
        in_unit(Decimal(1), unit, wanted)


@given(value=AMOUNTS)
def test_decimals_come_out_as_they_went_in(value: Decimal) -> None:
    assert as_decimal(Fraction(value)) == value


def test_what_has_no_end_is_shown_with_nine_digits() -> None:
    assert as_decimal(Fraction(1, 3)) == Decimal("0.333333333")
    assert str(as_decimal(Fraction(1200))) == "1200"
    assert str(as_decimal(Fraction(0))) == "0"
