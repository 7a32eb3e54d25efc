"""The workbook holds real numbers, real times and harmless text."""

from datetime import timedelta
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook

from narrate.export.xlsx_file import CUT, LONGEST, cell_text, write_xlsx
from narrate.records.walkaround import Measurement, Walkaround


def read_back(walkaround: Walkaround) -> Workbook:
    with TemporaryDirectory() as folder:
        path = Path(folder, "out.xlsx")
        write_xlsx(walkaround, path)
        return load_workbook(path)


def rows(book: Workbook, sheet: str) -> list[dict[str, Any]]:
    heading, *others = book[sheet].iter_rows(values_only=True)
    return [dict(zip(map(str, heading), row, strict=True)) for row in others]


def with_reason(walkaround: Walkaround, reason: str) -> Walkaround:
    changed = walkaround.findings[0].model_copy(update={"reason": reason})
    return walkaround.model_copy(update={"findings": (changed,)})


def test_the_sheets_are_named_in_order(walkaround: Walkaround) -> None:
    """Findings come first."""
    names = ["Findings", "Measurements", "Concerns", "Judgement", "Not understood", "Recordings"]
    assert names == read_back(walkaround).sheetnames


def test_the_header_is_frozen_and_filters(walkaround: Walkaround) -> None:
    """Every sheet keeps its header in sight and filters all its rows."""
    book = read_back(walkaround)
    assert {"A2"} == {sheet.freeze_panes for sheet in book}
    assert [sheet.dimensions for sheet in book] == [sheet.auto_filter.ref for sheet in book]


def test_times_are_times_and_numbers_numbers(walkaround: Walkaround) -> None:
    """A spreadsheet can add up times, prices and confidences."""
    book = read_back(walkaround)
    row = rows(book, "Findings")[0]
    assert (140.0, 0.95) == (row["price"], row["confidence"])
    assert 69.2 == pytest.approx(row["start"].total_seconds(), abs=0.001)
    assert "[m]:ss" == book["Findings"].cell(2, 13).number_format


def test_each_number_measured_has_a_row(walkaround: Walkaround) -> None:
    """The measurements sheet has value, upper end, unit and place apart."""
    found = rows(read_back(walkaround), "Measurements")
    keys = ("component", "location", "quantity", "value", "high", "unit", "verdict", "said")
    assert [
        (
            "wheel bearing",
            "front right",
            "play",
            0.4,
            None,
            "mm",
            "above the limit of 0.1 mm (maker)",
            "about point four",
        ),
        ("tire", "rear left; rear right", None, 5, 6, "1/32in", None, "five to six"),
    ] == [tuple(row[key] for key in keys) for row in found]


def test_what_was_not_understood_and_heard_has_a_sheet(walkaround: Walkaround) -> None:
    """Nothing said is lost: unplaced words, concerns and recordings are there."""
    book = read_back(walkaround)
    assert ["-it is shot"] == [row["said"] for row in rows(book, "Not understood")]
    assert ["grinding when turning"] == [row["concern"] for row in rows(book, "Concerns")]
    [recording] = rows(book, "Recordings")
    assert ("bay2.m4a", timedelta(seconds=125), 20) == (
        recording["name"],
        recording["duration"],
        recording["words"],
    )


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@x", "https://example.com", "12", "{=1}", "_x0041_"])
def test_text_stays_text(text: str, walkaround: Walkaround) -> None:
    """No text becomes a formula, a link, a number or another text."""
    sheet = read_back(with_reason(walkaround, text))["Findings"]
    [cell] = [cell for head, cell in zip(sheet[1], sheet[2], strict=True) if head.value == "reason"]
    assert ("s", None) == (cell.data_type, cell.hyperlink)
    assert text == str(cell.value).replace("_x005F_", "_")


@settings(deadline=None)
@given(text=st.text(min_size=1).filter(lambda text: "_x" not in text))
def test_texts_come_back(text: str, walkaround: Walkaround) -> None:
    """Another program reads the same text, less what a cell cannot hold."""
    row = rows(read_back(with_reason(walkaround, text)), "Findings")[0]
    assert cell_text(text) == (row["reason"] or "")


@settings(deadline=None)
@given(
    value=st.decimals(
        min_value=Decimal("-1e9"), max_value=Decimal("1e9"), allow_nan=False, allow_infinity=False, places=4
    )
)
def test_values_come_back(value: Decimal, walkaround: Walkaround) -> None:
    """A measured value is the same number in the workbook."""
    measured = (Measurement(value=value, unit="mm", said="it"),)
    changed = walkaround.findings[0].model_copy(update={"measurements": measured})
    [row] = rows(read_back(walkaround.model_copy(update={"findings": (changed,)})), "Measurements")
    assert value == Decimal(repr(row["value"]))


def test_a_value_too_long_for_a_cell_number_is_text(walkaround: Walkaround) -> None:
    """Digits are never lost: what a cell's number cannot hold stands as text."""
    measured = (Measurement(value=Decimal("0.12345678901234567890"), unit="mm", said="it"),)
    changed = walkaround.findings[0].model_copy(update={"measurements": measured})
    [row] = rows(read_back(walkaround.model_copy(update={"findings": (changed,)})), "Measurements")
    assert "0.12345678901234567890" == row["value"]


def test_control_characters_and_endless_text_fit_a_cell() -> None:
    """Control characters go, line ends are one kind, a cut is told."""
    assert ("abc", "a\nb\nc\td") == (cell_text("a\x07b\x00c"), cell_text("a\r\nb\rc\td"))
    assert (LONGEST, True) == (len(cell_text("x" * 40_000)), cell_text("x" * 40_000).endswith(CUT))


def test_nothing_found_still_opens(nothing: Walkaround) -> None:
    """An empty walkaround has headers and no rows."""
    assert [] == rows(read_back(nothing), "Findings")
