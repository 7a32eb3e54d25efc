"""A price book as one CSV file: a row for everything, told apart by its column `row`."""

import csv
import io
import re
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from narrate.errors import UsageError
from narrate.price.book_rows import Row
from narrate.price.book_schema import NAMES, ROW

FORMULA_STARTS = "=+-@\t\r\n\0＝＋－＠"
"""What makes a spreadsheet run a cell instead of showing it; the same as in export/csv_file.py, held by a test."""

_STARTS = re.compile(f"'*[{re.escape(FORMULA_STARTS)}]")
_GUARDED = re.compile(f"'+[{re.escape(FORMULA_STARTS)}]")
_SPREADSHEET = "save it again as 'CSV UTF-8'"
_WIDE = (b"\xff\xfe", b"\xfe\xff")


class Table(NamedTuple):
    """The rows of a file, and what should be known of how it was written."""

    rows: list[Row]
    notices: tuple[str, ...] = ()


def guarded(text: str) -> str:
    """The text with a leading `'` where a spreadsheet would take it for a formula, and where it looks guarded.

    >>> guarded("=1+1"), guarded("brake pad"), unguarded(guarded("'=x"))
    ("'=1+1", 'brake pad', "'=x")
    """
    return f"'{text}" if _STARTS.match(text) else text


def unguarded(cell: str) -> str:
    """The text that `guarded` wrote."""
    return cell[1:] if cell[:1] == "'" and _GUARDED.match(cell) else cell


def csv_of(rows: Iterable[Row]) -> bytes:
    """The file: UTF-8 with a byte order mark (spreadsheets ask for it), CRLF, every column of the schema."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(NAMES)
    for row in rows:
        writer.writerow([row.kind, *(guarded(row.cells.get(name, "")) for name in NAMES[1:])])
    return stream.getvalue().encode("utf-8-sig")


def rows_of_csv(content: bytes, name: str) -> Table:
    """The rows of a file, empty ones left out.

    Raises UsageError where it is no CSV in UTF-8 or does not name its columns.
    """
    text = _text(content, name)
    delimiter = _delimiter(text)
    try:
        table = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as error:
        message = f"{name} is not a CSV file that can be read ({error}); {_SPREADSHEET}."
        raise UsageError(message) from error
    columns = named_columns(table[0] if table else [], name)
    notices: tuple[str, ...] = ()
    if delimiter != ",":
        what = "semicolons" if delimiter == ";" else "tabs"
        notices = (f"{name} separates its columns by {what}; it was read so, and is written with commas.",)
    return Table(list(_rows(columns, table[1:], name)), notices)


def named_columns(heading: Iterable[str], name: str, *, needs_row: bool = True) -> list[str]:
    """The names of the columns, checked. Raises UsageError naming one that is not known or stands twice."""
    columns = [" ".join(cell.split()).lower() for cell in heading]
    while columns and not columns[-1]:
        columns.pop()
    strange = next((column for column in columns if column not in NAMES), None)
    twice = next((column for place, column in enumerate(columns) if column in columns[:place]), None)
    why = None
    if strange is not None:
        why = f"'{strange}' is no column of a price book" if strange else "a column has no name"
    elif twice is not None:
        why = f"the column {twice} stands there twice"
    elif not columns or (needs_row and ROW not in columns):
        why = f"it must begin with a row that names its columns, '{ROW}' among them"
    if why:
        message = f"{name}: {why}; the columns are {', '.join(NAMES)}."
        raise UsageError(message)
    return columns


def cells_of(columns: list[str], line: Iterable[str]) -> dict[str, str]:
    """The cells that are not empty, by column: spaces and line breaks made one space, guards taken off."""
    # A book's rows are mostly empty cells; 20,000 rows of them have to be read in no time.
    cells = {column: " ".join(cell.split()) for column, cell in zip(columns, line, strict=False) if cell}
    return {column: unguarded(cell) for column, cell in cells.items() if cell}


def _rows(columns: list[str], lines: list[list[str]], name: str) -> Iterator[Row]:
    many: list[int] = []
    for number, line in enumerate(lines, 2):
        cells = cells_of(columns, line)
        if len(line) > len(columns) and any(map(str.strip, line[len(columns) :])):
            many.append(number)
        if cells:
            yield Row(f"row {number}", cells.pop(ROW, ""), cells)
    if many:
        message = (
            f"{name}, row {many[0]}{f' and {len(many) - 1} more' if many[1:] else ''}: a cell stands behind the last "
            "column; put quotes around a text with a comma, and write numbers with a point (12.50)."
        )
        raise UsageError(message)


def _text(content: bytes, name: str) -> str:
    if content[:2] in _WIDE:
        message = f"{name} is in UTF-16, not in UTF-8; {_SPREADSHEET}."
        raise UsageError(message)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        row = content[: error.start].count(b"\n") + 1
        message = f"{name} is not in UTF-8 (row {row}); {_SPREADSHEET}."
        raise UsageError(message) from error
    if "\0" in text:
        message = f"{name} is not a CSV file in UTF-8; {_SPREADSHEET}."
        raise UsageError(message)
    return text


def _delimiter(text: str) -> str:
    heading = text.split("\n", 1)[0]
    return max(",;\t", key=heading.count)
