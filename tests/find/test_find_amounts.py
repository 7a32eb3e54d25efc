"""Numbers get their unit, price or code; numbers that measure nothing stay quiet."""

from collections.abc import Callable
from decimal import Decimal

import pytest

from narrate.find.draft import Amount, Draft

Amounts = Callable[[str], tuple[Amount, ...]]


def the_one(amounts: tuple[Amount, ...]) -> Amount:
    """The only amount there is."""
    assert len(amounts) == 1, amounts
    return amounts[0]


@pytest.mark.parametrize(
    ("said", "value", "unit"),
    [
        ("twelve point four volts", "12.4", "V"),
        ("12.4V", "12.4", "V"),
        ("eleven mil", "11", "mm"),
        ("three millimetres", "3", "mm"),
        ("0.4mm", "0.4", "mm"),
        (".4 mm", "0.4", "mm"),
        ("thirty two psi", "32", "psi"),
        ("two point two bar", "2.2", "bar"),
        ("five hundred and fifty cold cranking amps", "550", "CCA"),
        ("750 CCA", "750", "CCA"),
        ("200 ohms", "200", "ohm"),
        ("two kilohms", "2000", "ohm"),
        ("minus twelve degrees c", "-12", "degC"),
        ("forty five degrees fahrenheit", "45", "degF"),
        ("130 newton meters", "130", "N.m"),
        ("eighty foot pounds", "80", "lbf.ft"),
        ("ninety eight thousand four hundred miles", "98400", "mi"),
        ("three point five liters", "3.5", "l"),
        ("60%", "60", "percent"),
        ("an eighth of an inch", "0.125", "in"),
        ("three sixteenths of an inch", "0.1875", "in"),
        ("1 1/2 inch", "1.5", "in"),
        ("five thou", "0.005", "in"),
        ("half a millimeter", "0.5", "mm"),
        ("3½ mm", "3.5", "mm"),
        ("1¼ inch", "1.25", "in"),
        ("2¾ mm", "2.75", "mm"),
        ("3⅛ inches", "3.125", "in"),
        ("1-1/2 inch", "1.5", "in"),
        ("10°C", "10", "degC"),
        ("10 °C", "10", "degC"),
        ("50°F", "50", "degF"),
    ],
)
def test_a_number_with_its_unit_is_a_measurement(amounts_in: Amounts, said: str, value: str, unit: str) -> None:
    amount = the_one(amounts_in(said))
    assert (amount.kind, amount.value, amount.unit) == ("measure", Decimal(value), unit)


def test_a_measured_value_keeps_the_digits_that_were_said(amounts_in: Amounts) -> None:
    assert str(the_one(amounts_in("14.20 volts")).value) == "14.20"


@pytest.mark.parametrize(
    ("said", "low", "high", "unit"),
    [
        ("2-3 mm", "2", "3", "mm"),
        ("two to three mil", "2", "3", "mm"),
        ("two or three mil", "2", "3", "mm"),
        ("3.5 to 4 mm", "3.5", "4", "mm"),
        ("30-35 psi", "30", "35", "psi"),
        ("five to six thirty seconds", "5", "6", "1/32in"),
        ("2–3 mm", "2", "3", "mm"),
        ("2 - 3 mm", "2", "3", "mm"),
        ("3mm-4mm", "3", "4", "mm"),
        ("3.5mm-4mm", "3.5", "4", "mm"),
        ("between three and four mil", "3", "4", "mm"),
        ("between 12 and 14 volts", "12", "14", "V"),
        ("3 mm to 4 mm", "3", "4", "mm"),
        ("three mil to four mil", "3", "4", "mm"),
    ],
)
def test_a_range_has_both_ends(amounts_in: Amounts, said: str, low: str, high: str, unit: str) -> None:
    amount = the_one(amounts_in(said))
    assert (amount.value, amount.high, amount.unit) == (Decimal(low), Decimal(high), unit)


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("3 mm to 4 psi", [("3", "mm"), ("4", "psi")]),
        ("4 mm to 3 mm", [("4", "mm"), ("3", "mm")]),
        ("three and four mil", [("3", None), ("4", "mm")]),
    ],
)
def test_two_numbers_that_span_nothing_are_two_amounts(
    amounts_in: Amounts, said: str, expected: list[tuple[str, str | None]]
) -> None:
    assert [(Decimal(value), None, unit) for value, unit in expected] == [
        (amount.value, amount.high, amount.unit) for amount in amounts_in(said)
    ]


@pytest.mark.parametrize("said", ["about three mil", "roughly 3 mil", "three mil and a bit"])
def test_a_rough_number_says_that_it_is_rough(amounts_in: Amounts, said: str) -> None:
    amount = the_one(amounts_in(said))
    assert (amount.value, amount.about) == (Decimal(3), True)


def test_a_plain_number_is_not_rough(amounts_in: Amounts) -> None:
    assert not the_one(amounts_in("three mil")).about


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("left tire six thirty seconds", "6"),
        ("tread is 4/32", "4"),
        ("tread at 4/32nds", "4"),
        ("tires are at 432nds", "4"),
        ("tread is 430 seconds", "4"),
        ("tread depth 530 seconds", "5"),
        ("the tire tread is for 30 seconds", "4"),
        ("tread 4 over 32", "4"),
    ],
)
def test_thirty_seconds_of_tread_as_recognisers_write_them(amounts_in: Amounts, said: str, value: str) -> None:
    amount = the_one(amounts_in(said))
    assert (amount.kind, amount.value, amount.unit) == ("measure", Decimal(value), "1/32in")


@pytest.mark.parametrize(
    "said",
    [
        "it cranks for 30 seconds",
        "ran it for thirty seconds",
        "the starter cranks 430 seconds",
        "the fan runs on for 30 seconds",
    ],
)
def test_thirty_seconds_of_anything_else_are_time(amounts_in: Amounts, said: str) -> None:
    assert all(amount.unit != "1/32in" for amount in amounts_in(said))


@pytest.mark.parametrize(
    "said",
    [
        "it takes three hours",
        "at 60 mph",
        "5 o'clock",
        "in 3 weeks",
        "2 people",
        "two front tires",
        "four lug nuts",
        "number two injector",
        "cylinder three misfires",
    ],
)
def test_a_number_that_measures_nothing_is_quiet(amounts_in: Amounts, said: str) -> None:
    assert {amount.kind for amount in amounts_in(said)} == {"quiet"}


@pytest.mark.parametrize("said", ["the left one", "one of the bolts", "no one said so"])
def test_one_as_a_pronoun_is_no_number(amounts_in: Amounts, said: str) -> None:
    assert amounts_in(said) == ()


def test_a_number_without_a_unit_stays_bare(amounts_in: Amounts) -> None:
    amount = the_one(amounts_in("it reads eleven point eight"))
    assert (amount.kind, amount.value, amount.unit) == ("bare", Decimal("11.8"), None)


@pytest.mark.parametrize(
    ("said", "value", "limit"),
    [
        ("three millimeters, the minimum is two", "3", "2"),
        ("pads at 3 mm, limit is 2 mm", "3", "2"),
        ("25.4 mm against a limit of 26 mm", "25.4", "26"),
        ("minimum thickness 26 mm, measured 25.4 mm", "25.4", "26"),
    ],
)
def test_a_spoken_limit_is_tied_to_the_value_it_limits(amounts_in: Amounts, said: str, value: str, limit: str) -> None:
    measured = [amount for amount in amounts_in(said) if amount.kind == "measure"]
    assert [(amount.value, amount.limit) for amount in measured] == [(Decimal(value), Decimal(limit))]


def test_a_limit_alone_is_no_measurement(amounts_in: Amounts) -> None:
    assert the_one(amounts_in("the spec is 28 mm")).kind == "limit"


def test_an_amount_lies_on_the_tokens_that_say_it(read: Callable[[str], Draft]) -> None:
    draft = read("the pads are at three mil now")
    amount = the_one(draft.amounts)
    assert [token.text for token in draft.tokens[amount.first : amount.last + 1]] == ["three", "mil"]
    assert amount.because == ("t4", "t5")


def test_the_point_of_a_decimal_is_no_contact_point(read: Callable[[str], Draft]) -> None:
    draft = read("battery at twelve point four volts")
    assert "contact_points" not in {mention.key for mention in draft.mentions}


def test_the_unit_of_an_amount_names_nothing_else(read: Callable[[str], Draft]) -> None:
    draft = read("tread at six thirty seconds")
    inside = range(draft.amounts[0].first, draft.amounts[0].last + 1)
    assert not [mention for mention in draft.mentions if mention.first in inside]
