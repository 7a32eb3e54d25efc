"""Lines as a person says they are: pure functions, each with what the person saw before.

Where the estimate no longer is what was seen, ConflictError; where a request cannot be, UsageError. The price of an
authorized job changed, the customer is asked again: it goes back to `offered`.
"""

from collections.abc import Sequence
from decimal import Decimal
from typing import Literal

from narrate.errors import UsageError
from narrate.price.job_making import Ids
from narrate.price.seen import asked_again, choice_named, differs, job_named, line_of, no_choice, number_of
from narrate.price.sums import MINIMUM, chosen_of, is_taxed, summed, with_job
from narrate.records.estimate import Choice, Estimate, Job, Line, LineKind

LineField = Literal["quantity", "unit_price", "text", "taxable", "note", "part_number"]
_MONEY = ("quantity", "unit_price", "taxable")
_NEEDS_REASON = "A discount needs a reason; write why it is given."
_CALLED = {"unit_price": "price", "part_number": "part number", "taxable": "tax"}


def change_line(
    estimate: Estimate, *, line: str, field: LineField, to: str | bool | None, seen: str | bool | None
) -> Estimate:
    """One field of a line: hours and quantities are `quantity`, the wording is `text`."""
    job, choice, found = line_of(estimate, line)
    if found.row == MINIMUM:
        message = "This line follows from the shop's least charge; change the labor above it instead."
        raise UsageError(message)
    value: object = to
    if field in ("quantity", "unit_price"):
        value = number_of(to, _CALLED.get(field, field))
        if found.kind == "discount" and field == "unit_price":
            # It is told as what is taken off, and kept as what is added.
            value, seen = -number_of(to, "discount"), str(-abs(number_of(str(seen).lstrip("-"), "discount")))
    elif field == "taxable":
        value = bool(to)
    elif field == "text" and not str(to or "").strip():
        message = "A line needs words; write what it is for."
        raise UsageError(message)
    elif field == "note" and found.kind == "discount" and not str(to or "").strip():
        raise UsageError(_NEEDS_REASON)
    what = f"{_CALLED.get(field, field)} of “{found.text}”"
    if not differs(getattr(found, field), seen, value, what):
        return estimate
    changed = found.model_copy(update={field: value})
    if field == "quantity":
        # Hours that a person settled are no longer those that something was taken off.
        changed = changed.model_copy(update={"alone": None, "together_with": (), "note": _kept_note(found)})
    lines = [changed if each.id == line else each for each in choice.lines]
    return _with_lines(estimate, job, choice, lines, asks=field in _MONEY)


def add_line(
    estimate: Estimate,
    *,
    job: str,
    choice: str | None = None,
    kind: LineKind,
    text: str,
    quantity: str = "1",
    unit: str = "each",
    unit_price: str,
    note: str | None = None,
    part_number: str | None = None,
    part_is: str | None = None,
    part_maker: str | None = None,
) -> Estimate:
    """A line more in one way of a job, or in all.

    A discount is told as a positive price, and its reason as note.
    """
    found = job_named(estimate, job)
    if not text.strip():
        message = "A line needs words; write what it is for."
        raise UsageError(message)
    price, count = number_of(unit_price, "price"), number_of(quantity, "quantity")
    if kind == "discount" and not (note or "").strip():
        raise UsageError(_NEEDS_REASON)
    ids = Ids(dict(estimate.ids_used))
    chosen = [each for each in found.choices if choice in (None, each.id)]
    if not chosen:
        raise UsageError(no_choice(choice, found))
    for each in chosen:
        line = Line(
            id=ids.new("n"),
            kind=kind,
            text=text.strip(),
            quantity=count,
            unit=unit,
            unit_price=-price if kind == "discount" else price,
            amount=Decimal(0),
            taxable=kind != "discount" and is_taxed(kind, estimate.rules),
            note=note,
            part_number=part_number,
            part_is=part_is,
            part_maker=part_maker,
        )
        present = job_named(estimate, job)
        estimate = _with_lines(estimate, present, each, [*each.lines, line], asks=True)
    return estimate.model_copy(update={"ids_used": ids.used})


def remove_line(estimate: Estimate, *, line: str, seen: str) -> Estimate:
    """A line taken out; `seen` is its amount. The last line of a way cannot go: remove the job, or the way."""
    job, choice, found = line_of(estimate, line)
    differs(found.amount, seen, None, f"amount of “{found.text}”")
    lines = [each for each in choice.lines if each.id != line]
    if not any(each.row != MINIMUM for each in lines):
        message = f"“{found.text}” is the only line; remove the job instead."
        raise UsageError(message)
    return _with_lines(estimate, job, choice, lines, asks=True)


def _with_lines(estimate: Estimate, job: Job, choice: Choice, lines: Sequence[Line], *, asks: bool) -> Estimate:
    changed = choice.model_copy(update={"lines": tuple(lines)})
    choices = tuple(changed if each.id == choice.id else each for each in job.choices)
    update: dict[str, object] = {"choices": choices}
    if asks and chosen_of(job).id == choice.id:
        update |= asked_again(job)
    made = summed(with_job(estimate, job.id, lambda each: each.model_copy(update=update)))
    if choice_named(job_named(made, job.id), choice.id).subtotal < 0:
        message = f"The discount is more than “{job.title}” comes to; give less."
        raise UsageError(message)
    return made


def _kept_note(line: Line) -> str | None:
    return None if line.alone is not None else line.note
