"""Finished work appears whole or not at all, whenever the program is stopped.

A folder is written under a hidden name beside its place and moved there. What a killed program left under
hidden names is tidied up by the next run.
"""

import contextlib
import os
import re
import secrets
import shutil
import time
from collections.abc import Callable
from pathlib import Path

ABANDONED_S = 3600.0
"""Age from which a half-written folder is nobody's, where it cannot be told that its program is gone."""
_HIDDEN = re.compile(r"\.(?P<name>.+)\.(?P<process>\d+)-[0-9a-f]{8}\.(?P<what>part|old)")


def place_folder(folder: Path, write: Callable[[Path], object]) -> None:
    """Let `write` fill a folder, then put it at `folder` in the place of one that is there.

    Files in the former folder that `write` does not write are kept.
    """
    part, old = _hidden(folder, "part"), _hidden(folder, "old")
    folder.parent.mkdir(parents=True, exist_ok=True)
    try:
        part.mkdir()
        write(part)
        _sync(part)
        if folder.exists():
            folder.rename(old)
        part.rename(folder)
        _sync(folder.parent)
        if old.exists():
            _take_over(old, folder)
    finally:
        shutil.rmtree(part, ignore_errors=True)
        if old.exists() and not folder.exists():
            old.rename(folder)


def tidy_up(parent: Path) -> None:
    """Remove what killed programs left half-written, and put back what they had moved aside."""
    if not parent.is_dir():
        return
    for path in sorted(parent.iterdir()):
        match = _HIDDEN.fullmatch(path.name)
        if match is None or _alive(int(match["process"]), path):
            continue
        # Another program may be tidying the same folder: what is gone already needs nothing.
        with contextlib.suppress(FileNotFoundError):
            folder = parent / match["name"]
            if match["what"] == "part":
                shutil.rmtree(path)
            elif folder.exists():
                _take_over(path, folder)
            else:
                path.rename(folder)


def _hidden(folder: Path, what: str) -> Path:
    return folder.with_name(f".{folder.name}.{os.getpid()}-{secrets.token_hex(4)}.{what}")


def _take_over(old: Path, folder: Path) -> None:
    """Move what only the old folder holds into the new one, and remove the old one."""
    for path in old.iterdir():
        if not (folder / path.name).exists():
            path.rename(folder / path.name)
    shutil.rmtree(old)


def _alive(process: int, path: Path) -> bool:
    """Whether the program that made a hidden folder may still be writing it."""
    if os.name != "posix":
        return time.time() - path.stat().st_mtime < ABANDONED_S
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    # This very process holds none while it tidies up; the number was another's before.
    return process != os.getpid()


def _sync(folder: Path) -> None:
    """Have the names in a folder on disk, where the system can do that."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
