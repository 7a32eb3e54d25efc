"""How many jobs a second a store on PostgreSQL hands out and takes back, by how many workers ask at once.

Run from the repository root against an empty database that may be filled: `python tests/benchmarks/claims.py
postgresql://USER@HOST/DATABASE [SECONDS]`. Nothing is heard: workers ask as fast as they can. The result goes to
results/claims.json.
"""

import asyncio
import itertools
import multiprocessing
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from hashlib import sha256 as digest
from pathlib import Path
from typing import Any

from sqlalchemy import text
from tables import write_result

from narrate.find.mining import text_recording
from narrate.pipeline import process_words
from narrate.records.walkaround import Walkaround
from narrate.settings import Settings
from narrate.store.engine import Store, open_store
from narrate.store.fleet_jobs import Waiting, waiting_jobs
from narrate.store.jobs import claim, finish, put_back, queue_job, report
from narrate.store.recordings import keep_recording
from narrate.words.load import load_lexicon
from narrate.work.fleet_queue import FleetQueue, loop_factory

ASKING = (1, 4, 16)
JOBS = 20_000
SHOWN = ("server_version", "fsync", "synchronous_commit", "shared_buffers")
FORKS = multiprocessing.get_context("fork")
SAID = (
    "customer says it grinds when braking. front pads are at three millimeters, replace them. left rear tire is at "
    "four thirty seconds. the serpentine belt is cracked, recommend a new one. oil is seeping at the valve cover. "
)


def claims(store: Store, _: Walkaround, until: float, name: str, numbers: Iterator[int]) -> int:
    """Take jobs by their numbers and give them back, as a worker does that was told of them: two changes a job."""
    done = 0
    while time.monotonic() < until:
        number = next(numbers)
        claim(store, name, only=number)
        put_back(store, number, name)
        done += 1
    return done


def reports(store: Store, _: Walkaround, until: float, name: str, numbers: Iterator[int]) -> int:
    """Say how far one job is."""
    number, done = next(numbers), 0
    claim(store, name, only=number)
    while time.monotonic() < until and report(store, number, name, done, 60.0):
        done += 1
    put_back(store, number, name)
    return done


def cycles(store: Store, made: Walkaround, until: float, name: str, numbers: Iterator[int]) -> int:
    """Take a job by its number and finish it with a walkaround, as a worker that needs no time would."""
    done = 0
    while time.monotonic() < until:
        job = claim(store, name, only=next(numbers))
        if job:
            finish(store, job, made, "Dana", key=digest(f"{name} {done}".encode()).hexdigest())
            done += 1
    return done


def choices(store: Store, _: Walkaround, until: float, name: str, numbers: Iterator[int]) -> int:
    """Take what is due first of all that waits, and give it back, as a worker without the machines' queue does."""
    done = 0
    while time.monotonic() < until:
        job = claim(store, name)
        if job:
            put_back(store, job.id, name)
            done += 1
    return done


def told(store: Store, _: Walkaround, until: float, name: str, numbers: Iterator[int]) -> int:
    """Take rows from the machines' queue that nobody looks up in the store."""
    done = 0

    def hear(number: int) -> None:
        nonlocal done
        done += 1

    async def work() -> None:
        queue = FleetQueue(store, hear, "cpu")
        await queue.open()
        working = asyncio.create_task(queue.work(name=name, wait=True))
        await asyncio.sleep(max(0.0, until - time.monotonic()))
        working.cancel()
        await asyncio.gather(working, return_exceptions=True)
        await queue.close()

    with asyncio.Runner(loop_factory=loop_factory) as runner:
        runner.run(work())
    return done


def tell(store: Store, count: int) -> float:
    """Fill the machines' queue; return rows a second of one that tells."""

    async def run() -> float:
        queue = FleetQueue(store, lambda number: None, "cpu")
        await queue.open()
        jobs = [
            Waiting(id=n, recordings=(), due="2026-11-27", added_at="2026-11-27", tries=0) for n in range(1, count + 1)
        ]
        began = time.monotonic()
        await queue.announce(jobs, "cpu")
        took_s = time.monotonic() - began
        await queue.close()
        return count / took_s

    with asyncio.Runner(loop_factory=loop_factory) as runner:
        return runner.run(run())


def rate(url: str, made: Walkaround, what: Callable[..., int], asking: int, seconds: float) -> float:
    """How often a second `what` is done by so many processes together."""
    answers, together = FORKS.Queue(), FORKS.Barrier(asking)
    mine = [itertools.cycle(_share_of(url, number, asking)) for number in range(asking)]

    def run(number: int) -> None:
        store = open_store(Path(tempfile.mkdtemp()), url)
        with store.reading() as connection:
            connection.execute(text("SELECT 1"))
        together.wait()
        name = f"bench:{asking}:{number}:{what.__name__}"
        answers.put(what(store, made, time.monotonic() + seconds, name, mine[number]))
        store.close()

    processes = [FORKS.Process(target=run, args=(number,)) for number in range(asking)]
    for process in processes:
        process.start()
    done = sum(answers.get() for _ in processes)
    for process in processes:
        process.join()
    return round(done / seconds, 1)


def fill(url: str, jobs: int) -> None:
    """Put jobs of one recording in line, as a day of many shops would."""
    store = open_store(Path(tempfile.mkdtemp()), url)
    sound = store.folder / "sound"
    sound.write_bytes(b"sound")
    kept = keep_recording(store, sound, name="bay.ogg", suffix=".ogg", duration_s=60.0)
    number = queue_job(store, [kept], name="bay.ogg", who="Dana", total_s=60.0)
    with store.writing() as connection:
        copied = "name, recordings, state, tries, failures, why, done_s, total_s, added_at, added_by"
        connection.execute(
            text(f"INSERT INTO job ({copied}) SELECT {copied} FROM job, generate_series(2, :jobs) WHERE id = :id"),
            {"jobs": jobs, "id": number},
        )
    store.close()


def main() -> None:
    url, seconds = sys.argv[1], float(sys.argv[2]) if len(sys.argv) > 2 else 4.0
    made = process_words([text_recording(SAID * 4, name="bay.ogg")], settings=Settings(), lexicon=load_lexicon())
    fill(url, JOBS)
    store = open_store(Path(tempfile.mkdtemp()), url)
    with store.reading() as connection:
        shown = {key: str(connection.scalar(text(f"SHOW {key}"))) for key in SHOWN}
    figures: dict[str, Any] = {"postgresql": shown, "findings": len(made.findings), "waiting": JOBS}
    figures["tell a second, one telling"] = round(tell(store, JOBS), 1)
    store.close()
    for what in (told, claims, reports, choices, cycles):
        found = {str(asking): rate(url, made, what, asking, seconds) for asking in ASKING}
        figures[f"{what.__name__} a second by how many ask"] = found
        print(what.__name__, found, flush=True)
    write_result("claims", figures)


def _share_of(url: str, number: int, asking: int) -> list[int]:
    """The jobs that wait, dealt out."""
    store = open_store(Path(tempfile.mkdtemp()), url)
    jobs = [job.id for job in waiting_jobs(store, limit=JOBS)][number::asking]
    store.close()
    return jobs


if __name__ == "__main__":
    main()
