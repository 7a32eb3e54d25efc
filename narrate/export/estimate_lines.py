"""The lines of an estimate for the shop's own system: CSV, XLSX and the whole record as JSON."""

import csv
import io
from pathlib import Path

from pydantic import ValidationError
from xlsxwriter import Workbook

from narrate.errors import RecordError
from narrate.export.csv_file import text_of_cell
from narrate.export.estimate_parts import chosen, numbered
from narrate.export.rows import Cell, Column, Row
from narrate.export.xlsx_file import AS_TYPED, add_sheet
from narrate.records.estimate import SCHEMA, Estimate

LINE_COLUMNS = (
    Column("job", "number", 6),
    Column("job_id", width=8),
    Column("title", width=40),
    Column("state", width=12),
    Column("decide_by", width=12),
    Column("payer", width=10),
    Column("optional", width=9),
    Column("findings", width=12),
    Column("choice", width=8),
    Column("choice_label", width=28),
    Column("counted", width=9),
    Column("kind", width=10),
    Column("text", width=40),
    Column("quantity", "number", 9),
    Column("unit", width=7),
    Column("unit_price", "number", 11),
    Column("amount", "number", 11),
    Column("currency", width=9),
    Column("taxable", width=9),
    Column("tax_category", width=12),
    Column("part_number", width=16),
    Column("part_is", width=14),
    Column("part_maker", width=16),
    Column("book_row", width=20),
    Column("note", width=40),
)
SUM_COLUMNS = (Column("sum", width=34), Column("amount", "number", 12), Column("currency", width=9))
WAITING_COLUMNS = (Column("title", width=40), Column("findings", width=12), Column("why", width=60))
_SUMS = ("parts", "labor", "fluids", "sublet", "supplies", "fees", "discount", "tax", "total", "deposit")


def rows_of_lines(estimate: Estimate) -> list[Row]:
    """One row a line of every choice in LINE_COLUMNS; `counted` says whether the sums hold it.

    Then one row without an amount for each piece of work that waits for its price: its kind is `to be priced`.
    """
    rows = [
        _in_order(
            {
                "job": number,
                "job_id": job.id,
                "title": job.title,
                "state": job.state,
                "decide_by": job.decide_by_date,
                "payer": job.payer,
                "optional": _yes(job.optional),
                "findings": " ".join(job.finding_ids),
                "choice": choice.id,
                "choice_label": choice.label,
                "counted": _yes(choice is chosen(job) and job.state != "declined"),
                "currency": estimate.currency,
                "taxable": _yes(line.taxable),
                "book_row": line.row,
                **{name: getattr(line, name) for name in _OF_LINE},
            }
        )
        for number, job in numbered(estimate)
        for choice in job.choices
        for line in choice.lines
    ]
    waiting: list[dict[str, Cell]] = [
        {"title": work.title, "findings": " ".join(work.finding_ids), "kind": "to be priced", "note": work.why}
        for work in estimate.to_be_priced
    ]
    return rows + [_in_order(cells) for cells in waiting]


def rows_of_sums(estimate: Estimate) -> list[Row]:
    """One row a sum in SUM_COLUMNS, each tax by its name too."""
    sums: list[Row] = [(name, getattr(estimate.totals, name), estimate.currency) for name in _SUMS]
    return sums + [(f"tax: {tax.name}", tax.amount, estimate.currency) for tax in estimate.totals.taxes]


def lines_csv(estimate: Estimate) -> bytes:
    """The lines as CSV (RFC 4180), no cell of which a spreadsheet would run."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(column.name for column in LINE_COLUMNS)
    writer.writerows([text_of_cell(cell) for cell in row] for row in rows_of_lines(estimate))
    return stream.getvalue().encode("utf-8")


def lines_xlsx(estimate: Estimate) -> bytes:
    """Lines, sums and what is to be priced, a sheet each; numbers are numbers and texts are only texts."""
    stream = io.BytesIO()
    book = Workbook(stream, {"in_memory": True, **AS_TYPED})
    add_sheet(book, "Lines", LINE_COLUMNS, rows_of_lines(estimate))
    add_sheet(book, "Sums", SUM_COLUMNS, rows_of_sums(estimate))
    waiting: list[Row] = [(work.title, " ".join(work.finding_ids), work.why) for work in estimate.to_be_priced]
    add_sheet(book, "To be priced", WAITING_COLUMNS, waiting)
    book.close()
    return stream.getvalue()


def estimate_json(estimate: Estimate) -> bytes:
    """The whole record; amounts are decimal strings, exact."""
    return estimate.model_dump_json(by_alias=True, indent=2).encode("utf-8") + b"\n"


def read_estimate(path: Path) -> Estimate:
    """Read an estimate that narrate wrote; fields of a later program are kept. Raises RecordError."""
    try:
        return Estimate.model_validate_json(path.read_bytes())
    except OSError as error:
        message = f"{path} cannot be read ({error.strerror}); give the JSON file of an estimate."
        raise RecordError(message) from error
    except ValidationError as error:
        first = error.errors()[0]
        key = ".".join(str(part) for part in first["loc"]) or "the record"
        message = f"{path} differs from {SCHEMA} at {key}: {first['msg']}; give a file that narrate wrote."
        raise RecordError(message) from error


_OF_LINE = "kind text quantity unit unit_price amount tax_category part_number part_is part_maker note".split()


def _in_order(cells: dict[str, Cell]) -> Row:
    return tuple(cells.get(column.name) for column in LINE_COLUMNS)


def _yes(true: bool) -> str:
    return "yes" if true else "no"
