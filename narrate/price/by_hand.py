"""A price filled in by hand for work that the book has none for, and the rows that would keep it in the book."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Literal, cast

from narrate.errors import UsageError
from narrate.price.job_making import Ids
from narrate.price.seen import number_of
from narrate.price.sums import is_taxed, summed
from narrate.records.estimate import Choice, Estimate, Job, Line, LineKind, ToBePriced
from narrate.records.price_book import Operation, Part

PartIs = Literal["new", "used", "rebuilt", "reconditioned"]
Maker = Literal["original_maker", "other_maker"]


@dataclass(frozen=True, slots=True)
class Kept:
    """Rows that keep a price for the next time; None: there is nothing that a book could keep."""

    operation: Operation | None = None
    part: Part | None = None


@dataclass(frozen=True, slots=True)
class Told:
    """What a person fills in, numbers as they wrote them; at least one of hours, part_price and sublet."""

    hours: str = "0"
    rate: str = "0"
    """Price of an hour."""
    rate_name: str = "standard"
    part: str | None = None
    """What the part is called."""
    part_price: str | None = None
    part_quantity: str = "1"
    part_number: str | None = None
    part_is: PartIs = "new"
    part_maker: Maker | None = None
    sublet: str | None = None
    """Price of the work sent out."""


def price_by_hand(estimate: Estimate, *, id: str, told: Told, taken_keys: Sequence[str] = ()) -> tuple[Estimate, Kept]:
    """The estimate with a job in place of something to be priced, and the rows that the book could keep.

    taken_keys: keys that the book has already. Raises UsageError for numbers that are none, or where nothing is priced.
    """
    found = next((each for each in estimate.to_be_priced if each.id == id), None)
    if found is None:
        message = f"There is nothing to be priced with the id {id}; load the page again."
        raise UsageError(message)
    ids = Ids(dict(estimate.ids_used))
    lines = [
        line.model_copy(update={"id": ids.new("n"), "taxable": is_taxed(line.kind, estimate.rules)})
        for line in _lines(found, told)
    ]
    if not lines:
        message = f"“{found.title}” has no price yet; give hours, a part, or work sent out."
        raise UsageError(message)
    job = Job(
        id=ids.new("j"),
        title=found.title,
        finding_ids=found.finding_ids,
        component=found.component,
        action=found.action,
        locations=found.locations,
        choices=(Choice(id=ids.new("k"), label=_label(lines, found), lines=tuple(lines)),),
        added_later=bool(estimate.consents),
        why=f"Priced by hand. {found.why}",
    )
    changed = {
        "jobs": (*estimate.jobs, job),
        "to_be_priced": tuple(each for each in estimate.to_be_priced if each.id != id),
        "ids_used": ids.used,
    }
    return summed(estimate.model_copy(update=changed)), _kept(found, lines, told.rate_name, taken_keys)


def _lines(found: ToBePriced, told: Told) -> Iterator[Line]:
    """Labor, work sent out and the part, as far as they were told; amounts are summed later."""

    def line(kind: LineKind, text: str, quantity: Decimal, unit: str, price: Decimal, **more: Any) -> Line:
        zero = Decimal(0)
        return Line(
            kind=kind, text=text, quantity=quantity, unit=unit, unit_price=price, amount=zero, taxable=False, **more
        )

    hours = number_of(told.hours, "hours")
    if hours:
        yield line("labor", found.title, hours, "h", number_of(told.rate, "price of an hour"))
    if told.sublet is not None:
        price = number_of(told.sublet, "price of the work sent out")
        yield line("sublet", found.title, Decimal(1), "each", price)
    if told.part_price is not None:
        text = (told.part or "").strip() or found.title
        price, quantity = number_of(told.part_price, "price of the part"), number_of(told.part_quantity, "quantity")
        yield line(
            "part",
            text,
            quantity,
            "each",
            price,
            part_number=told.part_number,
            part_is=told.part_is,
            part_maker=told.part_maker,
            component=found.component,
        )


def _label(lines: Sequence[Line], found: ToBePriced) -> str:
    part = next((line for line in lines if line.kind == "part"), None)
    return (part.part_is or "new") if part else (found.action or "by hand").replace("_", " ")


def _kept(found: ToBePriced, lines: Sequence[Line], rate: str, taken: Sequence[str]) -> Kept:
    """Rows for the work as it was told: per job, since that is what the hand priced, at the places it was for."""
    if not found.component or not found.action:
        return Kept()
    labor = next((line for line in lines if line.kind == "labor"), None)
    sublet = next((line for line in lines if line.kind == "sublet"), None)
    part = next((line for line in lines if line.kind == "part"), None)
    operation = None
    if labor or sublet:
        operation = Operation(
            key=_key(f"{found.component}.{found.action}", taken),
            component=found.component,
            action=found.action,
            locations=found.locations,
            per="job",
            hours=labor.quantity if labor else Decimal(0),
            rate=rate,
            sublet=sublet.unit_price if sublet else None,
        )
    row = None
    if part:
        row = Part(
            key=_key(f"{found.component}.{part.part_is or 'new'}", taken),
            component=found.component,
            locations=found.locations,
            number=part.part_number,
            text=part.text,
            part_is=cast(PartIs, part.part_is or "new"),
            part_maker=cast(Maker | None, part.part_maker),
            per="job",
            price=part.unit_price,
            quantity=part.quantity,
        )
    return Kept(operation, row)


def _key(wanted: str, taken: Sequence[str]) -> str:
    base = re.sub(r"[^A-Za-z0-9_.-]", "_", wanted)[:52]
    number, key = 1, base
    while key in taken:
        number += 1
        key = f"{base}.{number}"
    return key
