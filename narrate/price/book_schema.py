"""The price book as a table: kinds of rows, their columns, and the same as a Table Schema (Frictionless, version 1)."""

from dataclasses import dataclass
from typing import Any, Literal, get_args

RowKind = Literal["settings", "supplies", "rate", "markup", "fee", "tax", "minimum", "fluid", "operation", "part"]
ROW_KINDS: tuple[RowKind, ...] = get_args(RowKind)
Shape = Literal["text", "number", "year", "yes_no", "list", "choice"]

ROW = "row"
LIST_SEPARATOR = "|"
TABLE_SCHEMA = "https://specs.frictionlessdata.io/schemas/table-schema.json"
PACKAGE_PROFILE = "tabular-data-package"


@dataclass(frozen=True, slots=True)
class Column:
    """One column: what its cells hold, and for which kinds of rows (`needed`: not empty there)."""

    name: str
    shape: Shape
    about: str
    kinds: tuple[RowKind, ...]
    needed: tuple[RowKind, ...] = ()
    choices: tuple[str, ...] = ()


_WORK: tuple[RowKind, ...] = ("operation", "part")
_TAXED: tuple[RowKind, ...] = ("operation", "part", "fluid", "fee")

COLUMNS: tuple[Column, ...] = (
    Column(
        "key",
        "text",
        "Short name of the row, of its own among rows of its kind: letters, digits, _ . -",
        ("operation", "part", "fluid", "fee"),
        ("operation", "part", "fluid", "fee"),
    ),
    Column("name", "text", "Name of the labor rate or of the tax", ("rate", "tax"), ("rate", "tax")),
    Column("component", "text", "Id of a component of the lexicon (brake_pad)", (*_WORK, "fee"), _WORK),
    Column("action", "text", "Id of an action of the lexicon (replace)", ("operation",), ("operation",)),
    Column("locations", "list", "Places it is for (front left); empty: any. A place holds all within it", _WORK),
    Column(
        "per",
        "choice",
        "What hours or one piece are for: each place, an axle, the whole job; of fees: document or component",
        (*_WORK, "fee"),
        choices=("place", "axle", "job", "document", "component"),
    ),
    Column("hours", "number", "Hours of labor; empty only where sublet tells a price", ("operation",)),
    Column("rate", "text", "Name of the labor rate; empty: standard", ("operation",)),
    Column("title", "text", "What the customer reads; empty: made from action, place and component", ("operation",)),
    Column("text", "text", "What the line says", ("part", "fluid", "supplies", "fee"), ("part", "fluid", "fee")),
    Column("overlaps", "text", "Group of operations that share labor when done together", ("operation",)),
    Column("overlap_hours", "number", "Hours taken off once beside another of the group", ("operation",)),
    Column("requires", "list", "Keys of operations without which it is half a repair", ("operation",)),
    Column(
        "with_parts",
        "list",
        "Other components whose parts go in, each as component or component*quantity",
        ("operation",),
    ),
    Column("fluids", "list", "Fluids that go in, each as key or key*quantity", ("operation",)),
    Column("sublet", "number", "Price of work sent out, instead of hours", ("operation",)),
    Column("number", "text", "Part number", ("part",)),
    Column(
        "part_is", "choice", "What it is; empty: new", ("part",), choices=("new", "used", "rebuilt", "reconditioned")
    ),
    Column("part_maker", "choice", "Whose it is", ("part",), choices=("original_maker", "other_maker")),
    Column("unit", "text", "Unit of the fluid (qt, l)", ("fluid",), ("fluid",)),
    Column("cost", "number", "What the shop pays; priced by the markup of its range where no price stands", ("part",)),
    Column(
        "price",
        "number",
        "Price of one: piece, unit, hour, fee, or the least that is charged",
        ("part", "fluid", "rate", "fee", "minimum"),
        ("fluid", "rate", "fee", "minimum"),
    ),
    Column("core", "number", "Charged until the old part comes back", ("part",)),
    Column("quantity", "number", "Pieces for each place, axle or job; empty: 1", ("part",)),
    Column("cost_from", "number", "The markup holds for parts that cost at least this", ("markup",), ("markup",)),
    Column(
        "percent",
        "number",
        "Percent of the markup, of the supplies or of the tax",
        ("markup", "supplies", "tax"),
        ("markup", "supplies", "tax"),
    ),
    Column(
        "of",
        "choice",
        "What the percent or the minimum is of; of supplies, empty: labor",
        ("supplies", "minimum"),
        ("minimum",),
        ("labor", "labor_and_parts", "job", "document"),
    ),
    Column("at_least", "number", "The least that is charged for supplies", ("supplies",)),
    Column("at_most", "number", "The most that is charged for supplies", ("supplies",)),
    Column(
        "on",
        "list",
        "Kinds of lines the tax is on (part, labor, fluid, supplies, fee, sublet, core), or tax categories of rows",
        ("tax",),
        ("tax",),
    ),
    Column(
        "taxable", "yes_no", "Whether tax rules hold for it; empty: yes for supplies, no for fees", ("supplies", "fee")
    ),
    Column("tax_category", "text", "Category whose tax rules hold for it; empty: those of its kind of line", _TAXED),
    Column("make", "text", "Only for this make of vehicle", _WORK),
    Column("model", "text", "Only for this model", _WORK),
    Column("year_from", "year", "Only from this model year", _WORK),
    Column("year_to", "year", "Only up to this model year", _WORK),
    Column("currency", "text", "ISO 4217 code of all prices (USD)", ("settings",), ("settings",)),
    Column(
        "place",
        "text",
        "Whose rules hold for estimates: a key of lexicon/rules/places.toml; empty: unknown",
        ("settings",),
    ),
    Column(
        "basis",
        "choice",
        "Whether tax is rounded by line or once by document; empty: document",
        ("settings",),
        choices=("line", "document"),
    ),
    Column(
        "rounding",
        "choice",
        "How amounts are rounded; empty: half_up",
        ("settings",),
        choices=("half_up", "half_even", "down"),
    ),
    Column("note", "text", "Whose figures these are, and since when; for people", ("settings",)),
)
NAMES = (ROW, *(column.name for column in COLUMNS))

_CHOICES_OF: dict[tuple[RowKind, str], tuple[str, ...]] = {
    ("operation", "per"): ("place", "axle", "job"),
    ("part", "per"): ("place", "axle", "job"),
    ("fee", "per"): ("document", "component"),
    ("supplies", "of"): ("labor", "labor_and_parts"),
    ("minimum", "of"): ("job", "document"),
}


def columns_of(kind: RowKind) -> tuple[Column, ...]:
    """The columns that a kind of row may fill in, in the order of the file."""
    return tuple(column for column in COLUMNS if kind in column.kinds)


def choices_of(kind: RowKind, column: Column) -> tuple[str, ...]:
    """What may stand in a column of choices, in rows of this kind."""
    return _CHOICES_OF.get((kind, column.name), column.choices)


def datapackage(file: str = "book.csv") -> dict[str, Any]:
    """The book as a data package (datapackage.json): one resource for the CSV, all kinds of rows together.

    What is needed in a kind of row only cannot be said in a Table Schema; each field tells it in words and in
    `narrate:kinds` and `narrate:needed`, and 'narrate book check' holds the book to it.
    """
    row = {
        "name": ROW,
        "type": "string",
        "description": "What the row is",
        "constraints": {"required": True, "enum": list(ROW_KINDS)},
    }
    return {
        "profile": PACKAGE_PROFILE,
        "name": "narrate-price-book",
        "title": "Price book (narrate.book/1)",
        "resources": [
            {
                "name": "book",
                "path": file,
                "profile": "tabular-data-resource",
                "format": "csv",
                "mediatype": "text/csv",
                "encoding": "utf-8",
                "dialect": {"delimiter": ",", "lineTerminator": "\r\n", "quoteChar": '"', "header": True},
                "schema": {
                    "$schema": TABLE_SCHEMA,
                    "fields": [row, *map(_field, COLUMNS)],
                    "missingValues": [""],
                },
            }
        ],
    }


def _field(column: Column) -> dict[str, Any]:
    field: dict[str, Any] = {
        "name": column.name,
        "type": {"number": "number", "year": "integer", "yes_no": "boolean"}.get(column.shape, "string"),
        "description": column.about,
        "narrate:kinds": list(column.kinds),
    }
    if column.needed:
        field["narrate:needed"] = list(column.needed)
    if column.shape == "yes_no":
        field |= {"trueValues": ["yes"], "falseValues": ["no"]}
    if column.shape == "list":
        field["narrate:separator"] = LIST_SEPARATOR
    if column.shape == "number":
        field |= {"decimalChar": ".", "bareNumber": True, "constraints": {"minimum": "0"}}
    if column.choices:
        field["constraints"] = {"enum": list(column.choices)}
    return field
