"""Kill a day's processes at random, many times, and count what is wrong afterwards.

    python tests/benchmarks/day_kills.py [--kills 1000] [--real 20] [--workers 3]

The first part hears with a stand-in of fixed delay: days of 100 small recordings each, in each of which a process that
hears, the day itself, or all of them at once are killed with SIGKILL 50 times. The second runs `narrate day` itself
with the speech model over recordings of sample_audio and kills it, or a process of its own, so often.
"""

import contextlib
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import click
from tables import CHECKOUT, RESULTS, write_result

sys.path.insert(0, str(CHECKOUT / "tests" / "work"))
from day_killing import kill_at_random, small_recordings, what_is_wrong

from narrate.hear.digests import sha256_of
from narrate.store.engine import open_store
from narrate.store.verifying import verify

FORMER = RESULTS / "day_kills.json"
"""A part that is left out keeps its figures."""
A_DAY = 50
"""Kills in one day of small recordings."""
SAMPLES = ("compact_brakes_tires", "sedan_cooling_oil", "pickup_front_end", "minivan_comfort_body")


def small_days(kills: int, workers: int) -> dict[str, Any]:
    """Kill days of a stand-in so often."""
    counted = {"kills": 0, "of_workers": 0, "of_the_day": 0, "of_all_at_once": 0, "recordings": 0}
    wrong: list[str] = []
    began = time.monotonic()
    for number in range(-(-kills // A_DAY)):
        with tempfile.TemporaryDirectory() as place:
            folder, data = Path(place) / "day", Path(place) / "data"
            digests = small_recordings(folder, 2 * A_DAY)
            store = open_store(data)
            wanted = min(A_DAY, kills - number * A_DAY)
            killed = kill_at_random(
                folder,
                data,
                kills=wanted,
                delay_s=0.3,
                workers=workers,
                chance=random.Random(number),
                pause_s=0.35,
            )
            counted["kills"] += killed.all
            counted["of_workers"] += killed.workers
            counted["of_the_day"] += killed.days
            counted["of_all_at_once"] += killed.both
            counted["recordings"] += len(digests)
            wrong += [f"day {number}: {each}" for each in what_is_wrong(folder, store, digests)]
            store.close()
        click.echo(f"{counted['kills']} kills, {len(wrong)} wrong", err=True)
    return {**counted, "wrong": wrong, "took_s": round(time.monotonic() - began, 1)}


def real_day(kills: int, workers: int) -> dict[str, Any]:
    """Kill `narrate day` and its processes while it hears with the real model."""
    chance = random.Random(kills)
    with tempfile.TemporaryDirectory() as place:
        folder, data, record = Path(place) / "day", Path(place) / "data", Path(place) / "day.json"
        folder.mkdir()
        for name in SAMPLES:
            shutil.copy2(CHECKOUT / "sample_audio" / f"{name}.ogg", folder)
        digests = {path.name: sha256_of(path) for path in folder.iterdir()}
        killed, began = 0, time.monotonic()
        program = _start(folder, data, record, workers)
        while killed < kills and program.poll() is None:
            time.sleep(chance.uniform(1, 9))
            heard_by = _children(program.pid)
            if heard_by and chance.random() < 0.5:
                killed += _kill(chance.choice(heard_by))
                continue
            killed += program.poll() is None and _kill(program.pid)
            program.wait()
            program = _start(folder, data, record, workers)
        program.wait()
        day = json.loads(record.read_text())
        store = open_store(data)
        wrong = verify(store, deep=True)
        store.close()
        if {each["name"]: each["sha256"] for each in day["done"]} != digests or len(day["done"]) != len(digests):
            wrong.append(f"{len(day['done'])} done, {day['failed']}, {day['set_aside']}")
        if len({each["walkaround_id"] for each in day["done"]}) != len(digests):
            wrong.append("There are not as many walkarounds as recordings.")
        if {path.name: sha256_of(path) for path in folder.iterdir()} != digests:
            wrong.append("The folder is not as it was.")
        took_s = round(time.monotonic() - began, 1)
    return {"kills": killed, "recordings": len(digests), "wrong": wrong, "took_s": took_s}


def _start(folder: Path, data: Path, record: Path, workers: int) -> "subprocess.Popen[bytes]":
    command = ["day", str(folder), "--data", str(data), "--json", str(record), "--workers", str(workers)]
    program = [sys.executable, "-c", "from narrate.cli.main import main; main()"]
    return subprocess.Popen([*program, *command], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def _children(process: int) -> list[int]:
    with contextlib.suppress(OSError):
        return [int(each) for each in Path(f"/proc/{process}/task/{process}/children").read_text().split()]
    return []


def _kill(process: int) -> bool:
    with contextlib.suppress(ProcessLookupError):
        os.kill(process, signal.SIGKILL)
        return True
    return False


@click.command()
@click.option("--kills", default=1000, show_default=True, help="Kills over small recordings with a stand-in.")
@click.option("--real", default=20, show_default=True, help="Kills of the real thing.")
@click.option("--workers", default=3, show_default=True)
def main(kills: int, real: int, workers: int) -> None:
    """Count what is wrong after so many kills."""
    former = json.loads(FORMER.read_text()) if FORMER.is_file() else {}
    results = {
        "small": small_days(kills, workers) if kills else former.get("small"),
        "real": real_day(real, 2) if real else former.get("real"),
    }
    click.echo(json.dumps(results, indent=2))
    click.echo(f"wrote {write_result('day_kills', results)}", err=True)


if __name__ == "__main__":
    main()
