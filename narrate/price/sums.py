"""What an estimate comes to. Everything is summed anew from its lines; nothing is carried along."""

from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from fractions import Fraction

from narrate.price.rounding import rounded
from narrate.price.tax import Taxed, category_of, tax_lines
from narrate.records.estimate import Choice, Estimate, Job, Line, LineKind, SumRules, Totals

MINIMUM = "minimum"
"""`row` of the line that brings a job's labor up to the least that is charged."""
_IN = {
    "part": "parts",
    "core": "parts",
    "labor": "labor",
    "fluid": "fluids",
    "sublet": "sublet",
    "supplies": "supplies",
    "fee": "fees",
}
"""Which total a kind of line counts to."""


def summed(estimate: Estimate) -> Estimate:
    """The estimate with every amount, subtotal and total worked out again from quantities and unit prices."""
    jobs = tuple(job.model_copy(update={"choices": _choices(job, estimate)}) for job in estimate.jobs)
    estimate = estimate.model_copy(update={"jobs": jobs})
    standing = [job for job in jobs if job.state != "declined"]
    needed = [job for job in standing if not job.optional or job.state == "authorized"]
    payers = dict.fromkeys(job.payer for job in standing)
    split = len(payers) > 1 or any(payer != "customer" for payer in payers)
    return estimate.model_copy(
        update={
            "totals": totals_of(estimate, standing),
            "offered": _amounts(totals_of(estimate, jobs)),
            "needed": _amounts(totals_of(estimate, needed)),
            "by_payer": {
                payer: _amounts(totals_of(estimate, [job for job in standing if job.payer == payer]))
                for payer in payers
            }
            if split
            else {},
        }
    )


def totals_of(estimate: Estimate, jobs: Iterable[Job]) -> Totals:
    """What some of an estimate's jobs come to by themselves, each in its chosen way, with supplies, fees and tax.

    The discount on the whole lowers every line of the jobs in proportion, and is never more than they come to.
    """
    currency, rules = estimate.currency, estimate.rules
    jobs = list(jobs)
    lines = [line for job in jobs for line in chosen_of(job).lines]
    if not jobs:
        return Totals(**dict.fromkeys(("parts", "labor", *_ZEROES), rounded(Decimal(0), currency)))
    whole = list(_document_lines(lines, estimate)) if lines else []
    sums = {name: _none(currency) for name in ("parts", "labor", *_ZEROES)}
    for line in (*lines, *whole):
        if line.kind == "discount":
            sums["discount"] -= line.amount
        else:
            sums[_IN[line.kind]] += line.amount
    net = sum((line.amount for line in lines), _none(currency))
    off = min(rounded(estimate.discount, currency), max(net, Decimal(0)))
    sums["discount"] += off
    taxable = _taxable(jobs, Fraction(off) / Fraction(net) if net > 0 else Fraction(0))
    whole_taxable = [Taxed(category_of(line), Fraction(line.amount)) for line in whole if line.taxable]
    taxes = () if estimate.tax_exempt else tax_lines((*taxable, *whole_taxable), rules, currency)
    sums["tax"] = sum((tax.amount for tax in taxes), _none(currency))
    sums["total"] = sum((sums[name] for name in _ADDED), _none(currency)) - sums["discount"]
    sums["deposit"] = rounded(estimate.deposit, currency)
    return Totals(**sums, taxes=taxes, lines=tuple(whole))


_ADDED = ("parts", "labor", "fluids", "sublet", "supplies", "fees", "tax")
_ZEROES = ("fluids", "sublet", "supplies", "fees", "discount", "tax", "total", "deposit")


def _amounts(totals: Totals) -> Totals:
    """Totals as they are read back: what they are made of is kept of the estimate's own alone."""
    return totals.model_copy(update={"taxes": (), "lines": ()})


def lines_total(jobs: Iterable[Job]) -> Decimal:
    """The line amounts of the jobs' chosen ways: no supplies, fees, discount on the whole, or tax."""
    return sum((line.amount for job in jobs for line in chosen_of(job).lines), Decimal(0))


def chosen_of(job: Job) -> Choice:
    """The way that was chosen; the first until someone chooses."""
    return next((choice for choice in job.choices if choice.id == job.chosen), job.choices[0])


def is_taxed(category: str, rules: SumRules) -> bool:
    """Whether any tax of the book is on this category, or kind of line."""
    return any(category in rule.on for rule in rules.taxes)


def amount_of(line: Line, currency: str, rules: SumRules) -> Decimal:
    """Quantity times unit price."""
    return rounded(line.quantity * line.unit_price, currency, rules.rounding)


def _choices(job: Job, estimate: Estimate) -> tuple[Choice, ...]:
    return tuple(_choice(choice, estimate.currency, estimate.rules) for choice in job.choices)


def _choice(choice: Choice, currency: str, rules: SumRules) -> Choice:
    lines = [
        line.model_copy(update={"amount": amount_of(line, currency, rules)})
        for line in choice.lines
        if line.row != MINIMUM
    ]
    lines += _up_to_minimum(lines, choice.id, currency, rules)
    subtotal = sum((line.amount for line in lines), _none(currency))
    return choice.model_copy(update={"lines": tuple(lines), "subtotal": subtotal})


def _up_to_minimum(lines: list[Line], choice: str, currency: str, rules: SumRules) -> Iterator[Line]:
    least = max((each.price for each in rules.minimums if each.of == "job"), default=Decimal(0))
    labor = [line for line in lines if line.kind == "labor"] if least else []
    missing = rounded(least, currency, rules.rounding) - sum((line.amount for line in labor), Decimal(0))
    if labor and missing > 0:
        yield Line(
            id=f"{choice}m",
            kind="labor",
            text="Up to the least charged for the labor of a job",
            quantity=Decimal(1),
            unit="each",
            unit_price=missing,
            amount=missing,
            taxable=labor[0].taxable,
            row=MINIMUM,
            note=f"The least charged for a job's labor is {least}.",
        )


def _document_lines(lines: list[Line], estimate: Estimate) -> Iterator[Line]:
    """Supplies, fees and the least charge of the document, for these lines."""
    currency, rules = estimate.currency, estimate.rules

    def line(kind: LineKind, text: str, quantity: Decimal, price: Decimal, taxable: bool, **more: object) -> Line:
        category = more.get("tax_category") or kind
        taxed = taxable and is_taxed(str(category), rules)
        made = Line(kind=kind, text=text, quantity=quantity, unit="each", unit_price=price, amount=price, taxable=taxed)
        return made.model_copy(update={"amount": amount_of(made, currency, rules), **more})

    def of(*kinds: str) -> Decimal:
        return sum((each.amount for each in lines if each.kind in kinds), Decimal(0))

    labor = of("labor")
    least = max((each.price for each in rules.minimums if each.of == "document"), default=Decimal(0))
    missing = rounded(least, currency, rules.rounding) - labor
    if labor > 0 and missing > 0:
        text = "Up to the least charged for labor"
        yield line("fee", text, Decimal(1), missing, True, tax_category="labor", row=MINIMUM)
    supplies = rules.supplies
    if supplies is not None:
        base = labor if supplies.of == "labor" else labor + of("part")
        amount = rounded(Fraction(base) * Fraction(supplies.percent) / 100, currency, rules.rounding)
        amount = max(amount, supplies.at_least or Decimal(0)) if base > 0 else amount
        amount = min(amount, supplies.at_most) if supplies.at_most is not None else amount
        note = f"{supplies.percent}% of {supplies.of.replace('_', ' ')}"
        if amount > 0:
            yield line("supplies", supplies.text, Decimal(1), amount, supplies.taxable, note=note)
    for fee in rules.fees:
        quantity = Decimal(1) if fee.per == "document" else _pieces(lines, fee.component)
        if quantity > 0:
            more = {"row": fee.key, "component": fee.component, "tax_category": fee.tax_category}
            yield line("fee", fee.text, quantity, fee.price, fee.taxable, **more)


def _pieces(lines: list[Line], component: str | None) -> Decimal:
    return sum((line.quantity for line in lines if line.kind == "part" and line.component == component), Decimal(0))


def _taxable(jobs: list[Job], off: Fraction) -> Iterator[Taxed]:
    """The taxable lines, each less its share of its job's discount lines and of the discount on the whole."""
    for job in jobs:
        lines = chosen_of(job).lines
        full = sum((line.amount for line in lines if line.kind != "discount"), Decimal(0))
        net = sum((line.amount for line in lines), Decimal(0))
        left = Fraction(net) / Fraction(full) if full > 0 else Fraction(1)
        for line in lines:
            if line.kind != "discount" and line.taxable:
                yield Taxed(category_of(line), Fraction(line.amount) * left * (1 - off))


def _none(currency: str) -> Decimal:
    return rounded(Decimal(0), currency)


def with_job(estimate: Estimate, id_: str, change: Callable[[Job], Job]) -> Estimate:
    """The estimate with one job changed; not summed again."""
    jobs = tuple(change(job) if job.id == id_ else job for job in estimate.jobs)
    return estimate.model_copy(update={"jobs": jobs})
