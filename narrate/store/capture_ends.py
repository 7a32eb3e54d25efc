"""What becomes of captures: a job to be heard, or nothing any more; and whether their files are all there."""

import hashlib
import json
import shutil
from collections.abc import Collection, Sequence
from pathlib import Path

from sqlalchemy import ColumnElement, Connection, and_, delete, func, or_, select, update

from narrate.store.capture_marks import photo_file
from narrate.store.capture_tables import capture, capture_mark, capture_photo, capture_piece, capture_run
from narrate.store.captures import folder_of, must_be, piece_file
from narrate.store.engine import Store
from narrate.store.jobs import new_job
from narrate.store.tables import job

JOINING = "joining-"
"""How folders begin in which a capture is joined: one is left where that was interrupted."""
KEPT_PIECES = '"kept": [['
"""In `told`: pieces of runs are still here, because they could not be joined."""


def become_job(
    store: Store, key: str, recordings: Sequence[str], *, name: str, total_s: float, pieces: int, told: object, who: str
) -> int | None:
    """Put what a capture has become in line to be heard, once however often it is asked; return the job's number.

    pieces: how many were joined; None is returned where more have come meanwhile, and they must be joined anew.
    """
    with store.writing() as connection:
        row = must_be(connection, key)
        if row.job_id is not None:
            return int(row.job_id)
        here = select(func.count()).select_from(capture_piece).where(capture_piece.c.key == key)
        if connection.scalar(here) != pieces:
            return None
        number = new_job(connection, recordings, name=name, who=who, visit_id=row.visit_id, total_s=total_s)
        mine = update(capture).where(capture.c.key == key)
        connection.execute(mine.values(job_id=number, told=json.dumps(told)))
        return number


def drop_pieces(store: Store, key: str, *, but: Collection[int] = ()) -> None:
    """Let go of the pieces of a capture that has become a recording, but for those of some runs; its photos wait on."""
    folder = folder_of(store, key)
    for run in (*folder.glob("run-*"), *folder.glob(f"{JOINING}*")):
        if run.name not in {f"run-{number}" for number in but}:
            shutil.rmtree(run, ignore_errors=True)
    if folder.is_dir() and not any(folder.iterdir()):
        folder.rmdir()


def captures_of(
    connection: Connection, jobs: Collection[int], visits: Collection[int], *, sound_only: bool = False
) -> tuple[str, ...]:
    """Return the keys of captures of jobs and orders; with `sound_only` those that hold sound still."""
    mine = or_(capture.c.job_id.in_(jobs), capture.c.visit_id.in_(visits))
    mine = and_(mine, with_pieces()) if sound_only else mine
    return tuple(sorted(connection.scalars(select(capture.c.key).where(mine))))


def captures_before(connection: Connection, before: str, *, most: int) -> tuple[str, ...]:
    """Return the keys of captures begun before a moment that hold sound still, or never became a walkaround."""
    over = and_(job.c.state.in_(("failed", "stopped")), job.c.walkaround_id.is_(None))
    asked = select(capture.c.key).join(job, capture.c.job_id == job.c.id, isouter=True)
    asked = asked.where(capture.c.added_at < before, or_(with_pieces(), over))
    return tuple(sorted(connection.scalars(asked.order_by(capture.c.added_at).limit(most))))


def with_pieces() -> ColumnElement[bool]:
    """Captures whose pieces are still here: not ended, or with some that could not be joined."""
    return or_(capture.c.job_id.is_(None), capture.c.told.contains(KEPT_PIECES, autoescape=True))


def erase_captures(connection: Connection, keys: Collection[str]) -> None:
    """Take captures out of the tables; their files are the caller's to delete."""
    for table in (capture_photo, capture_mark, capture_piece, capture_run, capture):
        connection.execute(delete(table).where(table.c.key.in_(keys)))


def files_of_captures(store: Store, keys: Collection[str]) -> list[Path]:
    """Return all that lies in the data folder of captures."""
    return [path for key in keys for path in folder_of(store, key).rglob("*") if path.is_file()]


def capture_files(store: Store, connection: Connection) -> list[Path]:
    """Return the files of captures that a connection speaks of: pieces that are still here, and photos that wait."""
    open_ = select(capture.c.key).where(capture.c.job_id.is_(None))
    pieces = connection.execute(select(capture_piece).where(capture_piece.c.key.in_(open_)))
    photos = connection.execute(select(capture_photo).where(capture_photo.c.attachment_id.is_(None)))
    kept = connection.scalars(select(capture.c.key).where(with_pieces(), capture.c.job_id.is_not(None)))
    files = [piece_file(store, row.key, row.run, row.number) for row in pieces]
    files += [photo_file(store, row.key, row.id) for row in photos]
    return files + [path for key in kept for path in files_of_captures(store, [key]) if path.parent.name[:4] == "run-"]


def capture_problems(store: Store, *, deep: bool = False) -> tuple[str, ...]:
    """Return what is wrong with pieces that are still to be joined and photos that wait, a sentence each."""
    with store.reading() as connection:
        open_ = select(capture.c.key).where(capture.c.job_id.is_(None))
        pieces = connection.execute(select(capture_piece).where(capture_piece.c.key.in_(open_))).all()
        photos = connection.execute(select(capture_photo).where(capture_photo.c.attachment_id.is_(None))).all()
    found = []
    for row in pieces:
        path = piece_file(store, row.key, row.run, row.number)
        whole = path.is_file() and path.stat().st_size == row.bytes
        if not whole or (deep and _digest(path) != row.sha256):
            piece = f"Piece {row.number} of run {row.run} of the recording {row.key[:12]}"
            found.append(f"{piece} is gone from the data folder or damaged; restore it from a backup.")
    for row in photos:
        path = photo_file(store, row.key, row.id)
        if not path.is_file() or (deep and _digest(path) != row.sha256):
            found.append(f"A photo of the recording {row.key[:12]} is gone or damaged; restore it from a backup.")
    return tuple(found)


def _digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()
