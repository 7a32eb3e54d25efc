"""Findings as CSV (RFC 4180), safe to open in a spreadsheet."""

import csv
import io
from decimal import Decimal
from pathlib import Path

from narrate.atomic import write_atomically
from narrate.export.phrases import say_number
from narrate.export.rows import FINDING_COLUMNS, Cell, rows_of_everything
from narrate.records.walkaround import Walkaround

FORMULA_STARTS = frozenset("=+-@\t\r\n\0＝＋－＠")
"""What makes a spreadsheet run a cell instead of showing it."""


def write_csv(walkaround: Walkaround, path: Path) -> None:
    """Write one row for each finding, each stretch not understood and each concern."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(column.name for column in FINDING_COLUMNS)
    writer.writerows([text_of_cell(cell) for cell in row] for row in rows_of_everything(walkaround))
    write_atomically(path, stream.getvalue().encode("utf-8"))


def guarded(text: str) -> str:
    """The text, with a leading `'` where a spreadsheet would take it for a formula.

    >>> guarded("=1+1"), guarded("brake pad")
    ("'=1+1", 'brake pad')
    """
    return f"'{text}" if text[:1] in FORMULA_STARTS else text


def text_of_cell(cell: Cell) -> str:
    """A cell as it stands in the file: text guarded, numbers as they are."""
    if cell is None:
        return ""
    if isinstance(cell, str):
        return guarded(cell)
    # Numbers carry no guard: a negative one must stay a number.
    return say_number(cell) if isinstance(cell, Decimal) else str(cell)
