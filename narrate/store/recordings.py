"""Original recordings: kept once under their SHA-256, read-only, never written again."""

import hashlib
import os
import re
import secrets
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import select

from narrate.errors import MissingError, StoreError
from narrate.store.clock import now
from narrate.store.engine import Store
from narrate.store.tables import heard, recording

SUFFIX = re.compile(r"\.[a-z0-9]{1,15}")
PIECE = 1 << 20


@dataclass(frozen=True)
class KeptRecording:
    """What is known of an original file. `bytes` is its size, `suffix` begins with a dot or is empty."""

    sha256: str
    name: str
    suffix: str
    bytes: int
    duration_s: float | None
    video: bool
    added_at: str


def keep_recording(
    store: Store, source: Path, *, name: str, suffix: str, duration_s: float | None = None, video: bool = False
) -> str:
    """Copy a recording into the data folder, whole or not at all, and return its SHA-256.

    One that is there already stays as it is, under its first name. `source` is left alone. Raises StoreError
    where it cannot be read or kept, or where the one kept is damaged.
    """
    suffix = suffix.lower() if SUFFIX.fullmatch(suffix.lower()) else ""
    try:
        sha256, size, part = _copied(source, store.folder / "audio")
        try:
            told = {"name": name.replace("\0", ""), "suffix": suffix, "duration_s": duration_s, "video": video}
            # File and row under one lock: a recording may just be forgotten that comes a second time.
            with store.writing() as connection:
                asked = select(recording.c.suffix).where(recording.c.sha256 == sha256)
                known = connection.execute(asked).first()
                _keep_file(part, file_of(store, sha256, known.suffix if known else suffix), size)
                if known is None:
                    row = {**told, "sha256": sha256, "bytes": size, "added_at": now()}
                    connection.execute(recording.insert().values(**row))
        finally:
            part.unlink(missing_ok=True)
    except OSError as error:
        message = f"The recording {name} cannot be kept ({error.strerror}); check the data folder and its space."
        raise StoreError(message) from error
    return sha256


def kept_recording(store: Store, sha256: str) -> KeptRecording | None:
    """Return what is known of a recording, None where it was never kept."""
    with store.reading() as connection:
        row = connection.execute(select(recording).where(recording.c.sha256 == sha256)).mappings().first()
    return KeptRecording(**row) if row else None


def recording_file(store: Store, sha256: str) -> Path:
    """Return the original file. Raises MissingError where it was never kept, or is gone from the folder."""
    known = kept_recording(store, sha256)
    if known is None:
        message = f"There is no recording {sha256[:12]} in the store."
        raise MissingError(message)
    path = file_of(store, sha256, known.suffix)
    if not path.is_file():
        message = f"The recording {sha256[:12]} is gone from the data folder; restore it from a backup."
        raise MissingError(message)
    return path


def walkarounds_of(store: Store, sha256: str) -> tuple[str, ...]:
    """Return the ids of the walkarounds that a recording was heard for, the oldest first."""
    with store.reading() as connection:
        asked = select(heard.c.walkaround_id).where(heard.c.sha256 == sha256).distinct().order_by(heard.c.walkaround_id)
        return tuple(f"w{number}" for number in connection.scalars(asked))


def file_of(store: Store, sha256: str, suffix: str) -> Path:
    """Return where a recording lies: `audio/ab/ab….m4a` of the data folder."""
    return store.folder / "audio" / sha256[:2] / f"{sha256}{suffix}"


def _copied(source: Path, folder: Path) -> tuple[str, int, Path]:
    """Copy a file beside where it shall lie; return digest, size and the copy, which is safely on disk."""
    part = folder / f".{secrets.token_hex(8)}.part"
    digest, size = hashlib.sha256(), 0
    try:
        with source.open("rb") as stream, part.open("xb") as copy:
            while piece := stream.read(PIECE):
                digest.update(piece)
                size += copy.write(piece)
            copy.flush()
            os.fsync(copy.fileno())
    except BaseException:
        part.unlink(missing_ok=True)
        raise
    return digest.hexdigest(), size, part


def _keep_file(part: Path, target: Path, size: int) -> None:
    """Put a copy in its place, unless it is there already and whole."""
    if not target.exists():
        _put(part, target)
    elif target.stat().st_size != size:
        message = f"The recording {target.name[:12]} in the store is damaged; restore it from a backup."
        raise StoreError(message)


def _put(part: Path, target: Path) -> None:
    """Move a copy to its place, read-only, and have the folder's entry on disk."""
    target.parent.mkdir(exist_ok=True)
    part.chmod(0o444)
    part.replace(target)
    for folder in (target.parent, target.parent.parent):
        entry_on_disk(folder)


def entry_on_disk(folder: Path) -> None:
    """Have what was put into a folder outlive a power cut, where a folder can be opened as a file."""
    if hasattr(os, "O_DIRECTORY"):
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
