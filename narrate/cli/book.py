"""`narrate book`: check a price book, keep it in the shop's store, write it out."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from narrate.cli.failure import Failure
from narrate.cli.options import READABLE, data_option
from narrate.cli.printing import count, say, write_record

if TYPE_CHECKING:
    from narrate.records.price_book import Book

WHO = "this computer"
FILE_TO = click.Path(dir_okay=False, path_type=Path)


@click.group("book", short_help="The shop's price book: check, import, export.")
def book_group() -> None:
    """Check the shop's price book, keep it in the shop's store, and write it out again.

    A book is one CSV file, or a workbook (XLSX) with a sheet for each kind of row. docs/price-book.md tells the
    columns, 'narrate book schema' the same for programs.
    """


@book_group.command("check")
@click.argument("file", metavar="FILE", type=READABLE)
def check_command(file: Path) -> None:
    """Check a price book, CSV or XLSX: every mistake by row and column, then what may surprise someone.

    Mistakes exit with 1, notices do not.
    """
    from narrate.errors import UsageError
    from narrate.price.book_file import check_file
    from narrate.words.load import load_lexicon

    try:
        checked = check_file(file, load_lexicon())
    except UsageError as error:
        raise Failure(str(error)) from error
    for notice in checked.notices:
        say(f"notice: {notice}")
    click.echo(_counted(checked.book))


@book_group.command("import")
@click.argument("file", metavar="FILE", type=READABLE)
@data_option
def import_command(file: Path, data: Path | None) -> None:
    """Keep a price book in the shop's store: all its rows in place of those before, or none of them."""
    from narrate.price.book_file import check_file
    from narrate.settings import data_folder
    from narrate.store.books import keep_book
    from narrate.store.engine import open_store
    from narrate.words.load import load_lexicon

    checked = check_file(file, load_lexicon())
    store = open_store(data_folder(data))
    try:
        keep_book(store, checked.book, who=WHO)
    finally:
        store.close()
    for notice in checked.notices:
        say(f"notice: {notice}")
    say(f"The shop's price book is now that of {file}. {_counted(checked.book)}")


@book_group.command("export")
@click.argument("file", metavar="FILE", type=FILE_TO)
@data_option
def export_command(file: Path, data: Path | None) -> None:
    """Write the shop's price book, as XLSX where the name ends so, else as CSV, to be edited and imported again."""
    from narrate.price.book_file import write_book
    from narrate.settings import data_folder
    from narrate.store.books import read_book
    from narrate.store.engine import open_store

    store = open_store(data_folder(data))
    try:
        book = read_book(store)
    finally:
        store.close()
    write_book(book, file)
    say(f"{_counted(book)} Written to {file}.")


@book_group.command("schema")
@click.option("--to", default="-", metavar="FILE|-", help="Where to; else standard output.")
@click.option("--for", "book", default="book.csv", metavar="NAME", help="Name of the CSV file that it describes.")
def schema_command(to: str, book: str) -> None:
    """Write the columns of a price book as a Table Schema: a datapackage.json to lie beside the CSV file."""
    import json

    from narrate.price.book_schema import datapackage

    write_record(json.dumps(datapackage(book), indent=2, ensure_ascii=False), to)


def _counted(book: "Book") -> str:
    """How much is in a book."""
    things = (
        count(len(book.operations), "operation"),
        count(len(book.parts), "part"),
        count(len(book.fluids), "fluid"),
        count(len(book.rates), "labor rate"),
        count(len(book.markups), "markup"),
        count(len(book.fees), "fee"),
        f"{len(book.taxes)} {'tax' if len(book.taxes) == 1 else 'taxes'}",
        count(len(book.minimums), "minimum charge"),
    )
    return f"{', '.join(things)}; {'a' if book.supplies else 'no'} supplies rule; prices in {book.currency}."
