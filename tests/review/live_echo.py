"""What stands for a live helper's process in the page's tests: it tells what it was given."""

import os
from multiprocessing.connection import Connection
from pathlib import Path

from narrate.settings import Settings

DIE = b"\x01\x00" * 1600
"""Sound that ends the process which is given it."""


def echo(pipe: Connection, data: Path, settings: Settings) -> None:
    """Answers at once with what came."""
    pipe.send((0, {"type": "warm"}))
    while True:
        try:
            recording, what, given = pipe.recv()
        except EOFError:
            return
        if what == "begin":
            pipe.send((recording, {"type": "ready"}))
            number = given.order.number if given.order else None
            told = {"run": given.run, "at_s": given.at_s, "read_back": given.read_back, "order": number}
            pipe.send(
                (recording, {"type": "began", "so_far": list(given.so_far), "market": given.settings.market, **told})
            )
        elif what == "feed":
            if given[0] == DIE:
                os._exit(9)
            pipe.send((recording, {"type": "fed", "bytes": len(given[0]), "at_s": given[1]}))
        elif what == "ask":
            pipe.send((recording, {"type": "kept", "entry": {"asked": given["type"]}}))
            pipe.send((recording, {"type": "asked", "given": given}))
