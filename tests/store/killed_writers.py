"""A writer for tests to kill: it changes one walkaround for ever."""

import itertools
from pathlib import Path

from narrate.records.walkaround import Concern, Walkaround
from narrate.store.engine import open_store
from narrate.store.walkarounds import change_walkaround, redo, undo


def write_for_ever(folder: Path, address: str | None, name: str, log: Path) -> None:
    """Add concerns, undo and redo; note in `log` each one that the store has promised to keep."""
    store = open_store(folder, address)
    with log.open("a", buffering=1) as told:
        for number in itertools.count():
            text = f"{name}/{number}"
            change_walkaround(store, "w1", who=name, what="concern", make=lambda w, text=text: _with_concern(w, text))
            told.write(f"{text}\n")
            undo(store, "w1", who=name)
            redo(store, "w1", who=name)


def _with_concern(present: Walkaround, text: str) -> Walkaround:
    concern = Concern(id=f"c{present.ids_used.get('c', 0) + 1}", text=text)
    return present.model_copy(update={"concerns": (*present.concerns, concern)})
