"""What a customer's or a vehicle's orders have that became no list: recordings that wait or failed, and captures."""

import json
import re
import tempfile
import zipfile
from collections.abc import Collection, Iterator
from pathlib import Path

from sqlalchemy import Connection, select

from narrate.hear.pieces import kind_of, put_together
from narrate.store.capture_ends import captures_of
from narrate.store.capture_marks import photo_file
from narrate.store.capture_tables import capture, capture_photo
from narrate.store.captures import piece_file, read_capture
from narrate.store.engine import Store
from narrate.store.recordings import file_of
from narrate.store.tables import job, recording

FOLDER = "not in a list"
NAME = re.compile(r"[^\w. -]+")


def told_apart(sha256: str, name: str) -> str:
    """What a recording is called in an archive: by its name, and apart from others of the same."""
    return f"{sha256[:8]} {NAME.sub('_', Path(name).stem)[:80]}"


def write_begun(store: Store, connection: Connection, visits: Collection[int], archive: zipfile.ZipFile) -> int:
    """Put them into an archive; return how many recordings."""
    waiting = _recordings(store, connection, visits, archive)
    keys = captures_of(connection, (), visits, sound_only=True)
    begun = sum(_capture(store, key, archive) for key in keys)
    _photos(store, connection, visits, archive)
    return waiting + begun


def _recordings(store: Store, connection: Connection, visits: Collection[int], archive: zipfile.ZipFile) -> int:
    asked = select(job.c.recordings).where(job.c.visit_id.in_(visits), job.c.walkaround_id.is_(None))
    digests = {sha256 for told in connection.scalars(asked) for sha256 in json.loads(told)}
    number = 0
    for row in connection.execute(select(recording).where(recording.c.sha256.in_(digests))):
        path = file_of(store, row.sha256, row.suffix)
        if path.is_file():
            number += 1
            archive.write(path, f"{FOLDER}/{told_apart(row.sha256, row.name)}{row.suffix}", zipfile.ZIP_STORED)
    return number


def _capture(store: Store, key: str, archive: zipfile.ZipFile) -> int:
    """Each run's stretches without a hole, as files that can be played; one that cannot is there as it came."""
    read = read_capture(store, key)
    number = 0
    for run in read.runs:
        first = piece_file(store, key, run.run, 0)
        for begins, ends in run.spans:
            pieces = [piece_file(store, key, run.run, each) for each in range(begins, ends + 1)]
            if not all(each.is_file() for each in pieces):
                continue
            with tempfile.TemporaryDirectory(prefix="narrate-") as place:
                whole = Path(place) / "whole"
                put_together(pieces, whole, first=first if begins and first.is_file() else None)
                if not whole.stat().st_size:
                    put_together(pieces, whole)
                name = f"{FOLDER}/{key[:8]} {run.run}-{begins}{kind_of(whole)}"
                archive.write(whole, name, zipfile.ZIP_STORED)
            number += 1
    return number


def _photos(store: Store, connection: Connection, visits: Collection[int], archive: zipfile.ZipFile) -> None:
    for key, id_ in _photos_waiting(connection, visits):
        path = photo_file(store, key, id_)
        if path.is_file():
            archive.write(path, f"{FOLDER}/{key[:8]} {path.name}", zipfile.ZIP_STORED)


def _photos_waiting(connection: Connection, visits: Collection[int]) -> Iterator[tuple[str, str]]:
    asked = select(capture_photo.c.key, capture_photo.c.id).join(capture, capture.c.key == capture_photo.c.key)
    rows = connection.execute(asked.where(capture.c.visit_id.in_(visits), capture_photo.c.attachment_id.is_(None)))
    yield from ((row.key, row.id) for row in rows.all())
