"""A backup put back: into a new folder, whole and checked, or not at all."""

import hashlib
import json
import os
import secrets
import shutil
import tarfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from sqlalchemy import create_engine, inspect, make_url

from narrate.errors import StoreError, UsageError
from narrate.settings import store_url
from narrate.store.backing_up import DATA, DATABASE, DUMP, KEPT, MANIFEST, SCHEMA, run_postgresql
from narrate.store.engine import FILE, open_store
from narrate.store.events import head
from narrate.store.verifying import verify

PIECE = 1 << 20
LONGEST_MANIFEST = 1 << 30


@dataclass(frozen=True, kw_only=True)
class Restored:
    """A store that was put back. `problems`: what was wrong with it when it was backed up, one sentence each."""

    folder: Path
    made_at: str
    events: int
    files: int
    problems: tuple[str, ...]


def restore(file: Path, data: Path, url: str | None = None) -> Restored:
    """Put a backup into a data folder that is new or empty; of a PostgreSQL store into the empty database at `url`.

    Raises UsageError for a folder or database with something in it and for what is no backup, StoreError for a
    damaged one; then nothing is left of it.
    """
    if data.exists() and (not data.is_dir() or any(data.iterdir())):
        message = f"{data} is not empty; name a new folder, and a store that is there stays as it is."
        raise UsageError(message)
    address = url or store_url()
    with _opened(file) as tar:
        manifest = _manifest(tar, file)
        _check_engine(manifest["engine"], address)
        beside = data.with_name(f".{data.name}.{secrets.token_hex(4)}.part")
        try:
            _extract(tar, manifest, beside, file)
            dump = beside / DUMP
            if dump.exists():
                _fill(address or "", dump)
                dump.unlink()
            if data.exists():
                data.rmdir()
            beside.rename(data)
        except OSError as error:
            message = f"{data} cannot be written ({error.strerror}); check its permissions and space."
            raise StoreError(message) from error
        finally:
            shutil.rmtree(beside, ignore_errors=True)
    return _checked(data, manifest, address)


def _checked(data: Path, manifest: dict[str, Any], address: str | None) -> Restored:
    store = open_store(data, address)
    try:
        problems = verify(store)
        number, digest = head(store)
    finally:
        store.close()
    if (number, digest) != (manifest["events"], manifest["head"]):
        problems.insert(0, "The last event is not the one that the backup was made at.")
    kept = {"made_at": manifest["made_at"], "events": number, "files": len(manifest["files"])}
    return Restored(folder=data, problems=tuple(problems), **kept)


@contextmanager
def _opened(file: Path) -> Iterator[tarfile.TarFile]:
    try:
        with tarfile.open(file, mode="r:") as tar:
            yield tar
    except tarfile.TarError as error:
        message = f"{file} is no whole backup ({error}); take another one."
        raise StoreError(message) from error
    except FileNotFoundError as error:
        message = f"There is no backup {file}; correct the name."
        raise UsageError(message) from error


def _manifest(tar: tarfile.TarFile, file: Path) -> dict[str, Any]:
    try:
        entry = tar.getmember(MANIFEST)
        stream = tar.extractfile(entry)
        read = json.loads(stream.read(LONGEST_MANIFEST)) if stream else None
    except (KeyError, ValueError) as error:
        message = f"{file} is no whole backup of narrate's: its manifest is missing or damaged; take another one."
        raise StoreError(message) from error
    if not isinstance(read, dict) or read.get("schema") != SCHEMA:
        message = f"{file} is no {SCHEMA}; restore it with the narrate that wrote it."
        raise UsageError(message)
    return read


def _check_engine(engine: str, address: str | None) -> None:
    """Raises UsageError where the backup is of another kind of store, or its database is not empty."""
    if (engine == "postgresql") != (address is not None):
        wanted = "set NARRATE_STORE to an empty PostgreSQL database" if address is None else "unset NARRATE_STORE"
        message = f"The backup is of a {engine} store; {wanted} and restore it again."
        raise UsageError(message)
    if address is not None:
        asked = create_engine(make_url(address).set(drivername="postgresql+psycopg"))
        try:
            if inspect(asked).get_table_names():
                message = "The database that NARRATE_STORE names is not empty; name an empty one."
                raise UsageError(message)
        finally:
            asked.dispose()


def _extract(tar: tarfile.TarFile, manifest: dict[str, Any], beside: Path, file: Path) -> None:
    """Write every file of the manifest, and compare it with what the manifest says of it."""
    beside.mkdir(parents=True)
    entries = {entry.name: entry for entry in tar}
    for name, told in manifest["files"].items():
        entry = entries.get(name)
        stream = tar.extractfile(entry) if entry is not None and entry.isreg() else None
        target = _target(beside, name)
        if stream is None or target is None:
            message = f"{file} is damaged: {name} is not in it as it should be; take another backup."
            raise StoreError(message)
        target.parent.mkdir(parents=True, exist_ok=True)
        digest = hashlib.sha256()
        with target.open("xb") as copy:
            while piece := stream.read(PIECE):
                digest.update(piece)
                copy.write(piece)
            copy.flush()
            os.fsync(copy.fileno())
        if digest.hexdigest() != told["sha256"] or target.stat().st_size != told["bytes"]:
            message = f"{file} is damaged: {name} is not what was backed up; take another backup."
            raise StoreError(message)
        target.chmod(0o444 if name.startswith(KEPT[0]) else 0o600)


def _target(beside: Path, name: str) -> Path | None:
    """Where a file of the archive belongs; None for a name that leads elsewhere."""
    top, *rest = PurePosixPath(name).parts
    if top == DATABASE and rest in ([FILE], [DUMP]):
        return beside / rest[0]
    if top != DATA or not rest or ".." in rest or any("\\" in part or ":" in part for part in rest):
        return None
    return None if rest[0].startswith(FILE) else beside.joinpath(*rest)


def _fill(address: str, dump: Path) -> None:
    options = ["--no-owner", "--no-privileges", "--single-transaction", "--exit-on-error", str(dump)]
    run_postgresql("pg_restore", options, make_url(address))
