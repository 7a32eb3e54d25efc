"""The jobs and sums of an estimate, every text ready to be printed."""

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from decimal import Decimal

from narrate.export.phrases import say_list, say_locations, say_option
from narrate.export.sums_said import figure, say_day, say_digest, say_sum
from narrate.records.estimate import Choice, Consent, Estimate, Job, Line, LineKind, TaxLine, Totals

KINDS: dict[LineKind, str] = {
    "labor": "Labor",
    "part": "Part",
    "fluid": "Fluid",
    "sublet": "Work sent out",
    "core": "Core charge, until the old part comes back",
    "supplies": "Shop supplies",
    "fee": "Fee",
    "discount": "Discount",
}
STATES = {"offered": "offered", "authorized": "authorized", "declined": "declined", "decide_by": "to be decided"}
OPEN_STATES = frozenset(("offered", "decide_by"))
"""States that wait for an answer."""
HOW = {"telephone": "by telephone", "in_person": "in person", "paper": "on paper", "link": "by link"}
UNITS = {"l": "L"}
PAYERS = {"customer": "the customer", "warranty": "warranty", "fleet": "the fleet"}


@dataclass(frozen=True)
class LineShown:
    """One line of a choice."""

    kind: str
    text: str
    details: str
    quantity: str
    unit_price: str
    amount: str


@dataclass(frozen=True)
class ChoiceShown:
    """One way to do a job; `counted` where the sums count it."""

    id: str
    label: str
    subtotal: str
    spoken: str
    counted: bool
    lines: tuple[LineShown, ...]


@dataclass(frozen=True)
class JobShown:
    """One job with its number on the paper."""

    number: int
    title: str
    where: str
    state: str
    open: bool
    """Whether the customer has still to answer."""
    notes: tuple[str, ...]
    finding_ids: tuple[str, ...]
    choices: tuple[ChoiceShown, ...]


@dataclass(frozen=True)
class SumShown:
    """One row of the sums; `whole` for the total."""

    name: str
    amount: str
    whole: bool = False


@dataclass(frozen=True)
class ConsentShown:
    """An answer that was given, as it was taken down."""

    head: str
    words: str
    answers: tuple[str, ...]
    total: str
    document: str


def numbered(estimate: Estimate) -> list[tuple[int, Job]]:
    """The jobs with their numbers on the paper: optional ones come last."""
    jobs = [*(job for job in estimate.jobs if not job.optional), *(job for job in estimate.jobs if job.optional)]
    return list(enumerate(jobs, start=1))


def chosen(job: Job) -> Choice | None:
    """The way that the sums count: the chosen one, else the first."""
    return next((choice for choice in job.choices if choice.id == job.chosen), next(iter(job.choices), None))


def shown_jobs(estimate: Estimate) -> list[tuple[Job, JobShown]]:
    """Each job with how it is printed, in the order of the paper."""
    jobs = numbered(estimate)
    names = {job.id: f"job {number} ({job.title})" for number, job in jobs}
    return [(job, _job(number, job, names, estimate.currency)) for number, job in jobs]


def _job(number: int, job: Job, names: dict[str, str], currency: str) -> JobShown:
    best = chosen(job)
    places = say_locations(job.locations)
    return JobShown(
        number=number,
        title=job.title,
        where="" if places and places.casefold() in job.title.casefold() else places,
        state=f"decide by {say_day(job.decide_by_date)}"
        if job.state == "decide_by" and job.decide_by_date
        else STATES[job.state],
        open=job.state in OPEN_STATES,
        notes=tuple(_job_notes(job, names)),
        finding_ids=job.finding_ids,
        choices=tuple(_choice(choice, currency, counted=choice is best) for choice in job.choices),
    )


def _job_notes(job: Job, names: dict[str, str]) -> Iterator[str]:
    if job.requires:
        needed = say_list(tuple(names.get(other, other) for other in job.requires))
        yield f"Cannot be done without {needed}."
    if job.added_later:
        yield "Found after the first answer: it needs an answer of its own."
    if job.payer != "customer":
        order = f", order {job.payer_order}" if job.payer_order else ""
        yield f"Paid by {PAYERS[job.payer]}{order}."
    for doubt in job.doubts:
        yield f"This is a guess: {doubt}"


def _choice(choice: Choice, currency: str, *, counted: bool) -> ChoiceShown:
    return ChoiceShown(
        id=choice.id,
        label=choice.label,
        subtotal=say_sum(choice.subtotal or sum((line.amount for line in choice.lines), Decimal(0)), currency),
        spoken=say_sum(choice.spoken, currency) if choice.spoken is not None else "",
        counted=counted,
        lines=tuple(_line(line, currency) for line in choice.lines),
    )


def _line(line: Line, currency: str) -> LineShown:
    return LineShown(
        kind=KINDS[line.kind],
        text=line.text,
        details="; ".join(_details(line)),
        quantity=f"{figure(line.quantity)} {UNITS.get(line.unit, line.unit)}".strip(),
        unit_price=say_sum(line.unit_price, currency),
        amount=say_sum(line.amount, currency),
    )


def _details(line: Line) -> Iterator[str]:
    if line.kind == "part":
        # A part that nobody called new, used or rebuilt is not taken for new.
        yield say_option(line.part_is) if line.part_is else "new, used or rebuilt: not stated"
        yield say_option(line.part_maker) if line.part_maker else "whose make: not stated"
    if line.part_number:
        yield f"number {line.part_number}"
    if line.note:
        yield line.note


def shown_sums(estimate: Estimate, required: Collection[str] = ()) -> list[SumShown]:
    """The sums by kind, discount, taxes, total, and what is left to pay after a deposit.

    required: of `sublet` and `supplies`, what is told even where it comes to nothing.
    """
    totals, currency = estimate.totals, estimate.currency
    rows = [SumShown(name, say_sum(amount, currency)) for name, amount in _kinds(totals) if amount]
    rows += [
        SumShown(name, say_sum(Decimal(0), currency))
        for key, name, amount in (
            ("sublet", "Work sent out", totals.sublet),
            ("supplies", "Shop supplies and waste", totals.supplies),
        )
        if key in required and not amount
    ]
    rows += [SumShown(_of_all(line), say_sum(line.amount, currency)) for line in totals.lines]
    if totals.discount:
        why = f" ({estimate.discount_why})" if estimate.discount_why else ""
        rows.append(SumShown(f"Discount{why}", say_sum(-totals.discount, currency)))
    rows += [SumShown(_tax(tax, currency), say_sum(tax.amount, currency)) for tax in totals.taxes]
    if totals.tax and not totals.taxes:
        rows.append(SumShown("Tax", say_sum(totals.tax, currency)))
    if not totals.tax:
        exempt = f"No tax is due: {estimate.tax_exempt}" if estimate.tax_exempt else "Tax"
        rows.append(SumShown(exempt, say_sum(Decimal(0), currency)))
    rows.append(SumShown("Total", say_sum(totals.total, currency), whole=True))
    if totals.deposit:
        rows.append(SumShown("Deposit, paid already", say_sum(-totals.deposit, currency)))
        rows.append(SumShown("Left to pay", say_sum(totals.total - totals.deposit, currency), whole=True))
    if any(job.optional and job.state in OPEN_STATES for job in estimate.jobs):
        rows.append(SumShown("Without the optional work it would be", say_sum(estimate.needed.total, currency)))
    rows += [
        SumShown(f"Of the total, paid by {PAYERS.get(payer, payer)}", say_sum(theirs.total, currency))
        for payer, theirs in estimate.by_payer.items()
    ]
    if estimate.offered.total != totals.total and any(job.state == "declined" for job in estimate.jobs):
        rows.append(SumShown("With the declined work it would be", say_sum(estimate.offered.total, currency)))
    return rows


def _kinds(totals: Totals) -> Iterator[tuple[str, Decimal]]:
    yield "Parts", totals.parts
    yield "Labor", totals.labor
    yield "Fluids", totals.fluids
    yield "Work sent out", totals.sublet
    # Where the lines that belong to no one job are told, each stands by its own name.
    told = {line.kind for line in totals.lines}
    yield "Shop supplies", totals.supplies - _sum_of(totals, "supplies") if "supplies" in told else totals.supplies
    yield "Fees", totals.fees - _sum_of(totals, "fee") if "fee" in told else totals.fees


def _sum_of(totals: Totals, kind: LineKind) -> Decimal:
    return sum((line.amount for line in totals.lines if line.kind == kind), Decimal(0))


def _of_all(line: Line) -> str:
    many = f", {figure(line.quantity)} × {figure(line.unit_price, 2)}" if line.quantity != 1 else ""
    return f"{line.text}{many}{f' ({line.note})' if line.note else ''}"


def _tax(tax: TaxLine, currency: str) -> str:
    return f"{tax.name}, {figure(tax.rate)}% of {say_sum(tax.base, currency)}"


def shown_consents(estimate: Estimate) -> list[ConsentShown]:
    """The answers given so far, oldest first; none is ever rewritten."""
    jobs = {job.id: f"job {number}" for number, job in numbered(estimate)}
    return [_consent(consent, jobs, estimate.currency) for consent in estimate.consents]


def _consent(consent: Consent, jobs: dict[str, str], currency: str) -> ConsentShown:
    called = f", number {consent.number}" if consent.number else ""
    read_back = "; read back to them" if consent.read_back else ""
    head = f"{say_day(consent.at)}: {consent.who}, {HOW[consent.how]}{called}, taken down by {consent.by}{read_back}."
    answers = tuple(_answer(jobs.get(job, job), told) for job, told in consent.answers.items())
    return ConsentShown(
        head=head,
        words=consent.words or "",
        answers=answers,
        total=say_sum(consent.total, currency),
        document=say_digest(consent.document),
    )


def _answer(job: str, told: dict[str, object]) -> str:
    state = str(told.get("state", "offered"))
    by = told.get("decide_by_date")
    return f"{job}: {f'decide by {say_day(str(by))}' if by else STATES.get(state, state)}"
