"""A price book as a workbook: one sheet for each kind of row, named after it."""

import datetime
import io
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from typing import Any

from narrate.errors import UsageError
from narrate.price.book_csv import Table, cells_of, guarded, named_columns
from narrate.price.book_rows import Row
from narrate.price.book_schema import ROW_KINDS, columns_of

MOST_UNPACKED = 400_000_000
"""Bytes; a workbook that unpacks to more is not opened."""
_CERTAIN = 15
"""Digits of a number that a cell keeps exactly."""
_AS_TYPED = {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
_MADE = datetime.datetime(2000, 1, 1)
"""A fixed date: the same book gives the same bytes."""


def looks_like_xlsx(content: bytes) -> bool:
    """Whether it is a packed file, as workbooks are."""
    return content[:4] == b"PK\x03\x04"


def xlsx_of(rows: Iterable[Row]) -> bytes:
    """The workbook, with every sheet, so that an empty book shows where to write."""
    from xlsxwriter import Workbook

    by_kind: dict[str, list[Row]] = {kind: [] for kind in ROW_KINDS}
    for row in rows:
        by_kind[row.kind].append(row)
    stream = io.BytesIO()
    book = Workbook(stream, {"in_memory": True, **_AS_TYPED})
    book.set_properties({"created": _MADE})
    heading = book.add_format({"bold": True, "bottom": 1})
    for kind in ROW_KINDS:
        sheet = book.add_worksheet(kind)
        columns = columns_of(kind)
        for place, column in enumerate(columns):
            sheet.set_column(place, place, 12 if column.shape in ("number", "year", "yes_no") else 22)
            sheet.write_string(0, place, column.name, heading)
            sheet.write_comment(0, place, f"{column.about}.", {"visible": False})
        for line, row in enumerate(by_kind[kind], 1):
            for place, column in enumerate(columns):
                cell = row.cells.get(column.name)
                if cell is None:
                    continue
                if column.shape in ("number", "year") and _fits(cell):
                    sheet.write_number(line, place, float(cell))
                else:
                    sheet.write_string(line, place, guarded(cell))
        sheet.freeze_panes(1, 0)
        sheet.autofilter(0, 0, len(by_kind[kind]), len(columns) - 1)
    book.close()
    return stream.getvalue()


def rows_of_xlsx(content: bytes, name: str) -> Table:
    """The rows of a workbook, sheet by sheet. Raises UsageError where it is none or a sheet is not known."""
    from openpyxl import load_workbook

    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            unpacked = sum(each.file_size for each in packed.infolist())
        if unpacked > MOST_UNPACKED:
            message = f"{name} unpacks to {unpacked / 1e6:.0f} MB, which no price book has."
            raise UsageError(message)
        book = load_workbook(io.BytesIO(content), read_only=True, data_only=True, keep_links=False)
        sheets = [(sheet.title.strip().lower(), list(sheet.iter_rows(values_only=True))) for sheet in book.worksheets]
    except UsageError:
        raise
    except Exception as error:  # the reader raises whatever the damaged part makes it stumble on
        message = f"{name} is not a workbook (XLSX) that can be read; save it again as XLSX or as 'CSV UTF-8'."
        raise UsageError(message) from error
    rows: list[Row] = []
    for title, lines in sheets:
        if title not in ROW_KINDS:
            if any(_text(cell) for line in lines for cell in line):
                message = f"{name}: no sheet of a price book is called '{title}'; they are {', '.join(ROW_KINDS)}."
                raise UsageError(message)
            continue
        rows += _rows(title, lines, f"{name}, sheet {title}")
    return Table(rows)


def _rows(kind: str, lines: Sequence[Sequence[Any]], name: str) -> Iterator[Row]:
    texts = [[_text(cell) for cell in line] for line in lines]
    if not any(map(any, texts)):
        return
    columns = named_columns(texts[0], name, needs_row=False)
    for number, line in enumerate(texts[1:], 2):
        cells = cells_of(columns, line)
        if any(map(str.strip, line[len(columns) :])):
            message = f"{name}, row {number}: a cell stands behind the last column; name its column or empty it."
            raise UsageError(message)
        said = cells.pop("row", kind)
        if cells:
            yield Row(f"sheet {kind}, row {number}", said, cells)


def _text(cell: object) -> str:
    """What a cell shows; a number as its 15 certain digits, never as the nearest binary fraction."""
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float):
        return format(Decimal(f"{cell:.{_CERTAIN}g}"), "f")
    return str(cell)


def _fits(cell: str) -> bool:
    return Decimal(f"{float(cell):.{_CERTAIN}g}") == Decimal(cell)
