"""What a capture tells beside its sound: commands and answers, and photos that wait for their finding."""

import hashlib
import re
from pathlib import Path
from typing import Any

from sqlalchemy import select, update

from narrate.errors import UsageError
from narrate.records.capture import Mark
from narrate.store.capture_tables import capture, capture_mark, capture_photo
from narrate.store.captures import folder_of, must_be, write_piece
from narrate.store.engine import Store
from narrate.store.tables import job

ID = re.compile(r"[0-9a-zA-Z-]{1,64}")


def keep_mark(store: Store, key: str, mark: Mark, run: int) -> None:
    """Keep a command or an answer, or what became of it; its seconds are those of the run."""
    _check_id(mark.id)
    values = {"run": run, "record": mark.model_dump_json()}
    with store.writing() as connection:
        must_be(connection, key)
        mine = update(capture_mark).where(capture_mark.c.key == key, capture_mark.c.id == mark.id)
        if not connection.execute(mine.values(**values)).rowcount:
            connection.execute(capture_mark.insert().values(key=key, id=mark.id, **values))


def keep_photo(store: Store, key: str, id_: str, data: bytes, *, run: int, at_s: float) -> None:
    """Keep a photo (JPEG) taken at a moment of a run until its finding is known."""
    _check_id(id_)
    found = hashlib.sha256(data).hexdigest()
    with store.writing() as connection:
        must_be(connection, key)
        known = select(capture_photo.c.sha256).where(capture_photo.c.key == key, capture_photo.c.id == id_)
        if connection.scalar(known) is None:
            write_piece(photo_file(store, key, id_), data)
            values = {"key": key, "id": id_, "run": run, "at_s": at_s, "sha256": found}
            connection.execute(capture_photo.insert().values(**values))


def marks_of(store: Store, key: str) -> tuple[tuple[int, Mark], ...]:
    """Return the commands and answers of a capture with their runs."""
    asked = select(capture_mark).where(capture_mark.c.key == key).order_by(capture_mark.c.run, capture_mark.c.id)
    with store.reading() as connection:
        return tuple((row.run, Mark.model_validate_json(row.record)) for row in connection.execute(asked))


def photos_of(store: Store, key: str) -> tuple[Any, ...]:
    """Return the photos of a capture: rows with `id`, `run`, `at_s`, `sha256` and `attachment_id`."""
    asked = select(capture_photo).where(capture_photo.c.key == key).order_by(capture_photo.c.run, capture_photo.c.at_s)
    with store.reading() as connection:
        return tuple(connection.execute(asked))


def waiting_photos(store: Store) -> tuple[Any, ...]:
    """Return the photos whose capture was heard and that have no finding yet: rows with `key` too."""
    over = select(capture.c.key).join(job, capture.c.job_id == job.c.id).where(job.c.walkaround_id.is_not(None))
    asked = select(capture_photo).where(capture_photo.c.attachment_id.is_(None), capture_photo.c.key.in_(over))
    with store.reading() as connection:
        return tuple(connection.execute(asked))


def photo_attached(store: Store, key: str, id_: str, attachment_id: int) -> None:
    """Note which attachment a photo has become, and let go of its file."""
    mine = update(capture_photo).where(capture_photo.c.key == key, capture_photo.c.id == id_)
    with store.writing() as connection:
        connection.execute(mine.values(attachment_id=attachment_id))
    photo_file(store, key, id_).unlink(missing_ok=True)


def photo_file(store: Store, key: str, id_: str) -> Path:
    """Return where a photo waits."""
    return folder_of(store, key) / f"photo-{id_}.jpg"


def _check_id(id_: str) -> None:
    if not ID.fullmatch(id_):
        message = "This is no name of a mark or a photo; load the page again."
        raise UsageError(message)
