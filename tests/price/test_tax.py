"""Tax by line and by document, several taxes on one line, discounts and exemptions."""

from decimal import Decimal
from fractions import Fraction

import pytest
from priced_things import BOOK, estimate, finding

from narrate.price.sums import summed
from narrate.price.tax import Taxed, tax_lines
from narrate.records.estimate import SumRules
from narrate.records.price_book import TaxRule
from narrate.words.lexicon import Lexicon


def taxed(*amounts: str, percent: str, basis: str = "document", rounding: str = "half_up") -> Decimal:
    """The tax on some lines."""
    rules = SumRules(basis=basis, rounding=rounding, taxes=(TaxRule(name="t", percent=Decimal(percent), on=("part",)),))
    told = tax_lines([Taxed("part", Fraction(amount)) for amount in amounts], rules, "USD")
    return sum((each.amount for each in told), Decimal(0))


@pytest.mark.parametrize(
    ("amounts", "basis", "tax"),
    [(("9.99", "9.99", "9.99"), "line", "2.16"), (("9.99", "9.99", "9.99"), "document", "2.17")],
)
def test_by_line_and_by_document(amounts: tuple[str, ...], basis: str, tax: str) -> None:
    """Three times 9.99 at 7.25 %: SSUTA section 324 (Rhode Island 44-18.1-25, read) allows either, worked by hand."""
    assert Decimal(tax) == taxed(*amounts, percent="7.25", basis=basis)


def test_the_tie_goes_up() -> None:
    """10.00 x 8.25 % = 0.825: "greater than four" rounds up (SSUTA section 324, read); the others do not."""
    assert Decimal("0.83") == taxed("10.00", percent="8.25")
    assert Decimal("0.82") == taxed("10.00", percent="8.25", rounding="half_even")
    assert Decimal("0.82") == taxed("10.00", percent="8.25", rounding="down")


def test_nothing_is_rounded_twice() -> None:
    """Exact 0.8246: the third decimal is four, so 0.82; rounded to 0.825 first it would be 0.83."""
    assert Decimal("0.82") == taxed("8.246", percent="10")


def test_state_and_local_are_rounded_together() -> None:
    """ "Aggregated state and local taxes" (SSUTA section 324, read): 0.60 + 0.125 is 0.725, so 0.73 in all."""
    taxes = (
        TaxRule(name="state", percent=Decimal("6"), on=("part",)),
        TaxRule(name="local", percent=Decimal("1.25"), on=("part", "labor")),
    )
    for basis in ("line", "document"):
        told = tax_lines([Taxed("part", Fraction(10))], SumRules(basis=basis, taxes=taxes), "USD")
        assert [("state", Decimal("0.60")), ("local", Decimal("0.13"))] == [(each.name, each.amount) for each in told]
        assert [Decimal("10.00")] * 2 == [each.base for each in told]


def test_only_what_the_book_taxes(lexicon: Lexicon) -> None:
    """Labor and core charges are not in the rule; supplies are."""
    made = estimate(lexicon, finding(1, "shock_absorber", "rear left", options=("rebuilt",)))
    assert [False, True, False] == [line.taxable for line in made.jobs[0].choices[0].lines]
    # (70.00 + 5 % of 121.50 = 6.08) x 7.25 % = 5.5158
    assert (Decimal("76.08"), Decimal("5.52")) == (made.totals.taxes[0].base, made.totals.tax)


def test_a_discount_lowers_what_is_taxed_in_proportion(lexicon: Lexicon) -> None:
    """A tenth off the whole is a tenth off each line; supplies stay."""
    made = estimate(lexicon, finding(1, "wheel_bearing", "front left"))
    off = summed(made.model_copy(update={"discount": Decimal("31.24")}))
    # 96.40 x 0.9 + 10.80 = 97.56; x 7.25 % = 7.0731
    assert Decimal("97.56") == off.totals.taxes[0].base
    assert Decimal("7.07") == off.totals.tax
    assert Decimal("31.24") == off.totals.discount


def test_the_exempt_pay_none(lexicon: Lexicon) -> None:
    """With the number of a certificate no tax is due."""
    made = estimate(lexicon, finding(1, "wheel_bearing", "front left"))
    exempt = summed(made.model_copy(update={"tax_exempt": "ST-5 4711"}))
    assert (Decimal("0.00"), ()) == (exempt.totals.tax, exempt.totals.taxes)
    assert exempt.totals.total == made.totals.total - made.totals.tax


def test_a_category_of_the_books_own(lexicon: Lexicon) -> None:
    """A part with a tax category is taxed by its rules, not by those of parts."""
    parts = tuple(
        part.model_copy(update={"tax_category": "tires"}) if part.key == "tire.p" else part for part in BOOK.parts
    )
    taxes = (TaxRule(name="tire tax", percent=Decimal(10), on=("tires",)), *BOOK.taxes)
    book = BOOK.model_copy(update={"parts": parts, "taxes": taxes, "supplies": None})
    made = estimate(lexicon, finding(1, "tire", "rear left"), book=book)
    assert [("tire tax", Decimal("11.00"))] == [(each.name, each.amount) for each in made.totals.taxes]
