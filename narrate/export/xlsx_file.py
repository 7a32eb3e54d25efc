"""Findings as a workbook with real numbers and times."""

import io
import re
from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

from xlsxwriter import Workbook
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from narrate.atomic import write_atomically
from narrate.export.judged_rows import JUDGED_COLUMNS, rows_of_judgement
from narrate.export.rows import (
    CONCERN_COLUMNS,
    FINDING_COLUMNS,
    MEASUREMENT_COLUMNS,
    RECORDING_COLUMNS,
    UNPLACED_COLUMNS,
    Column,
    Row,
    rows_of_concerns,
    rows_of_findings,
    rows_of_measurements,
    rows_of_recordings,
    rows_of_unplaced,
)
from narrate.records.walkaround import Walkaround

DAY_S = 86_400
"""A spreadsheet counts time in days."""
LONGEST = 32_767
"""Characters a cell can hold."""
CUT = " … (cut here: the JSON file has all of it)"

_NOT_IN_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")
AS_TYPED = {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}


def write_xlsx(walkaround: Walkaround, path: Path) -> None:
    """Write findings, measurements, concerns, judgement, what was not understood and recordings, a sheet each."""
    stream = io.BytesIO()
    book = Workbook(stream, {"in_memory": True, **AS_TYPED})
    # Every row of the findings sheet is a finding, so the column that says so is left out.
    findings = [row[1:] for row in rows_of_findings(walkaround)]
    add_sheet(book, "Findings", FINDING_COLUMNS[1:], findings)
    add_sheet(book, "Measurements", MEASUREMENT_COLUMNS, rows_of_measurements(walkaround))
    add_sheet(book, "Concerns", CONCERN_COLUMNS, rows_of_concerns(walkaround))
    add_sheet(book, "Judgement", JUDGED_COLUMNS, rows_of_judgement(walkaround))
    add_sheet(book, "Not understood", UNPLACED_COLUMNS, rows_of_unplaced(walkaround))
    add_sheet(book, "Recordings", RECORDING_COLUMNS, rows_of_recordings(walkaround))
    book.close()
    write_atomically(path, stream.getvalue())


def add_sheet(book: Workbook, name: str, columns: Sequence[Column], rows: Sequence[Row]) -> None:
    """Add a sheet with a heading that stays in sight; no text in it is a formula or an address."""
    sheet = book.add_worksheet(name)
    heading = book.add_format({"bold": True, "bottom": 1})
    wrapped = book.add_format({"text_wrap": True, "valign": "top"})
    number = book.add_format({"valign": "top"})
    minutes = book.add_format({"num_format": "[m]:ss", "valign": "top"})
    for place, column in enumerate(columns):
        sheet.set_column(place, place, column.width)
        sheet.write_string(0, place, column.name.removesuffix("_s").replace("_", " "), heading)
    for line, row in enumerate(rows, start=1):
        for place, (column, cell) in enumerate(zip(columns, row, strict=True)):
            if isinstance(cell, str):
                sheet.write_string(line, place, cell_text(cell), wrapped)
            elif cell is not None and column.kind == "time":
                sheet.write_number(line, place, float(cell) / DAY_S, minutes)
            elif cell is not None:
                _write_number(sheet, line, place, cell, number)
    sheet.freeze_panes(1, 0)
    sheet.autofilter(0, 0, len(rows), len(columns) - 1)


def _write_number(sheet: Worksheet, line: int, place: int, cell: Decimal | float, style: Format) -> None:
    # A cell's number is a double of 15 certain digits; what does not fit stays exact as text.
    if isinstance(cell, Decimal) and Decimal(f"{float(cell):.15G}") != cell:
        sheet.write_string(line, place, format(cell, "f"), style)
    else:
        sheet.write_number(line, place, float(cell), style)


def cell_text(text: str) -> str:
    """The text as a cell can hold it: no control characters, line ends as `\\n`, not too long."""
    clean = _NOT_IN_XML.sub("", text.replace("\r\n", "\n").replace("\r", "\n"))
    return clean if len(clean) <= LONGEST else clean[: LONGEST - len(CUT)] + CUT
