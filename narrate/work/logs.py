"""Logs as lines of JSON, without anything that was said: no words, names, plates, paths, nor sentences with them in.

A line has `at` (UTC), `level`, `from` (the logger), `what` (the message as it stands in the program, its places not
filled in) and, where the program gave some, figures under keys of `SAFE`. Of an error there is its kind and the lines
of code it came through. What other libraries log is told by kind and place alone, for their texts may hold anything.
"""

import json
import logging
import re
import sys
import traceback
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

SAFE: Final = frozenset(
    {
        "job",
        "walkaround",
        "state",
        "kind",
        "tries",
        "recordings",
        "sound_s",
        "took_s",
        "times_real",
        "waited_s",
        "count",
    }
)
"""Keys under which figures may be told; all of them are narrate's own numbers, ids or words."""
_OWN = re.compile(r"[a-z0-9_. -]{0,32}")
_FIGURES = "figures"
HERE = Path(__file__).parent.parent.parent


def tell(logger: logging.Logger, what: str, figures: Mapping[str, float | str | None]) -> None:
    """Log that something happened, with figures under keys of `SAFE`. Raises ValueError for another key."""
    if other := figures.keys() - SAFE:
        message = f"A log may not hold {', '.join(sorted(other))}."
        raise ValueError(message)
    logger.info(what, extra={_FIGURES: dict(figures)})


class JsonLines(logging.Formatter):
    """One JSON object a line, of what may be told."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the line of a record."""
        at = datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds")
        line: dict[str, Any] = {"at": at.replace("+00:00", "Z"), "level": record.levelname.lower(), "from": record.name}
        if record.name == "narrate" or record.name.startswith("narrate."):
            line["what"] = str(record.msg)
            figures: dict[str, Any] = getattr(record, _FIGURES, {})
            line |= {key: _safe(value) for key, value in figures.items() if key in SAFE}
            args = record.args if isinstance(record.args, tuple) else ()
            if kinds := [type(each).__name__ for each in args if isinstance(each, BaseException)]:
                line["errors"] = kinds
        else:
            line["what"] = f"{record.module}:{record.lineno}"
        if record.exc_info and record.exc_info[0]:
            line["error"] = record.exc_info[0].__name__
            line["through"] = [_place(frame) for frame in traceback.extract_tb(record.exc_info[2])]
        return json.dumps(line, ensure_ascii=True)


def log_to(place: str) -> None:
    """Write what happens, from now on, to the end of a file, or to standard error for `-`. Raises OSError."""
    handler = logging.StreamHandler(sys.stderr) if place == "-" else logging.FileHandler(place, encoding="utf-8")
    handler.setFormatter(JsonLines())
    # What others say of their own doing is not worth keeping; what they warn of is.
    logging.basicConfig(handlers=[handler], level=logging.WARNING, force=True)
    logging.getLogger("narrate").setLevel(logging.INFO)


def _safe(value: object) -> object:
    if value is None or isinstance(value, bool | int):
        return value
    if isinstance(value, float):
        return round(value, 3)
    text = str(value)
    return text if _OWN.fullmatch(text) else "?"


def _place(frame: traceback.FrameSummary) -> str:
    """A line of code, by its file below the program or the library, and its function."""
    path = Path(frame.filename)
    name = path.relative_to(HERE).as_posix() if path.is_relative_to(HERE) else path.name
    return f"{name}:{frame.lineno} {frame.name}"
