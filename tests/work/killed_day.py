"""A day begun again and again by forking, with a recogniser that hears nothing and takes its time.

Reads commands from standard input: `start` begins a day on the folder and answers with its process number. The
processes that hear are forked from it too, and their numbers written to a file, so that a test can kill them.
"""

import json
import os
import signal
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from narrate.hear.digests import sha256_of
from narrate.records.order import Order
from narrate.records.recording import Recording
from narrate.records.walkaround import MadeBy, Walkaround
from narrate.store.engine import open_store
from narrate.work import day, day_crew, queue
from narrate.work.day_worker import hear_for

LEASE_S = 1.0


class StandIn:
    """Hears nothing, in `delay_s`; the same recordings always give the same walkaround."""

    def __init__(self, delay_s: float) -> None:
        self.delay_s = delay_s

    def process(
        self, paths: Sequence[Path], *, order: Order | None, progress: Callable[[float, float], None]
    ) -> Walkaround:
        for part in range(1, 6):
            time.sleep(self.delay_s / 5)
            progress(part, 5)
        made = tuple(Recording(id=f"r{n}", name=p.name, sha256=sha256_of(p)) for n, p in enumerate(paths, 1))
        return self.find(made, order=order)

    def find(self, recordings: Sequence[Recording], *, order: Order | None) -> Walkaround:
        made_by = MadeBy(program="p", lexicon="l", settings="s")
        return Walkaround(made_by=made_by, recordings=tuple(recordings), order_number=order.number if order else None)

    def compare(self, walkaround: Walkaround, *, order: Order | None, previous: Walkaround | None) -> Walkaround:
        return walkaround


class Forked:
    """A forked process, as `subprocess.Popen` would be."""

    def __init__(self, run: Callable[[], None]) -> None:
        self._code: int | None = None
        self.pid = os.fork()
        if self.pid == 0:
            code = 1
            try:
                run()
                code = 0
            finally:
                os._exit(code)

    def poll(self) -> int | None:
        if self._code is None:
            process, status = os.waitpid(self.pid, os.WNOHANG)
            self._code = os.waitstatus_to_exitcode(status) if process else None
        return self._code

    def terminate(self) -> None:
        self._signal(signal.SIGTERM)

    def kill(self) -> None:
        self._signal(signal.SIGKILL)

    def _signal(self, number: int) -> None:
        if self.poll() is None:
            os.kill(self.pid, number)


def hear(data: Path, parent: int, delay_s: float) -> None:
    """What a forked process does."""
    store = open_store(data)
    hear_for(store, steps=StandIn(delay_s), parent=parent, lease_s=LEASE_S)
    store.close()


def run_day(folder: Path, data: Path, delay_s: float, workers: int) -> None:
    """One run of a day; its record lies beside the data folder when it ends by itself."""
    store, numbers = open_store(data), data.parent / "workers"

    def start(_: int) -> Forked:
        parent = os.getpid()
        child = Forked(lambda: hear(data, parent, delay_s))
        with numbers.open("a") as file:
            file.write(f"{child.pid}\n")
        return child

    run = day.Run(store=store, folder=folder, steps=StandIn(delay_s), start=start, workers=workers)
    told = run.go()
    part = data.parent / "day.part"
    part.write_text(told.model_dump_json(by_alias=True))
    part.rename(data.parent / "day.json")


def main() -> None:
    """Begin one day after another."""
    folder, data = map(Path, sys.argv[1:3])
    delay_s, workers = json.loads(sys.argv[3]), int(sys.argv[4])
    day.LOOK_EVERY_S = queue.LOOK_EVERY_S = 0.02
    day.SWEEP_EVERY_S = 0.2
    day_crew.AT_ONCE_S = 0.0
    running: Forked | None = None
    for line in sys.stdin:
        if line.strip() == "start":
            running = Forked(lambda: run_day(folder, data, delay_s, workers))
            print(running.pid, flush=True)
        elif running:
            while running.poll() is None:
                time.sleep(0.01)
            print("gone", flush=True)


if __name__ == "__main__":
    main()
