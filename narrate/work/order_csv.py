"""Orders as a CSV: every row is checked, every mistake told with row and column, and then all are taken or none.

The first row names the columns, in any order; those not needed may be missing:
number, customer, phone, email, plate, vin, year, make, model, promised, technician, payer, inspection, concerns.
`promised` is 2026-11-27 or 2026-11-27 17:00, `inspection` is yes or no, and concerns are separated by ` | `.
"""

import csv
import io
from collections.abc import Collection
from typing import NamedTuple

from narrate.errors import UsageError
from narrate.records.order import Order
from narrate.work.order_fields import FIELDS, order_from_fields

COLUMNS = (*FIELDS, "concerns")
EXAMPLE = (
    "1042,Dana Ruiz,555 0117,dana@example.com,7ABC123,,2016,Honda,Civic,2026-11-27 17:00,Kev,,no,"
    "grinding when braking | check engine light\r\n"
)
MOST_ROWS = 500
"""Taken over in one go they hold the writer's lock for about two seconds."""
MOST_TOLD = 50
"""Mistakes told one by one; of the others, how many there are."""


class _Line(NamedTuple):
    row: int
    """As a spreadsheet numbers it: the heading is row 1."""
    cells: list[str]


def read_orders(content: bytes, name: str, *, taken: Collection[str] = ()) -> tuple[Order, ...]:
    """Return the orders of a CSV. `taken`: numbers that other orders have already.

    Raises UsageError with a line for every mistake; then nothing is to be taken over.
    """
    columns, lines = _lines(_text(content, name), name)
    orders: list[Order] = []
    wrong: list[str] = []
    rows_of: dict[str, int] = {}
    for line in lines:
        order, mistakes = _order(columns, line)
        if order and order.number:
            first = rows_of.setdefault(order.number, line.row)
            if first != line.row:
                mistakes.append(f"number: {order.number} stands in row {first} already; give each order its own.")
            elif order.number in taken:
                mistakes.append(f"number: there is an order {order.number} already; take the row out.")
        wrong += [f"row {line.row}, {mistake}" for mistake in mistakes]
        if order:
            orders.append(order)
    if wrong:
        raise UsageError(_told(name, wrong))
    if not orders:
        message = f"{name} holds no order; write one in each row below the names of the columns."
        raise UsageError(message)
    return tuple(orders)


def example_csv() -> bytes:
    """A file to begin with: the names of the columns and one row, marked so that spreadsheets know it for UTF-8."""
    return f"{','.join(COLUMNS)}\r\n{EXAMPLE}".encode("utf-8-sig")


def _text(content: bytes, name: str) -> str:
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = content[: error.start].count(b"\n") + 1
        message = f"{name} is not in UTF-8 (row {row}); save it again as 'CSV UTF-8'."
        raise UsageError(message) from error
    if "\0" in text:
        message = f"{name} is not a CSV file in UTF-8; save it again as 'CSV UTF-8'."
        raise UsageError(message)
    return text


def _lines(text: str, name: str) -> tuple[list[str], list[_Line]]:
    """The names of the columns, and the rows below that are not empty."""
    heading = text.splitlines()[0] if text else ""
    delimiter = max(",;\t", key=heading.count)
    try:
        table = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as error:
        message = f"{name} is not a CSV file that can be read ({error}); save it again as 'CSV UTF-8'."
        raise UsageError(message) from error
    columns = [cell.strip().lower() for cell in table[0]] if table else []
    while columns and not columns[-1]:
        columns.pop()
    strange = [column for column in columns if column not in COLUMNS]
    if not columns or strange or len(set(columns)) < len(columns):
        what = f" ('{strange[0]}' is none of them)" if strange else ""
        message = f"{name} must begin with a row that names its columns, each once{what}: {', '.join(COLUMNS)}."
        raise UsageError(message)
    lines = [_Line(row, cells) for row, cells in enumerate(table[1:], 2) if any(map(str.strip, cells))]
    if len(lines) > MOST_ROWS:
        message = f"{name} has {len(lines)} orders; import at most {MOST_ROWS} at a time."
        raise UsageError(message)
    return columns, lines


def _order(columns: list[str], line: _Line) -> tuple[Order | None, list[str]]:
    """The order of a row, or its mistakes as `column: why`."""
    if any(map(str.strip, line.cells[len(columns) :])):
        return None, ["behind the last column: there is a cell too many; put quotes around a text with a comma."]
    values = dict(zip(columns, line.cells, strict=False))
    typed = order_from_fields(values, values.get("concerns", "").split("|"))
    return typed.order, [f"{mistake.field}: {mistake.why}" for mistake in typed.mistakes]


def _told(name: str, wrong: list[str]) -> str:
    count = f"{len(wrong)} mistake{'' if len(wrong) == 1 else 's'}"
    lines = [f"  {line}" for line in wrong[:MOST_TOLD]]
    if len(wrong) > MOST_TOLD:
        lines.append(f"  … and {len(wrong) - MOST_TOLD} more.")
    return "\n".join((f"{name} has {count}; nothing was taken over:", *lines))
