"""A program for tests to kill: for each name on standard input a process of it changes one walkaround for ever.

Called with the data folder and the database's address (empty: in the folder). Prints each process's number, and a
line more when it is gone.
"""

import itertools
import os
import sys
from pathlib import Path

from narrate.records.walkaround import Concern, Walkaround
from narrate.store.engine import open_store
from narrate.store.walkarounds import change_walkaround, redo, undo


def main(folder: Path, address: str | None) -> None:
    """Start one writer after another."""
    for line in sys.stdin:
        process = os.fork()
        if process == 0:
            write_for_ever(folder, address, line.strip())
        print(process, flush=True)
        os.waitpid(process, 0)
        print("gone", flush=True)


def write_for_ever(folder: Path, address: str | None, name: str) -> None:
    """Add concerns, undo and redo; note in a file of that name each one that the store has promised to keep."""
    store = open_store(folder, address)
    with (folder / name).open("a", buffering=1) as told:
        for number in itertools.count():
            text = f"{name}/{number}"
            change_walkaround(store, "w1", who=name, what="concern", make=lambda w, text=text: _with_concern(w, text))
            told.write(f"{text}\n")
            undo(store, "w1", who=name)
            redo(store, "w1", who=name)


def _with_concern(present: Walkaround, text: str) -> Walkaround:
    concern = Concern(id=f"c{present.ids_used.get('c', 0) + 1}", text=text)
    return present.model_copy(update={"concerns": (*present.concerns, concern)})


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2] or None)
