"""Photos, stills and clips that belong to a walkaround; which finding has one, the finding's own list says."""

import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from sqlalchemy import Row, select

from narrate.atomic import written_whole
from narrate.errors import MissingError, StoreError
from narrate.store.clock import now
from narrate.store.engine import Store
from narrate.store.keeping import row_of
from narrate.store.tables import attachment, walkaround

Kind = Literal["photo", "still", "clip"]
TYPES = {".jpg": "image/jpeg", ".ogg": "audio/ogg"}


@dataclass(frozen=True, kw_only=True)
class Attachment:
    """One file beside a walkaround."""

    id: str
    """`a12`, as a finding's `attachments` has it."""
    walkaround: str
    sha256: str
    kind: str
    suffix: str
    text: str
    """What it is, for who cannot see or hear it."""
    added_at: str

    @property
    def type(self) -> str:
        """Its media type."""
        return TYPES[self.suffix]


def keep_attachment(store: Store, walkaround_id: str, data: bytes, *, kind: Kind, suffix: str, text: str) -> Attachment:
    """Keep a file beside a walkaround; one with the very same bytes there is that one. `suffix`: a key of TYPES.

    Raises MissingError for a walkaround there is not, StoreError where it cannot be written.
    """
    sha256 = hashlib.sha256(data).hexdigest()
    row = row_of(walkaround_id)
    with store.writing() as connection:
        if connection.scalar(select(walkaround.c.id).where(walkaround.c.id == row)) is None:
            message = f"There is no walkaround {walkaround_id!r} in the store."
            raise MissingError(message)
        same = select(attachment).where(attachment.c.walkaround_id == row, attachment.c.sha256 == sha256)
        known = connection.execute(same).first()
        if known is not None:
            return _attachment(known)
        _write(place_of(store, sha256, suffix), data)
        values = {"walkaround_id": row, "sha256": sha256, "kind": kind, "suffix": suffix, "text": text}
        added = connection.execute(attachment.insert().values(**values, added_at=now())).inserted_primary_key
        number = added[0] if added else 0
        return _attachment(connection.execute(select(attachment).where(attachment.c.id == number)).one())


def read_attachment(store: Store, id_: str) -> Attachment:
    """Return what is known of an attachment. Raises MissingError."""
    digits = id_[1:]
    row = None
    # Tables hold 32 bits on PostgreSQL.
    if id_[:1] == "a" and digits.isascii() and digits.isdigit() and len(digits) < 10:
        with store.reading() as connection:
            row = connection.execute(select(attachment).where(attachment.c.id == int(digits))).first()
    if row is None:
        message = f"There is no attachment {id_!r} in the store."
        raise MissingError(message)
    return _attachment(row)


def attachments_of(store: Store, walkaround_id: str) -> tuple[Attachment, ...]:
    """Return all attachments of a walkaround, the oldest first, whether a finding has them or not."""
    chosen = select(attachment).where(attachment.c.walkaround_id == row_of(walkaround_id)).order_by(attachment.c.id)
    with store.reading() as connection:
        return tuple(_attachment(row) for row in connection.execute(chosen))


def kinds_of(store: Store, walkaround_id: str) -> dict[str, str]:
    """Return the kind of each attachment of a walkaround by its id."""
    return {each.id: each.kind for each in attachments_of(store, walkaround_id)}


def attachment_file(store: Store, kept: Attachment) -> Path:
    """Return an attachment's file. Raises MissingError where it is gone from the data folder."""
    path = place_of(store, kept.sha256, kept.suffix)
    if not path.is_file():
        message = f"The file of {kept.id} is gone from the data folder; restore it from a backup."
        raise MissingError(message)
    return path


def place_of(store: Store, sha256: str, suffix: str) -> Path:
    """Return where an attachment lies: `attachments/ab/ab….jpg` of the data folder."""
    return store.folder / "attachments" / sha256[:2] / f"{sha256}{suffix}"


def _write(place: Path, data: bytes) -> None:
    """Write a file whole or not at all."""
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        with written_whole(place) as file:
            file.write(data)
    except OSError as error:
        message = f"The attachment cannot be kept ({error.strerror}); check the data folder and its space."
        raise StoreError(message) from error


def _attachment(row: Row[tuple[object, ...]]) -> Attachment:
    same = {name: getattr(row, name) for name in ("sha256", "kind", "suffix", "text", "added_at")}
    return Attachment(id=f"a{row.id}", walkaround=f"w{row.walkaround_id}", **same)
