"""A process that hears recordings for a day: takes jobs until it is asked to end, or who started it is gone."""

import json
import os
import signal
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

from narrate.settings import load_settings, log_place
from narrate.store.engine import Store, open_store
from narrate.work.day_crew import orphaned
from narrate.work.logs import log_to
from narrate.work.queue import Steps, work_off
from narrate.work.shop_steps import ShopSteps

LEASE_S = 30.0
"""Renewed four times as often. Shorter than for a worker alone: a day that is begun again waits for it to run out."""
MOST_SILENT = 10
"""Power cuts and reboots end a process too; only what ended it so often is to blame itself."""


def start_worker(data: Path, *, count: int, given: Mapping[str, str]) -> "subprocess.Popen[bytes]":
    """Start one of `count` processes on a data folder; `given` are settings told for this run.

    Several have one thread each, which hears more in all than one that has every processor.
    """
    threads = 1 if count > 1 else 0
    environment = {**os.environ, **({"OMP_NUM_THREADS": "1"} if threads else {})}
    told = [str(data), str(os.getpid()), str(threads), json.dumps(dict(given))]
    return subprocess.Popen(
        [sys.executable, "-m", "narrate.work.day_worker", *told], env=environment, stdin=subprocess.DEVNULL
    )


def hear_for(store: Store, *, steps: Steps, parent: int, lease_s: float = LEASE_S) -> None:
    """Hear until SIGTERM or SIGINT, or until the process `parent` is gone; what is in hand then is put back."""
    asked: list[int] = []
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda number, _frame: asked.append(number))
    work_off(
        store,
        steps=steps,
        stop=lambda: bool(asked) or orphaned(parent),
        lease_s=lease_s,
        most_silent=MOST_SILENT,
    )


def main() -> None:
    """Run as `python -m narrate.work.day_worker DATA PARENT THREADS GIVEN`."""
    data, parent, threads, given = sys.argv[1:]
    if place := log_place():
        log_to(place)
    store = open_store(Path(data))
    try:
        steps = ShopSteps(store=store, settings=load_settings, given=json.loads(given), threads=int(threads))
        hear_for(store, steps=steps, parent=int(parent))
    finally:
        store.close()


if __name__ == "__main__":
    main()
