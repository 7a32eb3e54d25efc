"""The price book is kept whole, a version for every change, and read back as it was."""

from decimal import Decimal

import pytest
from kept_estimates import book
from sqlalchemy import text

from narrate.errors import MissingError, StoreError
from narrate.records.price_book import Book, Operation, Part
from narrate.store.books import book_versions, change_book, drop_row, forget, has_book, keep_book, keep_row, read_book
from narrate.store.engine import Store
from narrate.store.events import read_events


@pytest.fixture(autouse=True)
def forgotten() -> None:
    """Read every book from the store itself."""
    forget()


def same(one: Book, other: Book) -> bool:
    return one.model_dump(exclude={"digest"}) == other.model_dump(exclude={"digest"})


def test_a_book_comes_back_as_it_was_kept(store: Store) -> None:
    """To the last digit, and its digest names it."""
    assert not has_book(store)
    with pytest.raises(MissingError, match="narrate book import FILE"):
        read_book(store)
    kept = keep_book(store, book(), who="Pat")
    forget()
    read = read_book(store)
    assert same(book(), read)
    assert kept == read
    assert "1.60" == str(read.operations[0].hours)
    assert read == read_book(store, read.digest)


def test_the_same_book_is_kept_once(store: Store) -> None:
    """Wherever it was read from."""
    keep_book(store, book(), who="Pat")
    keep_book(store, book(digest="ef" * 32), who="Pat")
    assert 1 == len(book_versions(store))
    assert 1 == len(read_events(store, "book"))


def test_a_price_filled_in_goes_into_the_book(store: Store) -> None:
    """Into an empty one at first; the row with that key is changed, another is added."""
    first = Operation(key="hanger", component="exhaust_hanger", action="replace", sublet=Decimal("40.00"))
    keep_row(store, first, who="Pat", currency="JPY")
    dearer = first.model_copy(update={"sublet": Decimal("45.00")})
    part = Part(key="hanger-1", component="exhaust_hanger", text="Hanger", price=Decimal("9.90"))
    keep_row(store, dearer, part, who="Dana", why="new supplier")
    forget()
    read = read_book(store)
    assert ((dearer,), (part,), "JPY") == (read.operations, read.parts, read.currency)
    event = read_events(store, "book")[-1]
    assert ("Dana", "row", "new supplier") == (event.who, event.what, event.why)
    assert ["40.00", "45.00"] == [side["sublet"] for side in (event.changes[0].before, event.changes[0].after)]


def test_rows_are_taken_out(store: Store) -> None:
    """Only ones that are there."""
    keep_book(store, book(), who="Pat")
    assert () == drop_row(store, book().parts[0], who="Pat").parts
    with pytest.raises(MissingError, match="no p-1 among its parts"):
        drop_row(store, book().parts[0], who="Pat")


def test_imported_versions_stay_readable(store: Store) -> None:
    """Versions made row by row do not, but the last: their events tell them."""
    first = keep_book(store, book(), who="Pat")
    second = keep_row(store, book().parts[0].model_copy(update={"price": Decimal(1)}), who="Pat")
    third = keep_row(store, book().parts[0].model_copy(update={"price": Decimal(2)}), who="Pat")
    assert [True, False, True] == [each.readable for each in book_versions(store)]
    forget()
    assert [first, third] == [read_book(store, digest) for digest in (first.digest, third.digest)]
    with pytest.raises(MissingError, match=f"no price book {second.digest[:12]}"):
        read_book(store, second.digest)


def test_many_changes_are_counted(store: Store) -> None:
    """The history does not hold a whole book beside the book; the version before stays readable."""
    keep_book(store, book(), who="Pat")
    rows = tuple(book().parts[0].model_copy(update={"key": f"p-{number}"}) for number in range(300))
    one = change_book(store, who="Pat", what="prices", make=lambda b: b.model_copy(update={"note": "mine"}))
    change_book(store, who="Pat", what="prices", make=lambda b: b.model_copy(update={"parts": rows}))
    event = read_events(store, "book")[-1]
    assert ((), 299) == (event.changes, event.more["changed"])
    forget()
    assert "mine" == read_book(store, one.digest).note


def test_a_damaged_book_is_told(store: Store) -> None:
    """It is never read as if it were whole."""
    keep_book(store, book(), who="Pat")
    forget()
    with store.writing() as connection:
        connection.execute(text("UPDATE price_book SET packed = :bytes"), {"bytes": b"x"})
    with pytest.raises(StoreError, match="damaged; restore"):
        read_book(store)


def test_a_book_read_and_kept_is_the_same(store: Store) -> None:
    """Reading changes nothing, so that keeping what was read makes no new version."""
    kept = keep_book(store, book(), who="Pat")
    forget()
    assert kept.digest == keep_book(store, read_book(store), who="Pat").digest
    assert 1 == len(book_versions(store))
