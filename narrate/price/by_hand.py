"""A price filled in by hand for work that the book has none for, and the rows that would keep it in the book."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, TypedDict, Unpack, cast

from narrate.errors import UsageError
from narrate.price.job_making import Ids
from narrate.price.places import axles_of
from narrate.price.seen import number_of
from narrate.price.sums import is_taxed, summed
from narrate.records.estimate import Choice, Estimate, Job, Line, LineKind, ToBePriced
from narrate.records.price_book import Book, Operation, Part

PartIs = Literal["new", "used", "rebuilt", "reconditioned"]
Maker = Literal["original_maker", "other_maker"]


@dataclass(frozen=True, slots=True)
class Kept:
    """Rows that keep a price for the next time; None: there is nothing that a book could keep."""

    operation: Operation | None = None
    part: Part | None = None


class Told(TypedDict, total=False):
    """What a person fills in, numbers as they wrote them; at least one of hours, part_price and sublet."""

    hours: str
    rate: str
    """Price of an hour."""
    rate_name: str
    """`standard` where it is not told."""
    part: str | None
    """What the part is called."""
    part_price: str | None
    part_quantity: str
    part_number: str | None
    part_is: PartIs
    part_maker: Maker | None
    sublet: str | None
    """Price of the work sent out."""


def price_by_hand(
    estimate: Estimate, *, id: str, taken_keys: Sequence[str] = (), **told: Unpack[Told]
) -> tuple[Estimate, Kept]:
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
    return summed(estimate.model_copy(update=changed)), _kept(
        found, lines, told.get("rate_name", "standard"), taken_keys
    )


def _lines(found: ToBePriced, told: Told) -> Iterator[Line]:
    """Labor, work sent out and the part, as far as they were told; amounts are summed later."""

    def line(kind: LineKind, text: str, quantity: Decimal, unit: str, price: Decimal) -> Line:
        zero = Decimal(0)
        return Line(kind=kind, text=text, quantity=quantity, unit=unit, unit_price=price, amount=zero, taxable=False)

    hours, sublet, part_price = told.get("hours", "0"), told.get("sublet"), told.get("part_price")
    if worked := number_of(hours, "hours"):
        yield line("labor", found.title, worked, "h", number_of(told.get("rate", "0"), "price of an hour"))
    if sublet is not None:
        price = number_of(sublet, "price of the work sent out")
        yield line("sublet", found.title, Decimal(1), "each", price)
    if part_price is not None:
        text = (told.get("part") or "").strip() or found.title
        price, quantity = (
            number_of(part_price, "price of the part"),
            number_of(told.get("part_quantity", 1), "quantity"),
        )
        more = {
            "part_number": told.get("part_number"),
            "part_is": told.get("part_is", "new"),
            "part_maker": told.get("part_maker"),
            "component": found.component,
        }
        yield line("part", text, quantity, "each", price).model_copy(update=more)


def _label(lines: Sequence[Line], found: ToBePriced) -> str:
    part = next((line for line in lines if line.kind == "part"), None)
    return (part.part_is or "new") if part else (found.action or "by hand").replace("_", " ")


def with_rows(book: Book, kept: Kept) -> Book:
    """The book with the rows kept; an operation that it has already for that part, work and place stays as it is."""
    update: dict[str, object] = {}
    new = kept.operation
    if new is not None and not any(_same_work(new, each) for each in book.operations):
        update["operations"] = (*book.operations, new)
    if kept.part is not None:
        update["parts"] = (*book.parts, kept.part)
    return book.model_copy(update=update)


def _same_work(one: Operation, other: Operation) -> bool:
    return (one.component, one.action, one.locations, one.scope) == (
        other.component,
        other.action,
        other.locations,
        other.scope,
    )


def _kept(found: ToBePriced, lines: Sequence[Line], rate: str, taken: Sequence[str]) -> Kept:
    """Rows for the work as it was told: for one place where it divides evenly, of that axle where one was told."""
    if not found.component or not found.action:
        return Kept()
    labor = next((line for line in lines if line.kind == "labor"), None)
    sublet = next((line for line in lines if line.kind == "sublet"), None)
    part = next((line for line in lines if line.kind == "part"), None)
    count = max(len(found.locations), 1)
    told = [labor.quantity] if labor else []
    told += [sublet.unit_price] if sublet else []
    told += [part.quantity] if part else []
    evenly = all(each / count == round(each / count, 2) for each in told)
    per: Literal["place", "job"] = "place" if evenly and found.locations else "job"
    share = Decimal(count if per == "place" else 1)
    places = found.locations if per == "job" else tuple(axle for axle in axles_of(found.locations) if axle)
    operation = row = None
    if labor or sublet:
        operation = Operation(
            key=_key(f"{found.component}.{found.action}", taken),
            component=found.component,
            action=found.action,
            locations=places,
            per=per,
            hours=labor.quantity / share if labor else Decimal(0),
            rate=rate,
            sublet=sublet.unit_price / share if sublet else None,
        )
    if part:
        row = Part(
            key=_key(f"{found.component}.{part.part_is or 'new'}", taken),
            component=found.component,
            locations=places,
            number=part.part_number,
            text=part.text,
            part_is=cast(PartIs, part.part_is or "new"),
            part_maker=cast(Maker | None, part.part_maker),
            per=per,
            price=part.unit_price,
            quantity=part.quantity / share,
        )
    return Kept(operation, row)


def _key(wanted: str, taken: Sequence[str]) -> str:
    base = re.sub(r"[^A-Za-z0-9_.-]", "_", wanted)[:52]
    number, key = 1, base
    while key in taken:
        number += 1
        key = f"{base}.{number}"
    return key
