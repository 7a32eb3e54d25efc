"""Files appear whole or not at all."""

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from narrate.errors import NarrateError


@contextmanager
def written_whole(path: Path, *, mode: int = 0o666) -> Iterator[BinaryIO]:
    """Give a file to write and read back, which becomes `path` once it is whole and on disk; else nothing is left.

    mode: who may read it, under the process's mask. Raises OSError where it cannot be written.
    """
    # Not tempfile: its files are readable by the owner only, and the move keeps that.
    beside = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        with os.fdopen(os.open(beside, os.O_RDWR | os.O_CREAT | os.O_EXCL, mode), "w+b") as stream:
            yield stream
            stream.flush()
            os.fsync(stream.fileno())
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


def write_atomically(path: Path, content: bytes) -> None:
    """Write `content` beside `path` and move it there; a reader never sees half a file."""
    try:
        with written_whole(path) as stream:
            stream.write(content)
    except OSError as error:
        message = f"{path} cannot be written ({error.strerror}); check the folder and its permissions."
        raise NarrateError(message) from error
