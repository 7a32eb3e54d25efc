"""A writer may be killed at any moment: nothing is half written, and what was promised is kept."""

import multiprocessing
import random
import time
from collections.abc import Callable
from pathlib import Path

from killed_writers import write_for_ever
from made_walkarounds import walkaround

from narrate.store.engine import Store
from narrate.store.verifying import verify
from narrate.store.walkarounds import add_walkaround, history, read_walkaround

KILLS = 20


def test_killed_writers_leave_a_whole_store(store: Store, open_again: Callable[[], Store], tmp_path: Path) -> None:
    """Twenty times, at moments nobody chose."""
    add_walkaround(store, walkaround(concerns=()), who="Dana")
    address = None
    if store.engine.dialect.name == "postgresql":
        address = store.engine.url.render_as_string(hide_password=False)
    processes = multiprocessing.get_context("forkserver")
    # Writers are copies of one process that has loaded what takes long.
    processes.set_forkserver_preload(["narrate.store.walkarounds", "psycopg", "sqlalchemy.dialects.postgresql.psycopg"])
    chance = random.Random(store.engine.dialect.name)
    for number in range(KILLS):
        log = tmp_path / f"log{number}"
        writer = processes.Process(target=write_for_ever, args=(store.folder, address, f"k{number}", log))
        writer.start()
        _wait_for(log)
        time.sleep(chance.uniform(0, 0.12))
        writer.kill()
        writer.join()
        writer.close()
        assert [] == verify(store), f"after kill {number + 1}"
    kept = [concern.text for concern in read_walkaround(open_again(), "w1").walkaround.concerns]
    told = [line for number in range(KILLS) for line in (tmp_path / f"log{number}").read_text().splitlines()]
    assert len(set(kept)) == len(kept)
    assert len(history(store, "w1")) > KILLS
    # The last concern of a writer may have been killed between its undo and its redo.
    lost = set(told) - set(kept)
    last = {(tmp_path / f"log{number}").read_text().splitlines()[-1] for number in range(KILLS)}
    assert lost <= last


def _wait_for(log: Path) -> None:
    """Wait until a writer has kept its first change."""
    until = time.monotonic() + 30
    while not (log.exists() and log.read_text()):
        assert time.monotonic() < until, "the writer did not begin"
        time.sleep(0.005)
