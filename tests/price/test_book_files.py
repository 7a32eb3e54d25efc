"""How price books lie in files: encodings, separators, formulas, sheets; what is written is read again."""

import io
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest
from book_rows_for_tests import SMALL, changed
from hypothesis import given
from hypothesis import strategies as st

from narrate.errors import NarrateError, UsageError
from narrate.export.csv_file import FORMULA_STARTS as STARTS_IN_EXPORT
from narrate.export.csv_file import guarded as guarded_in_export
from narrate.price.book_csv import FORMULA_STARTS, guarded, unguarded
from narrate.price.book_file import book_bytes, check_content, read_book, write_book
from narrate.words.lexicon import Lexicon


def test_a_byte_order_mark_does_not_matter(lexicon: Lexicon) -> None:
    assert check_content(b"\xef\xbb\xbf" + changed(), "book.csv", lexicon).book.currency == "USD"


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (changed((10, "text", "Bremsscheibe größer")).decode().encode("latin-1"), r"not in UTF-8 \(row 10\)"),
        (SMALL.encode("utf-16"), "in UTF-16, not in UTF-8"),
        (b"row,key\r\npart,\0", "not a CSV file in UTF-8"),
        (b'row,key\r\npart,"x', "not a CSV file that can be read"),
        (b"", "must begin with a row that names its columns"),
        (b"key,component\r\nx,y", "'row' among them"),
        (b"row,key,labour\r\n", "'labour' is no column of a price book"),
        (b"row,key,key\r\n", "the column key stands there twice"),
        (b"row,key\r\npart,a,b\r\n", "row 2: a cell stands behind the last column"),
        (b"PK\x03\x04 but no workbook", "is not a workbook"),
    ],
)
def test_a_file_of_another_kind_is_told_in_one_sentence(content: bytes, told: str, lexicon: Lexicon) -> None:
    with pytest.raises(UsageError, match=told) as caught:
        check_content(content, "book.csv", lexicon)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(("separator", "word"), [(";", "semicolons"), ("\t", "tabs")])
def test_other_separators_are_read_and_told(separator: str, word: str, lexicon: Lexicon) -> None:
    checked = check_content(changed().decode().replace(",", separator).encode(), "book.csv", lexicon)
    assert len(checked.book.parts) == 3
    assert (
        checked.notices[0] == f"book.csv separates its columns by {word}; it was read so, and is written with commas."
    )


def test_formulas_are_neutralised_and_taken_back(lexicon: Lexicon) -> None:
    book = check_content(changed((10, "text", "=HYPERLINK(A1)")), "book.csv", lexicon).book
    content = book_bytes(book)
    assert b",'=HYPERLINK(A1)," in content
    assert check_content(content, "again.csv", lexicon).book.parts[1].text == "=HYPERLINK(A1)"


def test_no_cell_of_a_workbook_is_a_formula(lexicon: Lexicon) -> None:
    book = check_content(changed((10, "text", "=1+1"), (11, "text", "@cmd")), "book.csv", lexicon).book
    sheets = openpyxl.load_workbook(io.BytesIO(book_bytes(book, xlsx=True)))
    cells = [cell for sheet in sheets for line in sheet.iter_rows() for cell in line]
    assert "f" not in {cell.data_type for cell in cells}
    assert {"'=1+1", "'@cmd"} <= {cell.value for cell in cells}


@given(st.text(max_size=5))
def test_the_guard_is_that_of_every_other_file(text: str) -> None:
    assert set(FORMULA_STARTS) == STARTS_IN_EXPORT
    if not text.startswith("'"):
        assert guarded(text) == guarded_in_export(text)


@given(st.text(alphabet="'=+-@ax＝", max_size=6))
def test_what_is_guarded_comes_back(text: str) -> None:
    assert unguarded(guarded(text)) == text
    assert guarded(text)[:1] not in FORMULA_STARTS or not text


def test_a_workbook_has_a_sheet_for_each_kind(tmp_path: Path, lexicon: Lexicon) -> None:
    book = check_content(changed(), "book.csv", lexicon).book
    path = tmp_path / "book.xlsx"
    write_book(book, path)
    sheets = openpyxl.load_workbook(path)
    assert sheets.sheetnames == [
        "settings", "supplies", "rate", "markup", "fee", "tax", "minimum", "fluid", "operation", "part",
    ]  # fmt: skip
    assert isinstance(sheets["operation"]["F2"].value, float)
    again = read_book(path, lexicon)
    assert again.model_copy(update={"digest": book.digest}) == book


def test_mistakes_in_a_workbook_name_the_sheet(tmp_path: Path, lexicon: Lexicon) -> None:
    path = tmp_path / "book.xlsx"
    write_book(check_content(changed(), "book.csv", lexicon).book, path)
    sheets = openpyxl.load_workbook(path)
    columns = [cell.value for cell in sheets["operation"][1]]
    sheets["operation"].cell(3, columns.index("hours") + 1, -1)
    sheets.save(path)
    with pytest.raises(UsageError, match="sheet operation, row 3, hours: '-1' is below 0"):
        read_book(path, lexicon)


def test_an_unknown_sheet_is_told_and_an_empty_one_is_not(tmp_path: Path, lexicon: Lexicon) -> None:
    path = tmp_path / "book.xlsx"
    write_book(check_content(changed(), "book.csv", lexicon).book, path)
    sheets = openpyxl.load_workbook(path)
    extra = sheets.create_sheet("Sheet1")
    sheets.save(path)
    assert read_book(path, lexicon).currency == "USD"
    extra["A1"] = "spare rows"
    sheets.save(path)
    with pytest.raises(UsageError, match="no sheet of a price book is called 'sheet1'"):
        read_book(path, lexicon)


@pytest.mark.parametrize("number", ["0.1", "1234567.1234", "96.40", "0.07"])
def test_a_number_of_a_workbook_stays_what_was_typed(number: str, tmp_path: Path, lexicon: Lexicon) -> None:
    book = check_content(changed((10, "price", number)), "book.csv", lexicon).book
    path = tmp_path / "book.xlsx"
    write_book(book, path)
    assert read_book(path, lexicon).parts[1].price == Decimal(number)


def test_the_same_book_gives_the_same_bytes(lexicon: Lexicon) -> None:
    book = check_content(changed(), "book.csv", lexicon).book
    assert book_bytes(book) == book_bytes(book)
    assert book_bytes(book, xlsx=True) == book_bytes(book, xlsx=True)


def test_a_failed_write_leaves_what_was_there(tmp_path: Path, lexicon: Lexicon) -> None:
    book = check_content(changed(), "book.csv", lexicon).book
    with pytest.raises(NarrateError, match="cannot be written"):
        write_book(book, tmp_path / "missing" / "book.csv")
    assert not list(tmp_path.iterdir())


def test_a_file_that_is_not_there(tmp_path: Path, lexicon: Lexicon) -> None:
    with pytest.raises(UsageError, match="cannot be read"):
        read_book(tmp_path / "none.csv", lexicon)
