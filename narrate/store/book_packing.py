"""A price book as the bytes that the store keeps, and back."""

import gc
import hashlib
import zlib
from collections.abc import Iterator
from contextlib import contextmanager

from pydantic import ValidationError

from narrate.errors import StoreError
from narrate.records.price_book import Book

DAMAGED = "restore the store from a backup, or bring the book in again."


def pack_book(book: Book) -> tuple[bytes, str]:
    """Return a book's JSON, compressed, and that JSON's sha256; the book's own digest stays out."""
    text = book.model_dump_json(exclude_defaults=True, exclude={"digest"}).encode()
    return zlib.compress(text), hashlib.sha256(text).hexdigest()


def book_text(packed: bytes, digest: str) -> bytes:
    """Return the JSON. Raises StoreError where it is not what was kept."""
    try:
        text = zlib.decompress(packed)
    except zlib.error as error:
        message = f"The price book is damaged; {DAMAGED}"
        raise StoreError(message) from error
    if hashlib.sha256(text).hexdigest() != digest:
        message = f"The price book is not what was kept; {DAMAGED}"
        raise StoreError(message)
    return text


def unpack_book(packed: bytes, digest: str) -> Book:
    """Return the book, named by its digest. Raises StoreError where it is not what was kept, or of another narrate."""
    text = book_text(packed, digest)
    try:
        with _without_collecting():
            book = Book.model_validate_json(text)
    except ValidationError as error:
        message = "The price book was kept by another narrate and cannot be read; bring it in again."
        raise StoreError(message) from error
    return book.model_copy(update={"digest": digest})


@contextmanager
def _without_collecting() -> Iterator[None]:
    """Make many objects at once without looking for garbage among them: half of the time."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()
