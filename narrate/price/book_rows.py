"""Rows of a price book's table turned into records, and records into rows; each row checked by itself."""

import re
from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any, NamedTuple

from pydantic import BaseModel, ValidationError

from narrate.price.book_schema import LIST_SEPARATOR, ROW_KINDS, Column, RowKind, choices_of, columns_of
from narrate.records.base import Written
from narrate.records.price_book import (
    Book,
    Fee,
    Fluid,
    LaborRate,
    Markup,
    Minimum,
    Operation,
    Part,
    Scope,
    Supplies,
    TaxRule,
)

Value = str | int | bool | tuple[str, ...]

RECORDS: dict[RowKind, type[Written]] = {
    "operation": Operation,
    "part": Part,
    "fluid": Fluid,
    "rate": LaborRate,
    "markup": Markup,
    "supplies": Supplies,
    "fee": Fee,
    "tax": TaxRule,
    "minimum": Minimum,
}
"""What a row of a kind becomes; the settings row becomes fields of the book itself."""
SCOPE = tuple(Scope.model_fields)
SETTINGS = ("currency", "place", "basis", "rounding", "note")
LISTS: dict[RowKind, str] = {
    "rate": "rates",
    "markup": "markups",
    "fee": "fees",
    "tax": "taxes",
    "minimum": "minimums",
    "fluid": "fluids",
    "operation": "operations",
    "part": "parts",
}
"""Kinds of which a book has many, and the field of the book that holds them."""

_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)", re.ASCII)
_COMMA = re.compile(r"[-+]?\d[\d.' ]*,[\d.,]*", re.ASCII)
_YEAR = re.compile(r"\d{4}", re.ASCII)
_SHOWN = 60


class Row(NamedTuple):
    """One row as it stands in the file: where, of what kind, and its cells that are not empty, by column."""

    place: str
    kind: str
    cells: Mapping[str, str]


class Mistake(NamedTuple):
    """What is wrong in a row. `comma`: a number with a comma, told once for the whole file."""

    column: str
    why: str
    comma: bool = False


class Read(NamedTuple):
    """The record of a row (for the settings row its cells), or its mistakes."""

    record: Written | dict[str, Value] | None
    mistakes: list[Mistake]


_TABLE: dict[RowKind, dict[str, Column]] = {
    kind: {column.name: column for column in columns_of(kind)} for kind in ROW_KINDS
}
_NEEDED: dict[RowKind, tuple[str, ...]] = {
    kind: tuple(column.name for column in columns_of(kind) if kind in column.needed) for kind in ROW_KINDS
}


def read_row(row: Row) -> Read:
    """Check a row by itself."""
    if row.kind not in ROW_KINDS:
        return Read(None, [Mistake("row", f"'{_short(row.kind)}' is none of {', '.join(ROW_KINDS)}.")])
    kind: RowKind = row.kind
    table = _TABLE[kind]
    values: dict[str, Any] = {}
    mistakes: list[Mistake] = []
    for name, cell in row.cells.items():
        column = table.get(name)
        if column is None:
            mistakes.append(
                Mistake(name, f"rows of kind {kind} leave this column empty, but it holds '{_short(cell)}'.")
            )
            continue
        value = _value(kind, column, cell)
        if isinstance(value, Mistake):
            mistakes.append(value)
        else:
            values[name] = value
    mistakes += [
        Mistake(name, f"is empty, and rows of kind {kind} need it.") for name in _NEEDED[kind] if name not in row.cells
    ]
    if kind == "settings":
        return Read(None if mistakes else values, mistakes)
    if "make" in table:
        scope = {name: values.pop(name) for name in SCOPE if name in values}
        if scope:
            values["scope"] = scope
    if mistakes:
        return Read(None, mistakes)
    try:
        return Read(RECORDS[kind].model_validate(values), mistakes)
    except ValidationError as errors:
        return Read(None, [_told(error) for error in errors.errors()])


def rows_of(book: Book) -> Iterator[Row]:
    """The rows of a book, in the order of the kinds; `place` names the row by its key."""
    yield Row("settings", "settings", _cells("settings", book))
    if book.supplies:
        yield Row("supplies", "supplies", _cells("supplies", book.supplies))
    for kind, field in LISTS.items():
        for record in getattr(book, field):
            name = getattr(record, "key", None) or getattr(record, "name", "")
            yield Row(f"{kind} {name}".strip(), kind, _cells(kind, record))


def quantity_of(item: str) -> tuple[str, Decimal | None]:
    """Name and quantity of an item of a list: `brake_fluid*0.5`, or a name alone for 1; None: no quantity above 0.

    >>> quantity_of("brake_fluid*0.5")
    ('brake_fluid', Decimal('0.5'))
    """
    name, star, number = item.partition("*")
    if not star:
        return name.strip(), Decimal(1)
    if not _NUMBER.fullmatch(number.strip()):
        return name.strip(), None
    quantity = Decimal(number.strip())
    return name.strip(), quantity if quantity > 0 else None


def _value(kind: RowKind, column: Column, cell: str) -> Value | Mistake:
    """What a cell means, or why it means nothing; limits of numbers are the record's."""
    match column.shape:
        case "number":
            if _NUMBER.fullmatch(cell):
                return cell
            comma = _COMMA.fullmatch(cell) is not None
            return Mistake(column.name, f"'{_short(cell)}' is not a number; write it like 12.50.", comma)
        case "year":
            if _YEAR.fullmatch(cell):
                return int(cell)
            return Mistake(column.name, f"'{_short(cell)}' is not a year; write it like 2019.")
        case "yes_no":
            said = {"yes": True, "no": False, "true": True, "false": False}.get(cell.lower())
            return Mistake(column.name, f"'{_short(cell)}' is neither yes nor no.") if said is None else said
        case "list":
            return tuple(item for part in cell.split(LIST_SEPARATOR) if (item := part.strip()))
        case "choice":
            choices = choices_of(kind, column)
            if cell in choices:
                return cell
            return Mistake(column.name, f"'{_short(cell)}' is none of {', '.join(choices)}.")
        case _:
            return cell


def _cells(kind: RowKind, record: BaseModel) -> dict[str, str]:
    """The cells of a record; what is as it would be anyway stays empty, but for what the row needs."""
    cells: dict[str, str] = {}
    scope = getattr(record, "scope", None)
    for column in columns_of(kind):
        holder = scope if scope is not None and column.name in SCOPE else record
        value = getattr(holder, column.name)
        default = type(holder).model_fields[column.name].default
        if value is None or (value == default and kind not in column.needed and column.name != "hours"):
            continue
        if column.name == "hours" and getattr(record, "sublet", None) is not None and value == 0:
            continue
        text = _cell(value)
        if text:
            cells[column.name] = text
    return cells


def _cell(value: Any) -> str:  # noqa: ANN401 - a field of any record
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return f" {LIST_SEPARATOR} ".join(value)
    return format(value, "f") if isinstance(value, Decimal) else str(value)


def _told(error: Any) -> Mistake:  # noqa: ANN401 - pydantic's ErrorDetails
    """A mistake that the record found, in words."""
    column = next((str(part) for part in reversed(error["loc"]) if isinstance(part, str)), "row")
    limits = error.get("ctx", {})
    cell = f"'{_short(str(error['input']))}'"
    match error["type"]:
        case "greater_than_equal" if str(limits.get("ge")) == "0":
            why = f"{cell} is below 0."
        case "greater_than":
            why = f"{cell} is not above {limits['gt']}."
        case "greater_than_equal":
            why = f"{cell} is below {limits['ge']}."
        case "less_than_equal":
            why = f"{cell} is above {limits['le']}."
        case "decimal_max_places":
            why = f"{cell} has more than {limits['decimal_places']} digits behind the point."
        case "decimal_max_digits" | "decimal_whole_digits":
            why = f"{cell} is larger than any price can be."
        case "string_pattern_mismatch" if column == "key" or column == "requires":
            why = f"{cell} is no key; use letters, digits, _ . and - only, a letter or digit first."
        case "string_too_long":
            why = f"{cell} is longer than {limits['max_length']} characters."
        case _:
            why = f"{cell} does not fit here: {error['msg']}."
    return Mistake(column, why)


def _short(text: str) -> str:
    return text if len(text) <= _SHOWN else f"{text[:_SHOWN]}…"
