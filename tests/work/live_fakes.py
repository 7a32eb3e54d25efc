"""What stands for a live helper's process in tests: it hears nothing and answers at once."""

import os
import signal
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from narrate.settings import Settings


def echo(pipe: Connection, data: Path, settings: Settings) -> None:
    """Tells what it is asked, as messages of their kind; dies and hangs on request."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    pipe.send((0, {"type": "warm"}))
    done_s = 0.0
    while True:
        try:
            recording, what, given = pipe.recv()
        except EOFError:
            return
        for message in _answers(what, given):
            pipe.send((recording, message))
        if what == "feed":
            done_s += len(given[0]) / 32_000
            pipe.send((recording, {"type": "at", "s": done_s}))


def deaf(pipe: Connection, data: Path, settings: Settings) -> None:
    """Is warm and never answers anything."""
    pipe.send((0, {"type": "warm"}))
    signal.pause()


def broken(pipe: Connection, data: Path, settings: Settings) -> None:
    """Ends as soon as it began."""
    os._exit(3)


def _answers(what: str, given: Any) -> list[dict[str, Any]]:
    if what == "begin":
        begun = {"at_s": given.at_s, "run": given.run, "mode": given.read_back, "so_far": list(given.so_far)}
        order = given.order and given.order.number
        return [{"type": "ready"}, {"type": "began", "order": order, "pid": os.getpid(), **begun}]
    if what == "feed":
        samples, at_s = given
        return [{"type": "fed", "bytes": len(samples), "at_s": at_s}]
    if what == "ask":
        return [{"type": "kept", "entry": given}, {"type": "asked", **{f"given_{k}": v for k, v in given.items()}}]
    return []
