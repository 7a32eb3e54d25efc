"""Rounding and tax against published words, and against Python's decimal contexts as a computation of their own.

Source: Streamlined Sales and Use Tax Agreement, section 324, as enacted: Rhode Island 44-18.1-25, North Dakota
57-39.4-25, Kansas 79-3676, Massachusetts ch. 64I s. 5 (all read); North Dakota Admin. Code 81-04.1-01-29 (read).
No library that computes the same was found; the decimal module quantizes by its own rules.
"""

from decimal import ROUND_DOWN, ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from narrate.price.rounding import rounded, shared_out
from narrate.price.tax import Taxed, tax_lines
from narrate.records.estimate import SumRules
from narrate.records.price_book import TaxRule

MODES = {"half_up": ROUND_HALF_UP, "half_even": ROUND_HALF_EVEN, "down": ROUND_DOWN}
AMOUNTS = st.decimals(0, 100_000, places=2)
RATES = st.decimals(0, 30, places=4)


def by_the_statute(exact: Decimal) -> Decimal:
    """ "Carried to the third decimal place", up "whenever the third decimal place is greater than four"."""
    third = exact.quantize(Decimal("0.001"), rounding=ROUND_DOWN)
    cents = third.quantize(Decimal("0.01"), rounding=ROUND_DOWN)
    return cents + Decimal("0.01") if (third - cents) * 1000 > 4 else cents


@pytest.mark.parametrize(
    ("exact", "how", "told"),
    [
        ("0.825", "half_up", "0.83"),
        ("0.825", "half_even", "0.82"),
        ("0.8246", "half_up", "0.82"),
        ("0.724275", "half_up", "0.72"),
        ("2.172825", "half_up", "2.17"),
        ("0.125", "half_up", "0.13"),
        ("0.135", "half_up", "0.14"),
        ("0.175", "half_up", "0.18"),
        ("1.005", "half_up", "1.01"),
        ("2.675", "half_up", "2.68"),
    ],
)
def test_worked_values(exact: str, how: str, told: str) -> None:
    """Calculated from those rules; 1.005 and 2.675 are what binary floats get wrong."""
    assert Decimal(told) == rounded(Decimal(exact), "USD", how)


@given(AMOUNTS, RATES)
def test_as_the_statute_says(amount: Decimal, rate: Decimal) -> None:
    """Half up of the exact number is the third decimal's rule."""
    exact = amount * rate / 100
    assert by_the_statute(exact) == rounded(exact, "USD") == rounded(Fraction(exact), "USD")


@given(st.decimals(-10_000, 10_000, places=6), st.sampled_from(sorted(MODES)), st.sampled_from(("USD", "JPY", "BHD")))
def test_as_decimal_quantizes(exact: Decimal, how: str, currency: str) -> None:
    """Every mode, every number of digits."""
    digits = {"USD": 2, "JPY": 0, "BHD": 3}[currency]
    with localcontext() as context:
        context.prec = 50
        wanted = exact.quantize(Decimal(1).scaleb(-digits), rounding=MODES[how])
    assert wanted == rounded(exact, currency, how) == rounded(Fraction(exact), currency, how)


@given(st.lists(AMOUNTS, max_size=8), RATES, RATES, st.sampled_from(("line", "document")))
def test_tax_of_several_lines(amounts: list[Decimal], state: Decimal, local: Decimal, basis: str) -> None:
    """The sum of the taxes is the statute's rounding of the aggregated rate, by item or by invoice."""
    rules = SumRules(
        basis=basis,
        taxes=(
            TaxRule(name="state", percent=state, on=("part",)),
            TaxRule(name="local", percent=local, on=("part",)),
        ),
    )
    told = tax_lines([Taxed("part", Fraction(amount)) for amount in amounts], rules, "USD")
    exact = [amount * (state + local) / 100 for amount in amounts]
    if basis == "line":
        wanted = sum((by_the_statute(each) for each in exact), Decimal(0))
    else:
        wanted = by_the_statute(sum(exact, Decimal(0)))
    assert wanted == sum((each.amount for each in told), Decimal(0))
    for tax, rate in zip(told, (state, local), strict=False):
        assert abs(tax.amount - sum(amounts) * rate / 100) <= Decimal("0.01") * max(len(amounts), 1)


@given(st.lists(st.fractions(0, 1000), min_size=1, max_size=6))
def test_shares_sum_to_the_whole(parts: list[Fraction]) -> None:
    """No cent is lost or made, and no share is off by a cent or more."""
    total = rounded(sum(parts), "USD")
    shares = shared_out(total, parts, "USD")
    assert total == sum(shares)
    assert all(abs(Fraction(share) - part) < Fraction(1, 100) for share, part in zip(shares, parts, strict=True))
