"""Kills a day and the processes that hear for it at random moments, and looks at what is left of it."""

import contextlib
import json
import os
import random
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import func, select

from narrate.hear.digests import sha256_of
from narrate.store.engine import Store
from narrate.store.jobs import list_jobs
from narrate.store.tables import heard, result, walkaround
from narrate.store.verifying import verify

PROGRAM = Path(__file__).with_name("killed_day.py")


@dataclass
class Kills:
    """How often what was killed."""

    days: int = 0
    workers: int = 0
    both: int = 0

    @property
    def all(self) -> int:
        return self.days + self.workers + self.both


def small_recordings(folder: Path, number: int) -> dict[str, str]:
    """Write so many files that differ, old enough to be taken at once; return their digests by name."""
    folder.mkdir()
    for each in range(number):
        path = folder / f"{each:04d}.ogg"
        path.write_bytes(f"sound {each} ".encode() * 40)
        os.utime(path, (1_760_000_000 + each, 1_760_000_000 + each))
    return {path.name: sha256_of(path) for path in folder.iterdir()}


def kill_at_random(
    folder: Path, data: Path, *, kills: int, delay_s: float, workers: int, chance: random.Random, pause_s: float
) -> Kills:
    """Run a day to its end, killing its processes so often on the way; return what was killed."""
    command = [sys.executable, str(PROGRAM), str(folder), str(data), json.dumps(delay_s), str(workers)]
    counted, numbers = Kills(), data.parent / "workers"
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, bufsize=1) as program:
        assert program.stdin
        assert program.stdout

        def told(line: str) -> str:
            assert program.stdin
            assert program.stdout
            program.stdin.write(f"{line}\n")
            return program.stdout.readline()

        main = int(told("start"))
        while counted.all < kills:
            time.sleep(chance.uniform(0, pause_s))
            assert not (data.parent / "day.json").exists(), f"it ended before {kills} kills: take more recordings"
            alive = [int(line) for line in numbers.read_text().split()[-workers:]] if numbers.exists() else []
            kind = chance.choice(("worker", "worker", "day", "both"))
            if kind == "worker":
                counted.workers += bool(alive) and _kill(chance.choice(alive), data)
                continue
            if kind == "both":
                counted.both += _kill(main, data)
                for process in alive:
                    _kill(process, data)
            else:
                counted.days += _kill(main, data)
            told("wait")
            main = int(told("start"))
        told("wait")
        program.stdin.close()
    return counted


def what_is_wrong(folder: Path, store: Store, digests: dict[str, str]) -> list[str]:
    """Return what is not as it should be after all is done; nothing where each recording was done once."""
    wrong = verify(store, deep=True)
    day: dict[str, Any] = json.loads((store.folder.parent / "day.json").read_text())
    done = {each["name"]: each["sha256"] for each in day["done"]}
    if done != digests or len(day["done"]) != len(digests):
        wrong.append(f"{len(done)} of {len(digests)} are done; {day['failed'][:2]} {day['set_aside'][:2]}")
    if {path.name: sha256_of(path) for path in folder.iterdir()} != digests:
        wrong.append("The folder is not as it was.")
    with store.reading() as connection:
        walkarounds = connection.scalar(select(func.count()).select_from(walkaround))
        results = connection.scalar(select(func.count()).select_from(result))
        words = connection.execute(select(heard.c.sha256, func.count()).group_by(heard.c.sha256)).all()
    if walkarounds != len(digests) or results != len(digests):
        wrong.append(f"{walkarounds} walkarounds and {results} results of {len(digests)} recordings.")
    if sorted(tuple(row) for row in words) != sorted((sha256, 1) for sha256 in digests.values()):
        wrong.append("A recording was heard twice, or not.")
    states = [job.state for job in list_jobs(store, limit=len(digests) * 2)]
    if states != ["done"] * len(digests):
        wrong.append(f"There are {len(states)} jobs, {states.count('done')} of them done.")
    return wrong


def _kill(process: int, data: Path) -> bool:
    """Kill a process that works on this data folder; another one may bear the number of one that has ended."""
    with contextlib.suppress(FileNotFoundError, ProcessLookupError):
        if str(data).encode() in Path(f"/proc/{process}/cmdline").read_bytes().split(b"\0"):
            os.kill(process, signal.SIGKILL)
            return True
    return False
