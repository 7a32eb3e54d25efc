"""The shop's price book: kept whole, compressed, a version for every change; the last one holds."""

import threading
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, select

from narrate.errors import MissingError, StoreError
from narrate.records.event import Change
from narrate.records.price_book import Book, Fee, Fluid, Operation, Part
from narrate.store.book_packing import book_text, pack_book, unpack_book
from narrate.store.clock import now
from narrate.store.engine import Store
from narrate.store.estimate_tables import price_book
from narrate.store.events import append
from narrate.store.keeping import event_body

STREAM = "book"
KEYED: dict[str, type[Operation | Part | Fluid | Fee]] = {
    "operations": Operation,
    "parts": Part,
    "fluids": Fluid,
    "fees": Fee,
}
"""Lists whose rows have a key of their own."""
SINGLE = ("currency", "place", "basis", "rounding", "rates", "markups", "supplies", "taxes", "minimums", "note")
"""Fields that change as a whole."""
TOLD_ONE_BY_ONE = 200
"""Changes of so many rows are told one by one; of more, only how many: each imported version is kept itself."""
_CACHED = 4
_cache: dict[str, Book] = {}
_cache_lock = threading.Lock()


@dataclass(frozen=True, kw_only=True)
class BookVersion:
    """A version of the book. `readable`: its rows are kept (imported ones are, and the last)."""

    digest: str
    rows: int
    imported: bool
    kept_at: str
    kept_by: str
    readable: bool


def keep_book(store: Store, book: Book, *, who: str) -> Book:
    """Put a whole book in the place of the one before, which stays readable; return it as `read_book` gives it.

    Its `digest` becomes that of what the store keeps. The very book that is there already is not kept again.
    """
    with store.writing() as connection:
        return _keep(connection, _last(connection), book, who=who, what="imported")


def read_book(store: Store, digest: str | None = None) -> Book:
    """Return the book that holds, or the version with this digest; its `digest` names it.

    Raises MissingError where there is none, StoreError where it is not what was kept.
    """
    with store.reading() as connection:
        found = _last(connection) if digest is None else _version(connection, digest)
        if found is None:
            message = "There is no price book yet; bring one in with 'narrate book import FILE', or price by hand."
            raise MissingError(message)
        return _read(connection, found)


def has_book(store: Store) -> bool:
    """Whether there is a price book."""
    with store.reading() as connection:
        return _last(connection) is not None


def book_versions(store: Store, *, limit: int = 100) -> tuple[BookVersion, ...]:
    """Return the versions of the book, the newest first."""
    asked = select(*_about, price_book.c.packed.is_not(None).label("readable"))
    with store.reading() as connection:
        rows = connection.execute(asked.order_by(price_book.c.id.desc()).limit(limit)).mappings()
        return tuple(BookVersion(**{key: row[key] for key in row if key != "id"}) for row in rows)


def change_book(
    store: Store, *, who: str, what: str, make: Callable[[Book], Book], currency: str = "USD", why: str | None = None
) -> Book:
    """Change the book to what `make` makes of it, as a new version; none where it changed nothing.

    Where there is no book yet, `make` is given an empty one in `currency`. What `make` raises changes nothing.
    """
    with store.writing() as connection:
        last = _last(connection)
        present = Book(currency=currency) if last is None else _read(connection, last)
        return _keep(connection, last, make(present), who=who, what=what, why=why)


def keep_row(
    store: Store,
    *rows: Operation | Part | Fluid | Fee,
    who: str,
    currency: str = "USD",
    why: str | None = None,
) -> Book:
    """Put rows into the book, each in the place of the one with its key, else at the end; one new version for all.

    For a price filled in by hand: `currency` is that of the estimate, for a shop that has no book yet.
    """
    return change_book(store, who=who, what="row", make=lambda book: _with_rows(book, rows), currency=currency, why=why)


def drop_row(store: Store, row: Operation | Part | Fluid | Fee, *, who: str, why: str | None = None) -> Book:
    """Take a row out of the book. Raises MissingError where no row of its kind has its key."""

    def without(book: Book) -> Book:
        kind = _kind(row)
        left = tuple(each for each in getattr(book, kind) if each.key != row.key)
        if len(left) == len(getattr(book, kind)):
            message = f"The book has no {row.key} among its {kind}; look at it again."
            raise MissingError(message)
        return book.model_copy(update={kind: left})

    return change_book(store, who=who, what="row_dropped", make=without, why=why)


def forget() -> None:
    """Forget the books that were read, so that the next one is read from the store itself."""
    with _cache_lock:
        _cache.clear()


def book_problem(connection: Connection) -> Iterator[str]:
    """Tell versions of the book that are not what was kept, a sentence each."""
    rows = connection.execute(select(*_about).order_by(price_book.c.id)).all()
    for row in rows:
        packed = connection.scalar(select(price_book.c.packed).where(price_book.c.id == row.id))
        if packed is None and (row.imported or row.id == rows[-1].id):
            yield f"The price book of {row.kept_at} is missing; restore the store from a backup."
        elif packed is not None:
            try:
                book_text(packed, row.digest)
            except StoreError as error:
                yield str(error)


_about: tuple[ColumnElement[Any], ...] = (
    price_book.c.id,
    price_book.c.digest,
    price_book.c.rows,
    price_book.c.imported,
    price_book.c.kept_at,
    price_book.c.kept_by,
)


def _last(connection: Connection) -> Row[Any] | None:
    return connection.execute(select(*_about).order_by(price_book.c.id.desc()).limit(1)).first()


def _version(connection: Connection, digest: str) -> Row[Any]:
    asked = select(*_about).where(price_book.c.digest == digest, price_book.c.packed.is_not(None))
    found = connection.execute(asked.order_by(price_book.c.id.desc()).limit(1)).first()
    if found is None:
        message = f"The store keeps no price book {digest[:12]} any more; its changes are in the history."
        raise MissingError(message)
    return found


def _read(connection: Connection, row: Row[Any]) -> Book:
    """Return the book in a row, from memory where it was read before: books never change."""
    with _cache_lock:
        known = _cache.get(row.digest)
    if known is not None:
        return known
    packed = connection.scalar(select(price_book.c.packed).where(price_book.c.id == row.id))
    if packed is None:
        message = f"The price book of {row.kept_at} is missing; run 'narrate doctor'."
        raise StoreError(message)
    return _remember(unpack_book(packed, row.digest))


def _keep(
    connection: Connection, last: Row[Any] | None, book: Book, *, who: str, what: str, why: str | None = None
) -> Book:
    packed, digest = pack_book(book)
    if last is not None and last.digest == digest:
        return _read(connection, last)
    before = None if last is None else _read(connection, last)
    rows = sum(len(getattr(book, kind)) for kind in KEYED)
    imported = what == "imported"
    changes = _changes(before, book)
    more = {
        "digest": digest,
        "rows": rows,
        "changed": len(changes),
        "before": last.digest if last is not None else None,
    }
    told = changes if len(changes) <= TOLD_ONE_BY_ONE else ()
    append(connection, stream=STREAM, who=who, what=what, body=event_body(why=why, changes=told, more=more))
    if last is not None and not (last.imported or len(changes) > TOLD_ONE_BY_ONE):
        # Its event says how it came from the one before, and estimates hold what they took from it.
        connection.execute(price_book.update().where(price_book.c.id == last.id).values(packed=None))
    values = {"digest": digest, "rows": rows, "imported": imported, "kept_at": now(), "kept_by": who}
    connection.execute(price_book.insert().values(**values, packed=packed))
    return _remember(book.model_copy(update={"digest": digest}))


def _changes(before: Book | None, after: Book) -> tuple[Change, ...]:
    """Return what turns one book into another, by row."""
    found: list[Change] = []
    for kind in KEYED:
        old = {row.key: row for row in getattr(before, kind)} if before else {}
        new = {row.key: row for row in getattr(after, kind)}
        for key in [*(key for key in old if key not in new), *new]:
            if old.get(key) != new.get(key):
                told = [
                    row and row.model_dump(mode="json", exclude_defaults=True) for row in (old.get(key), new.get(key))
                ]
                found.append(Change(kind=kind, id=key, before=told[0], after=told[1]))
    values = [each.model_dump(mode="json", include=set(SINGLE)) if each else {} for each in (before, after)]
    for kind in SINGLE:
        if values[0].get(kind) != values[1].get(kind):
            found.append(Change(kind=kind, before=values[0].get(kind), after=values[1].get(kind)))
    return tuple(found)


def _with_rows(book: Book, rows: Sequence[Operation | Part | Fluid | Fee]) -> Book:
    for row in rows:
        kind = _kind(row)
        present = {each.key: each for each in getattr(book, kind)}
        book = book.model_copy(update={kind: tuple((present | {row.key: row}).values())})
    return book


def _kind(row: Operation | Part | Fluid | Fee) -> str:
    return next(kind for kind, model in KEYED.items() if isinstance(row, model))


def _remember(book: Book) -> Book:
    with _cache_lock:
        while len(_cache) >= _CACHED:
            _cache.pop(next(iter(_cache)))
        _cache[book.digest] = book
    return book
