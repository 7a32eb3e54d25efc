"""Captures: recordings that come in pieces while somebody speaks, kept before they are acknowledged.

Whoever sends may send anything again: the same bytes under the same number are the same piece. The pieces of a
capture lie in `captures/<key>/` of the data folder until it has become a recording.
"""

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Row, func, select, update

from narrate.atomic import written_whole
from narrate.errors import ConflictError, MissingError, StoreError, UsageError
from narrate.store.capture_tables import capture, capture_piece, capture_run
from narrate.store.clock import now
from narrate.store.engine import Store
from narrate.store.recordings import entry_on_disk
from narrate.store.tables import job

KEY = re.compile(r"[0-9a-f]{32}")
MOST_NUMBER = 1_000_000
FOLDER = "captures"


@dataclass(frozen=True, kw_only=True)
class Run:
    """A recorder from its start to its end. Pieces by number; `seconds` of the last one's end, by the recorder."""

    run: int
    mime: str
    started_at: str
    pieces: Mapping[int, "Piece"]

    @property
    def seconds(self) -> float:
        """How long it is, as far as its pieces are here."""
        return max((piece.to_s for piece in self.pieces.values()), default=0.0)

    @property
    def spans(self) -> list[tuple[int, int]]:
        """First and last number, inclusive, of each stretch of pieces without a hole."""
        spans: list[tuple[int, int]] = []
        for number in sorted(self.pieces):
            if spans and number == spans[-1][1] + 1:
                spans[-1] = (spans[-1][0], number)
            else:
                spans.append((number, number))
        return spans


@dataclass(frozen=True, kw_only=True)
class Piece:
    """A few seconds of a run, by the recorder's clock."""

    sha256: str
    bytes: int
    from_s: float
    to_s: float


@dataclass(frozen=True, kw_only=True)
class Capture:
    """A capture as it is. `state`: `open`, `queued` (heard in its turn), `done` or `failed`."""

    key: str
    visit_id: int | None
    device: str
    started_at: str
    added_by: str
    state: str
    why: str
    job_id: int | None
    walkaround: str | None
    runs: tuple[Run, ...]
    told: Any
    """What was kept with `become_job`; None before."""

    @property
    def safe_s(self) -> float:
        """Seconds that are here."""
        return sum(piece.to_s - piece.from_s for run in self.runs for piece in run.pieces.values())


def begin(store: Store, key: str, *, visit_id: int | None, device: str, started_at: str, who: str) -> None:
    """Make a capture, or say anew which order it is for. Raises UsageError for a key that is none."""
    _check(key)
    told = {"visit_id": visit_id, "device": device[:200]}
    with store.writing() as connection:
        if _row(connection, key) is None:
            values = {**told, "key": key, "started_at": started_at[:32], "added_at": now(), "added_by": who[:80]}
            connection.execute(capture.insert().values(**values))
        else:
            mine = update(capture).where(capture.c.key == key, capture.c.job_id.is_(None))
            connection.execute(mine.values(**told))


def begin_run(store: Store, key: str, run: int, *, mime: str, started_at: str) -> None:
    """Say that a recorder began. Raises MissingError where there is no such capture."""
    with store.writing() as connection:
        must_be(connection, key)
        known = select(capture_run.c.run).where(capture_run.c.key == key, capture_run.c.run == run)
        if connection.execute(known).first() is None:
            values = {"key": key, "run": run, "mime": mime[:120], "started_at": started_at[:32]}
            connection.execute(capture_run.insert().values(**values))


def keep_piece(
    store: Store, key: str, run: int, number: int, data: bytes, *, from_s: float, to_s: float, sha256: str | None
) -> float:
    """Keep a piece; when this returns it is on disk and entered. Return how many seconds of the capture are here.

    Raises UsageError where the bytes are not those of `sha256`, ConflictError where other bytes are there under the
    number, MissingError where there is no such run, StoreError where it cannot be kept.
    """
    found = hashlib.sha256(data).hexdigest()
    if sha256 and sha256 != found:
        message = "This piece was damaged on its way; send it again."
        raise UsageError(message)
    if not 0 <= number < MOST_NUMBER or not data:
        message = "This is no piece of a recording; send it with its number and its bytes."
        raise UsageError(message)
    # File and row under one lock: the same piece may come twice at once, or while the capture ends.
    with store.writing() as connection:
        of_capture = must_be(connection, key)
        _must_run(connection, key, run)
        known = connection.scalar(_piece(key, run, number))
        if known != found:
            if known or of_capture.job_id is not None:
                what = "Another piece is here under this number" if known else "This recording was ended"
                message = f"{what}; begin a new recording."
                raise ConflictError(message)
            write_piece(piece_file(store, key, run, number), data)
            values = {"key": key, "run": run, "number": number, "sha256": found, "bytes": len(data)}
            connection.execute(capture_piece.insert().values(**values, from_s=from_s, to_s=to_s))
        seconds = func.sum(capture_piece.c.to_s - capture_piece.c.from_s)
        return float(connection.scalar(select(seconds).where(capture_piece.c.key == key)) or 0.0)


def read_capture(store: Store, key: str) -> Capture:
    """Return a capture. Raises MissingError where there is none."""
    with store.reading() as connection:
        return _capture(connection, must_be(connection, key))


def captures_with(store: Store, *, unfinished: bool = True) -> tuple[Capture, ...]:
    """Return captures that have not become recordings (or, without `unfinished`, those that have), newest first."""
    which = capture.c.job_id.is_(None) if unfinished else capture.c.job_id.is_not(None)
    with store.reading() as connection:
        rows = connection.execute(_asked().where(which).order_by(capture.c.added_at.desc()).limit(200)).all()
        return tuple(_capture(connection, row) for row in rows)


def capture_of_job(store: Store, job_id: int) -> Capture | None:
    """Return the capture that a job came of, None where it came of none."""
    with store.reading() as connection:
        row = connection.execute(_asked().where(capture.c.job_id == job_id)).first()
        return _capture(connection, row) if row else None


def folder_of(store: Store, key: str) -> Path:
    """Return where the files of a capture lie."""
    return store.folder / FOLDER / key


def piece_file(store: Store, key: str, run: int, number: int) -> Path:
    """Return where a piece lies."""
    return folder_of(store, key) / f"run-{run}" / f"{number:07d}"


def write_piece(path: Path, data: bytes) -> None:
    """Have bytes on disk, whole or not at all. Raises StoreError."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with written_whole(path) as stream:
            stream.write(data)
        entry_on_disk(path.parent)
        entry_on_disk(path.parent.parent)
    except OSError as error:
        message = f"A piece of a recording cannot be kept ({error.strerror}); check the data folder and its space."
        raise StoreError(message) from error


def _capture(connection: Connection, row: Row[Any]) -> Capture:
    pieces: dict[int, dict[int, Piece]] = {}
    for each in connection.execute(select(capture_piece).where(capture_piece.c.key == row.key)):
        piece = Piece(sha256=each.sha256, bytes=each.bytes, from_s=each.from_s, to_s=each.to_s)
        pieces.setdefault(each.run, {})[each.number] = piece
    runs = connection.execute(select(capture_run).where(capture_run.c.key == row.key).order_by(capture_run.c.run))
    over = {"done": "done", "failed": "failed", "stopped": "failed"}
    return Capture(
        key=row.key,
        visit_id=row.visit_id,
        device=row.device,
        started_at=row.started_at,
        added_by=row.added_by,
        state="open" if row.job_id is None else over.get(row.job_state, "queued"),
        why=row.why or "",
        job_id=row.job_id,
        walkaround=f"w{row.walkaround_id}" if row.walkaround_id else None,
        runs=tuple(
            Run(run=each.run, mime=each.mime, started_at=each.started_at, pieces=pieces.get(each.run, {}))
            for each in runs
        ),
        told=json.loads(row.told) if row.told else None,
    )


def _asked() -> Any:  # noqa: ANN401 - a query with columns of two tables
    state = (job.c.state.label("job_state"), job.c.why, job.c.walkaround_id)
    return select(capture, *state).join(job, capture.c.job_id == job.c.id, isouter=True)


def _row(connection: Connection, key: str) -> Row[Any] | None:
    return connection.execute(_asked().where(capture.c.key == key)).first()


def must_be(connection: Connection, key: str) -> Row[Any]:
    """Return the row of a capture. Raises MissingError where there is none."""
    row = _row(connection, key)
    if row is None:
        message = "There is no such recording here; begin it anew."
        raise MissingError(message)
    return row


def _must_run(connection: Connection, key: str, run: int) -> None:
    known = select(capture_run.c.run).where(capture_run.c.key == key, capture_run.c.run == run)
    if connection.execute(known).first() is None:
        message = f"Run {run} of this recording was not begun; begin it first."
        raise MissingError(message)


def _piece(key: str, run: int, number: int) -> Any:  # noqa: ANN401 - a query
    mine = (capture_piece.c.key == key, capture_piece.c.run == run, capture_piece.c.number == number)
    return select(capture_piece.c.sha256).where(*mine)


def _check(key: str) -> None:
    if not KEY.fullmatch(key):
        message = "This is no key of a recording; load the page again."
        raise UsageError(message)
