"""Tax by category: rounded for each line or once for the document, all taxes on a line together.

Section 324 of the Streamlined Sales and Use Tax Agreement lets a seller elect "an item or an invoice basis" and applies
to "aggregated state and local taxes" (read: Rhode Island 44-18.1-25). So taxes are summed before they are rounded, and
what each comes to is shared out of the sum. Which categories are taxed only the price book says.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from narrate.price.rounding import rounded, shared_out
from narrate.records.estimate import Line, SumRules, TaxLine
from narrate.records.price_book import TaxRule


@dataclass(frozen=True, slots=True)
class Taxed:
    """An amount that tax may be due on: a line less its share of the discounts."""

    category: str
    amount: Fraction


def category_of(line: Line) -> str:
    """The book's tax category of a line, else its kind."""
    return line.tax_category or line.kind


def tax_lines(amounts: Iterable[Taxed], rules: SumRules, currency: str) -> tuple[TaxLine, ...]:
    """What each tax of the rules comes to, in their order; those that nothing is taxed by are left out."""
    taxed = [(each.amount, [rule for rule in rules.taxes if each.category in rule.on]) for each in amounts]
    taxed = [(amount, due) for amount, due in taxed if due]
    bases = [sum((amount for amount, due in taxed if rule in due), Fraction(0)) for rule in rules.taxes]
    if rules.basis == "document":
        told = _together([_due(base, rule) for base, rule in zip(bases, rules.taxes, strict=True)], rules, currency)
    else:
        each_line = [
            _together([_due(amount, rule) if rule in due else Fraction(0) for rule in rules.taxes], rules, currency)
            for amount, due in taxed
        ]
        told = [sum(column, Decimal(0)) for column in zip(*each_line, strict=True)] or [Decimal(0)] * len(bases)
    return tuple(
        TaxLine(name=rule.name, rate=rule.percent, base=rounded(base, currency, rules.rounding), amount=amount)
        for rule, base, amount in zip(rules.taxes, bases, told, strict=True)
        if base
    )


def _together(exact: Sequence[Fraction], rules: SumRules, currency: str) -> list[Decimal]:
    return shared_out(rounded(sum(exact, Fraction(0)), currency, rules.rounding), exact, currency)


def _due(base: Fraction, rule: TaxRule) -> Fraction:
    return base * Fraction(rule.percent) / 100
