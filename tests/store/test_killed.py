"""A writer may be killed at any moment: nothing is half written, and what was promised is kept."""

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

from made_walkarounds import walkaround

from narrate.store.engine import Store
from narrate.store.verifying import verify
from narrate.store.walkarounds import add_walkaround, history, read_walkaround

PROGRAM = Path(__file__).with_name("killed_writers.py")
KILLS = 20


def test_killed_writers_leave_a_whole_store(store: Store, open_again: Callable[[], Store]) -> None:
    """Twenty times, at moments nobody chose."""
    add_walkaround(store, walkaround(concerns=()), who="Dana")
    sqlite = store.engine.dialect.name == "sqlite"
    address = "" if sqlite else store.engine.url.render_as_string(hide_password=False)
    chance = random.Random(store.engine.dialect.name)
    logs = [store.folder / f"k{number}" for number in range(KILLS)]
    command = [sys.executable, PROGRAM, store.folder, address]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, bufsize=1) as program:
        for log in logs:
            program.stdin.write(f"{log.name}\n")
            process = int(program.stdout.readline())
            _wait_for(log)
            time.sleep(chance.uniform(0, 0.1))
            os.kill(process, signal.SIGKILL)
            assert "gone\n" == program.stdout.readline()
            assert [] == verify(store), f"after {log.name}"
    kept = [concern.text for concern in read_walkaround(open_again(), "w1").walkaround.concerns]
    told = [log.read_text().splitlines() for log in logs]
    assert len(set(kept)) == len(kept)
    assert len(history(store, "w1")) > KILLS
    # What a writer said last may have been killed between its undo and its redo; all else must be there.
    assert {text for texts in told for text in texts} - set(kept) <= {texts[-1] for texts in told}


def _wait_for(log: Path) -> None:
    """Wait until a writer has kept its first change."""
    until = time.monotonic() + 30
    while not (log.exists() and log.read_text()):
        assert time.monotonic() < until, "the writer did not begin"
        time.sleep(0.005)
