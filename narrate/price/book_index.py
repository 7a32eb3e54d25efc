"""A price book ready to be looked up: made once for a book, however many findings are priced."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TypeVar

from narrate.records.price_book import Book, Fluid, LaborRate, Operation, Part, Scope
from narrate.records.walkaround import Vehicle

Row = TypeVar("Row", Operation, Part)
_KEPT = 4
_indexes: dict[int, "BookIndex"] = {}


@dataclass(frozen=True, slots=True, eq=False)
class BookIndex:
    """The rows of a book by what they are looked up by, in the book's order."""

    book: Book
    operations: Mapping[str, Mapping[str, Mapping[str, Sequence[Operation]]]]
    """Component -> action -> make, "" for any -> operations."""
    by_key: Mapping[str, Operation]
    parts: Mapping[str, Mapping[str, Sequence[Part]]]
    """Component -> make, "" for any -> parts."""
    fluids: Mapping[str, Fluid]
    rates: Mapping[str, LaborRate]
    markups: Sequence[tuple[Decimal, Decimal]]
    """(from cost, percent), dearest first."""

    def operations_of(self, component: str, action: str, vehicle: Vehicle) -> list[Operation]:
        """Operations for the vehicle's make, and for any."""
        return _for_make(self.operations.get(component, {}).get(action, {}), vehicle)

    def parts_of(self, component: str, vehicle: Vehicle) -> list[Part]:
        """Parts for the vehicle's make, and for any."""
        return _for_make(self.parts.get(component, {}), vehicle)


def index_book(book: Book) -> BookIndex:
    """The index of a book, made when it is first asked for."""
    # A book is kept beside its index, so that its identity is not given to another one.
    found = _indexes.get(id(book))
    if found is None or found.book is not book:
        while len(_indexes) >= _KEPT:
            _indexes.pop(next(iter(_indexes)), None)
        found = _indexes[id(book)] = _indexed(book)
    return found


def _indexed(book: Book) -> BookIndex:
    operations: dict[str, dict[str, dict[str, list[Operation]]]] = {}
    for operation in book.operations:
        actions = operations.setdefault(operation.component, {})
        actions.setdefault(operation.action, {}).setdefault(_make(operation.scope.make), []).append(operation)
    parts: dict[str, dict[str, list[Part]]] = {}
    for part in book.parts:
        parts.setdefault(part.component, {}).setdefault(_make(part.scope.make), []).append(part)
    return BookIndex(
        book=book,
        operations=operations,
        by_key={operation.key: operation for operation in book.operations},
        parts=parts,
        fluids={fluid.key: fluid for fluid in book.fluids},
        rates={rate.name: rate for rate in book.rates},
        markups=sorted(((each.cost_from, each.percent) for each in book.markups), reverse=True),
    )


def _make(name: str | None) -> str:
    return name.casefold() if name else ""


def _for_make(rows: Mapping[str, Sequence[Row]], vehicle: Vehicle) -> list[Row]:
    found: list[Row] = list(rows.get("", ()))
    if vehicle.make:
        found.extend(rows.get(_make(vehicle.make), ()))
    return found


def is_for(scope: Scope, vehicle: Vehicle) -> bool:
    """Whether a row is for a vehicle; what is not known of the vehicle fits no row that asks for it."""
    if scope.make is not None and not _same(scope.make, vehicle.make):
        return False
    if scope.model is not None and not _same(scope.model, vehicle.model):
        return False
    if scope.year_from is None and scope.year_to is None:
        return True
    year = vehicle.year
    return year is not None and (scope.year_from or year) <= year <= (scope.year_to or year)


def narrowness(scope: Scope) -> tuple[int, int]:
    """How closely a row names its vehicles, greater for narrower: keys that are told, then fewer years."""
    told = [scope.make is not None, scope.model is not None, (scope.year_from or scope.year_to) is not None]
    span = (scope.year_to or 9999) - (scope.year_from or 0)
    return sum(told), -span


def narrowest(rows: Sequence[Row], vehicle: Vehicle) -> list[Row]:
    """The rows for a vehicle that name it most closely."""
    fitting = [row for row in rows if is_for(row.scope, vehicle)]
    best = max((narrowness(row.scope) for row in fitting), default=None)
    return [row for row in fitting if narrowness(row.scope) == best]


def _same(one: str, other: str | None) -> bool:
    return other is not None and one.casefold() == other.casefold()
