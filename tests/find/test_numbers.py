"""Spoken and written numbers are read exactly, to their last word and no further."""

from decimal import Decimal

import pytest

from narrate.find.numbers import read_number


def read_all(said: str) -> Decimal | None:
    """The number a whole text says; None unless every word belongs to it."""
    words = said.split()
    number = read_number(words, 0)
    return number.value if number and number.end == len(words) else None


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("seven", "7"),
        ("nought", "0"),
        ("fifteen", "15"),
        ("twenty two", "22"),
        ("one hundred", "100"),
        ("a hundred and ten", "110"),
        ("hundred and ten", "110"),
        ("two eighty", "280"),
        ("one oh five", "105"),
        ("fourteen fifty", "1450"),
        ("eleven hundred", "1100"),
        ("twenty five hundred", "2500"),
        ("two thousand and fifteen", "2015"),
        ("ninety eight thousand four hundred", "98400"),
        ("a hundred and twenty thousand", "120000"),
        ("two eighty eight thousand", "288000"),
        ("two grand", "2000"),
        ("one million two hundred thousand", "1200000"),
        ("minus twelve", "-12"),
        ("negative four", "-4"),
    ],
)
def test_whole_numbers_as_people_say_them(said: str, value: str) -> None:
    assert read_all(said) == Decimal(value)


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("twelve point four", "12.4"),
        ("twelve point oh five", "12.05"),
        ("point four", "0.4"),
        ("nought point one", "0.1"),
        ("point eighteen", "0.18"),
        ("three point two five", "3.25"),
        ("fourteen point two zero", "14.20"),
        ("minus sixty point two", "-60.2"),
        ("one point five million", "1500000"),
        ("point 4", "0.4"),
    ],
)
def test_decimals_are_exact(said: str, value: str) -> None:
    assert read_all(said) == Decimal(value)


def test_zeros_said_at_the_end_are_kept() -> None:
    """Ten point five oh volts was measured to the hundredth: the record says so."""
    number = read_number("ten point five oh".split(), 0)
    assert number is not None
    assert str(number.value) == "10.50"


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("an eighth", "0.125"),
        ("a quarter", "0.25"),
        ("three quarters", "0.75"),
        ("five sixteenths", "0.3125"),
        ("half a", "0.5"),
        ("three fourths", "0.75"),
        ("two and a half", "2.5"),
        ("seven and three quarters", "7.75"),
        ("5/16", "0.3125"),
        ("1 1/2", "1.5"),
        ("3 and a half", "3.5"),
    ],
)
def test_fractions_that_have_an_exact_decimal_are_read(said: str, value: str) -> None:
    assert read_all(said) == Decimal(value)


@pytest.mark.parametrize(
    ("said", "value", "end"),
    [("one half inch", "0.5", 2), ("one fourth of an inch", "0.25", 4), ("half an inch", "0.5", 2)],
)
def test_a_fraction_of_something_is_a_fraction(said: str, value: str, end: int) -> None:
    number = read_number(said.split(), 0)
    assert number is not None
    assert (number.value, number.end) == (Decimal(value), end)


@pytest.mark.parametrize("said", ["one half shaft", "one fourth gear"])
def test_a_thing_whose_name_begins_like_a_fraction_is_counted(said: str) -> None:
    number = read_number(said.split(), 0)
    assert number is not None
    assert (number.value, number.end) == (Decimal(1), 1)


@pytest.mark.parametrize("said", ["two thirds worn", "one third left", "a third gone"])
def test_thirds_are_not_read_as_their_upper_part(said: str) -> None:
    assert read_number(said.split(), 0) is None


@pytest.mark.parametrize("said", ["a third", "two thirds", "5/7", "3/32"])
def test_a_fraction_that_has_no_exact_decimal_or_is_a_unit_is_no_number(said: str) -> None:
    assert read_all(said) is None


@pytest.mark.parametrize(
    ("said", "value"),
    [("12.4", "12.4"), ("1,250", "1250"), ("48,210.5", "48210.5"), (".4", "0.4"), ("1.5 million", "1500000")],
)
def test_written_numbers(said: str, value: str) -> None:
    assert read_all(said) == Decimal(value)


def test_a_price_said_in_pairs_of_digits_is_dollars_and_cents() -> None:
    number = read_number("one fifty nine ninety five".split(), 0)
    assert number is not None
    assert (number.value, number.cents) == (Decimal("159.95"), True)


@pytest.mark.parametrize(
    ("said", "value", "end"),
    [
        ("four thirty seconds", "4", 1),
        ("eleven thirty seconds", "11", 1),
        ("two to three", "2", 1),
        ("three mil", "3", 1),
        ("five or six", "5", 1),
        ("two and the rest", "2", 1),
    ],
)
def test_a_number_ends_where_it_ends(said: str, value: str, end: int) -> None:
    number = read_number(said.split(), 0)
    assert number is not None
    assert (number.value, number.end) == (Decimal(value), end)


@pytest.mark.parametrize(
    "said", ["", "worn", "and", "a", "minus", "hello there", "point", "point blank", "half", "12a"]
)
def test_what_is_no_number_reads_as_none(said: str) -> None:
    assert read_number(said.split(), 0) is None


@pytest.mark.parametrize("at", [-1, 3, 99])
def test_a_place_outside_the_words_reads_as_none(at: int) -> None:
    assert read_number(["two", "three", "mil"], at) is None
