"""Fault codes, in one word or spelled out."""

from collections.abc import Callable

import pytest

from narrate.find.codes import read_code
from narrate.find.draft import Amount

Amounts = Callable[[str], tuple[Amount, ...]]


def the_one(amounts: tuple[Amount, ...]) -> Amount:
    """The only amount there is."""
    assert len(amounts) == 1, amounts
    return amounts[0]


@pytest.mark.parametrize(
    ("said", "code"),
    [
        ("p zero three oh one", "P0301"),
        ("p o four twenty", "P0420"),
        ("p zero one seventy one", "P0171"),
        ("p thirteen hundred", "P1300"),
        ("P 0 3 0 1", "P0301"),
        ("P0301,", "P0301"),
        ("P-0420", "P0420"),
        ("u0100", "U0100"),
        ("C1234", "C1234"),
        ("B10A5", "B10A5"),
        ("p0 420", "P0420"),
        ("P0 171", "P0171"),
        ("U0 1 2 1", "U0121"),
        ("P 0420", "P0420"),
        ("u zero one hundred", "U0100"),
        ("c zero zero thirty five", "C0035"),
    ],
)
def test_a_fault_code_written_or_spelled_out(amounts_in: Amounts, said: str, code: str) -> None:
    amount = the_one(amounts_in(said))
    assert (amount.kind, amount.text) == ("code", code)


def test_two_codes_are_two_amounts(amounts_in: Amounts) -> None:
    codes = amounts_in("p zero one seventy one and p zero one seventy four")
    assert [amount.text for amount in codes] == ["P0171", "P0174"]


def test_a_letter_and_too_few_digits_are_no_code(amounts_in: Amounts) -> None:
    assert all(amount.kind != "code" for amount in amounts_in("part b two three"))


@pytest.mark.parametrize("said", ["P4567", "p0g00", "p twenty", "c 12", "code p zero four", "x0301", "p 0 4 seals"])
def test_what_no_scanner_shows_is_no_code(amounts_in: Amounts, said: str) -> None:
    assert "code" not in {amount.kind for amount in amounts_in(said)}


@pytest.mark.parametrize(
    ("said", "last"), [("p0301 on cylinder one", 0), ("p 0 3 0 1 0", 4), ("p zero four twenty one more", 4)]
)
def test_a_code_takes_its_own_tokens_and_no_more(said: str, last: int) -> None:
    code = read_code(said.split(), 0)
    assert code is not None
    assert (code.first, code.last) == (0, last)


def test_a_code_is_read_where_it_begins() -> None:
    assert read_code(["code", "p0301"], 0) is None
