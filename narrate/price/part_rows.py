"""Which rows of the book are the parts for a place, by what kind of part they are."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from narrate.price.book_index import BookIndex, is_for, narrowest
from narrate.price.places import lies_in, may_lie_in
from narrate.price.quantities import Counted
from narrate.price.rounding import rounded
from narrate.records.price_book import Part
from narrate.records.walkaround import Vehicle

Option = tuple[str, str | None]
"""What a part is, and whose."""
_MAKERS = {"original_maker": "original maker's", "other_maker": "another maker's"}


@dataclass(frozen=True, slots=True)
class Fitted:
    """Rows with quantities that together are the parts for all places of a job, all of one kind."""

    option: Option
    rows: tuple[tuple[Part, Decimal], ...]


def fitted_parts(component: str, places: Sequence[str], index: BookIndex, vehicle: Vehicle) -> list[Fitted]:
    """Every way to have parts of a component at these places, in the order of the book; those without price left out.

    Rows for the vehicle alone go before rows for all, and rows for the place before rows for any, kind by kind.
    """
    by_option: dict[Option, list[Part]] = defaultdict(list)
    for part in index.parts_of(component, vehicle):
        if is_for(part.scope, vehicle) and price_of(part, index) is not None:
            by_option[part.part_is, part.part_maker].append(part)
    made: list[Fitted] = []
    for option, rows in by_option.items():
        rows = narrowest(rows, vehicle)
        whole = [row for row in rows if all(lies_in(place, row.locations) for place in places)]
        placed = [row for row in whole if row.locations]
        if whole:
            made += [Fitted(option, ((row, _quantity(row, places)),)) for row in placed or whole]
        elif (found := _place_by_place(rows, places)) is not None:
            made.append(Fitted(option, found))
    return made


def _place_by_place(rows: Sequence[Part], places: Sequence[str]) -> tuple[tuple[Part, Decimal], ...] | None:
    """A row for each place, or None where one place has none, or several that it may be."""
    chosen: dict[str, tuple[Part, list[str]]] = {}
    for place in places:
        there = [row for row in rows if lies_in(place, row.locations)]
        maybe = there or [row for row in rows if may_lie_in(place, row.locations)]
        if not there and len(maybe) != 1:
            return None
        row = max(maybe, key=lambda each: bool(each.locations))
        chosen.setdefault(row.key, (row, []))[1].append(place)
    return tuple((row, _quantity(row, told)) for row, told in chosen.values())


def _quantity(row: Part, places: Sequence[str]) -> Decimal:
    return row.quantity * Counted(tuple(places)).of(row.per)


def price_of(part: Part, index: BookIndex) -> Decimal | None:
    """The price told, else the cost with the markup of its range; None where neither is there."""
    if part.price is not None:
        return part.price
    if part.cost is None:
        return None
    percent = next((percent for cost_from, percent in index.markups if cost_from <= part.cost), None)
    if percent is None:
        return None
    return rounded(part.cost * (100 + percent) / 100, index.book.currency, index.book.rounding)


def label_of(part: Fitted) -> str:
    """`new, original maker's`."""
    is_, maker = part.option
    return f"{is_}, {_MAKERS[maker]}" if maker else is_


def matches_of(part: Fitted, option: str) -> bool:
    """Whether a part is what an option says: what it is, or whose."""
    return option in part.option
