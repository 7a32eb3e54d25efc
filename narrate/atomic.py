"""Files appear whole or not at all."""

import os
import secrets
from pathlib import Path

from narrate.errors import NarrateError


def write_atomically(path: Path, content: bytes) -> None:
    """Write `content` beside `path` and move it there; a reader never sees half a file."""
    # Not tempfile: its files are readable by the owner only, and the move keeps that.
    beside = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        try:
            with beside.open("xb") as stream:
                stream.write(content)
                stream.flush()
                os.fsync(stream.fileno())
            beside.replace(path)
        finally:
            beside.unlink(missing_ok=True)
    except OSError as error:
        message = f"{path} cannot be written ({error.strerror}); check the folder and its permissions."
        raise NarrateError(message) from error
