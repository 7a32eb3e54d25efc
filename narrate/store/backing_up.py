"""A backup: one archive with the database as it was at one moment, and every file that it speaks of.

The archive is a plain tar, written as a stream. Recordings come first, the database after them, and last a manifest
with size and SHA-256 of each: whatever was written until the database was copied is in it, and writers need not wait.
"""

import hashlib
import io
import json
import os
import shutil
import sqlite3
import subprocess
import tarfile
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, BinaryIO

from sqlalchemy import URL, Connection, create_engine, select, text

from narrate.atomic import written_whole
from narrate.errors import StoreError, UsageError
from narrate.store.attachments import place_of
from narrate.store.capture_ends import capture_files
from narrate.store.chain import GENESIS
from narrate.store.clock import now
from narrate.store.engine import FILE, Store
from narrate.store.recordings import file_of
from narrate.store.tables import attachment, event, recording

SCHEMA = "narrate.backup/1"
MANIFEST = "manifest.json"
DUMP = "narrate.pgdump"
DATA, DATABASE = "data", "database"
"""Folders of the archive."""
KEPT = (f"{DATA}/audio/", f"{DATA}/attachments/")
PIECES = f"{DATA}/captures/"
NOT_KEPT = ("audio", "attachments", "captures", "incoming")
"""Folders of the data folder that are not taken as they are: the database says which of their files count."""
TRIES = 3


@dataclass(frozen=True, kw_only=True)
class Backup:
    """A backup that was written."""

    file: Path
    bytes: int
    events: int
    """The number of the last event in it."""
    head: str
    """Its digest."""
    files: int
    problems: tuple[str, ...] = ()
    """Files that were missing or damaged already, one sentence each."""


@dataclass
class _Writing:
    """An archive being written, and what is in it."""

    tar: tarfile.TarFile
    files: dict[str, dict[str, str | int]] = field(default_factory=dict)

    def add(self, name: str, path: Path) -> None:
        """Put a file in, unless it is in already. Raises FileNotFoundError."""
        if name in self.files:
            return
        with path.open("rb") as stream:
            size = os.fstat(stream.fileno()).st_size
            told = tarfile.TarInfo(name)
            told.size, told.mode, told.mtime = size, 0o600, int(path.stat().st_mtime)
            reading = _Hashing(stream)
            self.tar.addfile(told, reading)
        self.files[name] = {"bytes": size, "sha256": reading.digest.hexdigest()}


class _Hashing(io.RawIOBase):
    """A file that is read once, hashed on the way."""

    def __init__(self, stream: BinaryIO) -> None:
        super().__init__()
        self._stream = stream
        self.digest = hashlib.sha256()

    def read(self, size: int = -1, /) -> bytes:
        piece = self._stream.read(size)
        self.digest.update(piece)
        return piece


def back_up(store: Store, file: Path) -> Backup:
    """Write a backup of a store, whole or not at all; others may go on writing meanwhile.

    Raises UsageError where `file` is there already, StoreError where it cannot be written.
    """
    if file.exists():
        message = f"{file} is there already; give the backup another name."
        raise UsageError(message)
    try:
        # Everything the shop knows lies in it, so it is nobody else's to read.
        with (
            written_whole(file, mode=0o600) as stream,
            tarfile.open(fileobj=stream, mode="w", format=tarfile.PAX_FORMAT) as tar,
        ):
            told = _write(store, _Writing(tar))
    except OSError as error:
        message = f"The backup {file} cannot be written ({error.strerror}); check the folder and its space."
        raise StoreError(message) from error
    return Backup(file=file, bytes=file.stat().st_size, **told)


def _write(store: Store, archive: _Writing) -> dict[str, Any]:
    """Fill an archive; return what `Backup` tells of it."""
    for path in _other_files(store):
        archive.add(f"{DATA}/{path.relative_to(store.folder).as_posix()}", path)
    # Recordings of now are nearly all there are: they are copied before the moment that the backup is of.
    with store.reading() as connection:
        _add_files(store, connection, archive)
    with tempfile.TemporaryDirectory(prefix="narrate-", dir=store.folder / "incoming") as folder:
        copy = Path(folder) / (FILE if store.engine.dialect.name == "sqlite" else DUMP)
        for _ in range(TRIES):
            with _copied(store, copy) as connection:
                wanted, missing = _add_files(store, connection, archive)
                told = _manifest(store, connection)
            # What was forgotten since is in the copy still; then another one is taken.
            gone = [path for path in missing if _is_known(store, path.name[:64])]
            if len(gone) == len(missing):
                break
        archive.add(f"{DATABASE}/{copy.name}", copy)
    # What was copied and forgotten since is in the archive, but nobody puts it back.
    entered = (*KEPT, PIECES)
    files = archive.files.items()
    told["files"] = {name: of_it for name, of_it in files if name in wanted or not name.startswith(entered)}
    manifest = json.dumps(told, indent=1, ensure_ascii=False).encode()
    entry = tarfile.TarInfo(MANIFEST)
    entry.size, entry.mode = len(manifest), 0o600
    archive.tar.addfile(entry, io.BytesIO(manifest))
    problems = [f"The file {path.name[:12]} is missing from the data folder." for path in gone]
    problems += [
        f"The file {Path(name).name[:12]} is damaged; it is in the backup as it is."
        for name, of_it in told["files"].items()
        if _is_kept(name) and Path(name).name[:64] != of_it["sha256"]
    ]
    counted = {"events": told["events"], "head": told["head"], "files": len(told["files"])}
    return {**counted, "problems": tuple(problems)}


def _other_files(store: Store) -> Iterator[Path]:
    """What else lies in the data folder: the shop's own words, and whatever the shop put there."""
    for top in sorted(store.folder.iterdir()):
        if top.name not in NOT_KEPT and not top.name.startswith((FILE, ".", "forgetting-")):
            yield from (path for path in sorted([top, *top.rglob("*")]) if path.is_file() and not path.is_symlink())


def _is_kept(name: str) -> bool:
    return name.startswith(KEPT)


def _add_files(store: Store, connection: Connection, archive: _Writing) -> tuple[set[str], list[Path]]:
    """Put in the recordings and attachments that a connection speaks of; return their names, and which are missing."""
    wanted, missing = set(), []
    kept = connection.execute(select(recording.c.sha256, recording.c.suffix)).all()
    attached = connection.execute(select(attachment.c.sha256, attachment.c.suffix).distinct()).all()
    places = [file_of(store, row.sha256, row.suffix) for row in kept]
    places += [place_of(store, row.sha256, row.suffix) for row in attached]
    places += capture_files(store, connection)
    for path in places:
        name = f"{DATA}/{path.relative_to(store.folder).as_posix()}"
        wanted.add(name)
        try:
            archive.add(name, path)
        except FileNotFoundError:
            missing.append(path)
    return wanted, missing


def _manifest(store: Store, connection: Connection) -> dict[str, Any]:
    last = connection.execute(select(event.c.number, event.c.digest).order_by(event.c.number.desc()).limit(1)).first()
    return {
        "schema": SCHEMA,
        "made_at": now(),
        "engine": store.engine.dialect.name,
        "tables": connection.scalar(text("SELECT version_num FROM alembic_version")),
        "events": last.number if last else 0,
        "head": last.digest if last else GENESIS,
    }


def _is_known(store: Store, sha256: str) -> bool:
    """Whether the store, as it is now, speaks of a file."""
    with store.reading() as connection:
        asked = [select(table.c.sha256).where(table.c.sha256 == sha256) for table in (recording, attachment)]
        return any(connection.execute(each).first() for each in asked)


@contextmanager
def _copied(store: Store, copy: Path) -> Iterator[Connection]:
    """Copy the database as it is at one moment, and give a connection that sees it as the copy does."""
    copy.unlink(missing_ok=True)
    if store.engine.dialect.name == "postgresql":
        with store.reading() as connection:
            dump(store.engine.url, copy, str(connection.scalar(text("SELECT pg_export_snapshot()"))))
            yield connection
        return
    try:
        with closing(sqlite3.connect(store.folder / FILE)) as there, closing(sqlite3.connect(copy)) as here:
            # All pages in one step: others write on beside it, and it begins anew for none of them.
            there.backup(here)
            # The copy is one file: it has no log beside it.
            here.execute("PRAGMA journal_mode = DELETE")
    except sqlite3.Error as error:
        message = f"The store cannot be copied ({error}); run 'narrate doctor'."
        raise StoreError(message) from error
    engine = create_engine(URL.create("sqlite", database=str(copy)))
    try:
        with engine.connect() as connection:
            yield connection
    finally:
        engine.dispose()


def dump(url: URL, copy: Path, snapshot: str) -> None:
    """Write a PostgreSQL database, as a snapshot sees it, to a file. Raises StoreError."""
    command = ["--format=custom", "--no-owner", "--no-privileges", f"--snapshot={snapshot}", f"--file={copy}"]
    run_postgresql("pg_dump", command, url)


def run_postgresql(program: str, arguments: list[str], url: URL) -> None:
    """Run one of PostgreSQL's own programs on a database. Raises StoreError, with what it said."""
    found = shutil.which(program)
    if found is None:
        message = f"A PostgreSQL store needs the program {program}; install PostgreSQL's client programs."
        raise StoreError(message)
    # Everybody on this machine can read the arguments of programs: the password goes another way.
    plain = url.set(drivername="postgresql", password=None).render_as_string()
    environment = {**os.environ, **({"PGPASSWORD": str(url.password)} if url.password else {})}
    command = [found, *arguments, f"--dbname={plain}"]
    done = subprocess.run(command, check=False, capture_output=True, text=True, env=environment)
    if done.returncode:
        said = (done.stderr.strip().splitlines() or ["no reason given"])[-1]
        message = f"{program} failed ({said}); check NARRATE_STORE, and that its version is the server's or newer."
        raise StoreError(message)
