"""Price books read and written whole: CSV or XLSX by content, every mistake told, all rows taken or none."""

import gc
import hashlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple

from narrate.atomic import write_atomically
from narrate.errors import UsageError
from narrate.price.book_check import Names, Placed, currency_problem, problems
from narrate.price.book_csv import Table, csv_of, rows_of_csv
from narrate.price.book_notices import notices
from narrate.price.book_rows import LISTS, RECORDS, Mistake, Row, read_row, rows_of
from narrate.price.book_xlsx import looks_like_xlsx, rows_of_xlsx, xlsx_of
from narrate.records.price_book import Book, Supplies
from narrate.words.lexicon import Lexicon

MOST_BYTES = 64_000_000
MOST_ROWS = 200_000
_FIELDS = {RECORDS[kind]: field for kind, field in LISTS.items()}


class BookMistakes(UsageError):
    """A price book that was not taken; `mistakes` has all of them in the order of the file, one sentence each."""

    def __init__(self, name: str, mistakes: Sequence[str]) -> None:
        self.mistakes = tuple(mistakes)
        head = f"{name} has {len(mistakes)} mistake{'' if len(mistakes) == 1 else 's'}; nothing was taken over:"
        super().__init__("\n".join((head, *(f"  {mistake}" for mistake in mistakes))))


class Checked(NamedTuple):
    """A book without mistakes, and what may surprise someone about it."""

    book: Book
    notices: tuple[str, ...]


def read_book(path: Path, lexicon: Lexicon) -> Book:
    """Read a price book, CSV or XLSX; its digest is that of the file.

    Raises UsageError with every mistake, by row and column; NarrateError where the file cannot be read at all.
    """
    return check_file(path, lexicon).book


def check_file(path: Path, lexicon: Lexicon) -> Checked:
    """Read a price book as `read_book` does, with the notices about it."""
    try:
        size = path.stat().st_size
        content = path.read_bytes() if size <= MOST_BYTES else b""
    except OSError as error:
        message = f"{path} cannot be read ({error.strerror}); check its name and its permissions."
        raise UsageError(message) from error
    if size > MOST_BYTES:
        message = f"{path} has {size / 1e6:.0f} MB; a price book has at most {MOST_BYTES / 1e6:.0f}."
        raise UsageError(message)
    return check_content(content, path.name, lexicon)


def check_content(content: bytes, name: str, lexicon: Lexicon) -> Checked:
    """A price book from the bytes of a file. Raises UsageError with every mistake."""
    with _collector_resting():
        table = rows_of_xlsx(content, name) if looks_like_xlsx(content) else rows_of_csv(content, name)
        if len(table.rows) > MOST_ROWS:
            message = f"{name} has {len(table.rows)} rows; a price book has at most {MOST_ROWS}."
            raise UsageError(message)
        book = _book(table, name, lexicon, hashlib.sha256(content).hexdigest())
    return Checked(book, (*table.notices, *notices(book, lexicon)))


def check_book(book: Book, lexicon: Lexicon, name: str = "The price book") -> tuple[str, ...]:
    """Check a book that was made in another way than from a file; return the notices. Raises UsageError."""
    checked = _book(Table(list(rows_of(book))), name, lexicon, book.digest)
    return notices(checked, lexicon)


def book_bytes(book: Book, *, xlsx: bool = False) -> bytes:
    """The file that `write_book` writes. The same book gives the same bytes."""
    return xlsx_of(rows_of(book)) if xlsx else csv_of(rows_of(book))


def write_book(book: Book, path: Path) -> None:
    """Write a book as XLSX where the path ends so, else as CSV; `read_book` gives the same book again but its digest.

    Raises NarrateError where it cannot be written; then what was there is there still.
    """
    write_atomically(path, book_bytes(book, xlsx=path.suffix.lower() == ".xlsx"))


@contextmanager
def _collector_resting() -> Iterator[None]:
    """Keep Python from looking for garbage: a book is nothing but objects that stay, and looking doubles the time."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _book(table: Table, name: str, lexicon: Lexicon, digest: str) -> Book:
    """The rows put together, once nothing is wrong with any of them."""
    wrong: list[tuple[int, str]] = []
    commas: list[tuple[int, Row, Mistake]] = []
    placed: list[Placed] = []
    settings: list[tuple[int, Row, dict[str, Any]]] = []
    for number, row in enumerate(table.rows):
        record, mistakes = read_row(row)
        wrong += [(number, f"{row.place}, {each.column}: {each.why}") for each in mistakes if not each.comma]
        commas += [(number, row, each) for each in mistakes if each.comma]
        if row.kind == "settings":
            settings.append((number, row, record if isinstance(record, dict) else {}))
        elif record is not None and not isinstance(record, dict):
            placed.append(Placed(number, row.place, record))
    wrong += _commas(commas)
    wrong += problems(placed, _names(table.rows), lexicon)
    wrong += _settings(settings)
    if wrong:
        raise BookMistakes(name, [text for _, text in sorted(wrong, key=lambda pair: pair[0])])
    fields: dict[str, Any] = {field: [] for field in LISTS.values()}
    for each in placed:
        if isinstance(each.record, Supplies):
            fields["supplies"] = each.record
        else:
            fields[_FIELDS[type(each.record)]].append(each.record)
    return Book(**settings[0][2], **fields, digest=digest)


def _commas(commas: list[tuple[int, Row, Mistake]]) -> list[tuple[int, str]]:
    """One sentence for all numbers with a comma."""
    if not commas:
        return []
    number, row, mistake = commas[0]
    others = f", and {len(commas) - 1} more like it" if commas[1:] else ""
    cell = row.cells[mistake.column]
    text = f"{row.place}, {mistake.column}: '{cell}' is written with a comma{others}; write numbers like 12.50 or 1250."
    return [(number, text)]


def _settings(settings: list[tuple[int, Row, dict[str, Any]]]) -> list[tuple[int, str]]:
    if not settings:
        return [(-1, "There is no row of kind settings; it tells the currency.")]
    wrong = [
        (number, f"{row.place}, row: there is a row of kind settings already, {settings[0][1].place}.")
        for number, row, _ in settings[1:]
    ]
    number, row, values = settings[0]
    problem = currency_problem(values["currency"]) if "currency" in values else None
    return [*wrong, (number, f"{row.place}, {problem}")] if problem else wrong


def _names(rows: Sequence[Row]) -> Names:
    """What the rows name, from their cells: also of rows with mistakes."""
    names = Names()
    for kind, cells in ((row.kind, row.cells) for row in rows):
        if kind == "operation":
            names.operations.add(cells.get("key", ""))
        elif kind == "fluid":
            names.fluids.add(cells.get("key", ""))
        elif kind == "rate":
            names.rates.add(cells.get("name", ""))
        elif kind == "part":
            names.parts.add(cells.get("component", ""))
        elif kind == "markup":
            names.markups = True
        if "tax_category" in cells:
            names.categories.add(cells["tax_category"])
    return names
