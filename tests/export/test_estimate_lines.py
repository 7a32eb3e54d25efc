"""The lines for the shop's own system: all of them, exact, and nothing a spreadsheet would run."""

import csv
import io
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
from hypothesis import given
from hypothesis import strategies as st
from made_estimates import BEARING_JOB, PADS_JOB, labor, some_estimate

from narrate.errors import RecordError
from narrate.export.csv_file import FORMULA_STARTS
from narrate.export.estimate_lines import LINE_COLUMNS, estimate_json, lines_csv, lines_xlsx, read_estimate
from narrate.records.estimate import Choice, Estimate, Job, ToBePriced


def table(estimate: Estimate) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(lines_csv(estimate).decode("utf-8"), newline="")))


def test_every_line_of_every_way_is_a_row() -> None:
    """Ways that are not counted stand there too, and say so; what waits for its price has no amount."""
    rows = table(some_estimate())
    assert [c.name for c in LINE_COLUMNS] == list(rows[0])
    assert 8 == len(rows)
    assert ["yes", "yes", "no", "no", "yes", "yes", "yes", ""] == [row["counted"] for row in rows]
    assert {
        "job": "1", "kind": "labor", "quantity": "1.6", "unit": "h", "unit_price": "135", "amount": "216.00",
        "currency": "USD", "taxable": "no", "findings": "f1", "choice": "k1", "state": "offered",
    }.items() <= rows[0].items()  # fmt: skip
    assert ("to be priced", "", "f6") == (rows[-1]["kind"], rows[-1]["amount"], rows[-1]["findings"])


def test_what_is_declined_is_not_counted() -> None:
    """Amounts of counted rows sum to what the jobs that stand come to."""
    declined = PADS_JOB.model_copy(update={"state": "declined"})
    rows = table(some_estimate(jobs=(BEARING_JOB, declined), to_be_priced=()))
    counted = sum(Decimal(row["amount"]) for row in rows if row["counted"] == "yes")
    assert Decimal("312.40") == counted


@given(
    text=st.text(st.characters(exclude_categories=["Cs"]), max_size=12) | st.sampled_from(["=1+1", "-2", "+a", "@x"])
)
def test_no_cell_is_a_formula(text: str) -> None:
    """Whatever was typed into any text of the record, no CSV cell begins as a formula does."""
    line = labor("1", "2", "2.00", text).model_copy(update={"note": text, "part_number": text, "unit": text})
    job = Job(id="j1", title=text, choices=(Choice(id="k1", label=text, lines=(line,)),))
    estimate = some_estimate(jobs=(job,), to_be_priced=(ToBePriced(title=text, why=text),))
    for row in table(estimate):
        assert not [cell for cell in row.values() if cell[:1] in FORMULA_STARTS and cell]


def test_the_workbook_has_numbers_as_numbers_and_texts_as_texts(tmp_path: Path) -> None:
    """Sheets for lines, sums and what waits; a text that looks like a formula stays a text."""
    (tmp_path / "e.xlsx").write_bytes(lines_xlsx(some_estimate()))
    book = openpyxl.load_workbook(tmp_path / "e.xlsx")
    assert ["Lines", "Sums", "To be priced"] == book.sheetnames
    names = [column.name for column in LINE_COLUMNS]
    lines = list(book["Lines"].iter_rows(min_row=2))
    assert 216 == lines[0][names.index("amount")].value
    text = lines[3][names.index("text")]
    assert ("=cmd|' /c calc'!A1", "s") == (text.value, text.data_type)
    assert not [cell for row in lines for cell in row if cell.data_type == "f"]
    assert ("total", 570.4, "USD") in [tuple(c.value for c in row) for row in book["Sums"].iter_rows()]


def test_the_record_comes_back_as_it_was(tmp_path: Path) -> None:
    """JSON out and in again: the same estimate, amounts as strings."""
    estimate = some_estimate()
    content = estimate_json(estimate)
    assert b'"amount": "216.00"' in content
    (tmp_path / "e.json").write_bytes(content)
    assert estimate == read_estimate(tmp_path / "e.json")


@pytest.mark.parametrize("content", [b"", b"[]", b'{"schema": "narrate.walkaround/1"}'])
def test_what_is_no_estimate_is_refused(content: bytes, tmp_path: Path) -> None:
    """One sentence names the file and where it differs."""
    (tmp_path / "e.json").write_bytes(content)
    with pytest.raises(RecordError, match=r"e\.json differs from narrate\.estimate/1 at"):
        read_estimate(tmp_path / "e.json")
    with pytest.raises(RecordError, match="cannot be read"):
        read_estimate(tmp_path / "none.json")
