"""Several workers on PostgreSQL, killed, stopped and cut off: each recording is done, none twice."""

import multiprocessing
import os
import random
import signal
import time
from collections.abc import Callable, Iterator
from multiprocessing.process import BaseProcess
from pathlib import Path

import fleet_hand
import pytest
from fleet_hand import Slow
from sqlalchemy import create_engine, select, text

from narrate.pipeline import key_of_work
from narrate.store.engine import Store, open_store
from narrate.store.jobs import list_jobs, queue_job, read_job
from narrate.store.recordings import keep_recording
from narrate.store.tables import result
from narrate.store.verifying import verify
from narrate.store.walkarounds import history, read_walkaround
from narrate.work.fleet import work_in_fleet
from narrate.work.fleet_member import HUNG, Member

FORKS = multiprocessing.get_context("forkserver")
# What takes long to import; fleet_hand itself is not on the path that this process is started with.
FORKS.set_forkserver_preload(["narrate.pipeline", "narrate.work.fleet", "sqlalchemy.dialects.postgresql.psycopg"])
KILLS = 20
Start = Callable[..., BaseProcess]


@pytest.fixture
def shop(fleet_database: str, tmp_path: Path) -> Iterator[Store]:
    opened = open_store(tmp_path / "data", fleet_database)
    yield opened
    opened.close()


@pytest.fixture
def drop(shop: Store, tmp_path: Path) -> Callable[[str], int]:
    """Return what keeps and queues a recording."""

    def make(name: str) -> int:
        (tmp_path / name).write_text(f"sound of {name}", "utf-8")
        kept = keep_recording(shop, tmp_path / name, name=name, suffix=".ogg", duration_s=5.0)
        return queue_job(shop, [kept], name=name, who="Ana", total_s=5.0)

    return make


@pytest.fixture
def start(shop: Store) -> Iterator[Start]:
    """Return what starts a worker process."""
    running: list[BaseProcess] = []

    def begin(steps: Slow, **how: object) -> BaseProcess:
        process = FORKS.Process(target=fleet_hand.work, args=(shop.folder, address(shop), steps), kwargs=how)
        process.start()
        running.append(process)
        return process

    yield begin
    for process in running:
        process.kill()
        process.join()


def address(store: Store) -> str:
    return store.engine.url.render_as_string(hide_password=False)


def wait_until(holds: Callable[[], bool], seconds: float = 60.0) -> None:
    until = time.monotonic() + seconds
    while not holds():
        assert time.monotonic() < until, "it took too long"
        time.sleep(0.05)


def holding(store: Store, workers: list[BaseProcess]) -> list[int]:
    """Which of the workers have a job in hand."""
    names = [job.worker or "" for job in list_jobs(store, "working", limit=1000)]
    return [at for at, worker in enumerate(workers) if any(f":{worker.pid}:" in name for name in names)]


def all_done(store: Store) -> bool:
    return {job.state for job in list_jobs(store, limit=1000)} == {"done"}


def check_each_is_done_once(store: Store, names: list[str]) -> None:
    """Every recording has one walkaround, made whole by one worker, with one result and one first event."""
    jobs = list_jobs(store, limit=1000)
    made = [read_walkaround(store, job.walkaround or "").walkaround for job in jobs]
    assert sorted(each.recordings[0].name for each in made) == sorted(names)
    for job, each in zip(jobs, made, strict=True):
        assert {concern.text for concern in each.concerns} == {each.made_by.lexicon}
        assert [recording.sha256 for recording in each.recordings] == list(job.recordings)
    with store.reading() as connection:
        rows = connection.execute(select(result)).all()
    keys = {key_of_work(job.recordings, each.made_by, None) for job, each in zip(jobs, made, strict=True)}
    assert {row.key for row in rows} == keys
    assert len(rows) == len(names)
    assert verify(store, deep=True) == []


def test_workers_of_two_lexicons_killed_at_random_do_each_recording_once(
    shop: Store, drop: Callable[[str], int], start: Start
) -> None:
    """Also a rolling upgrade: whoever finishes, what it made is of one lexicon and under that one's key."""
    names = [f"bay {number}.ogg" for number in range(30)]
    for name in names:
        drop(name)
    chance = random.Random(15)
    lexicons = ("sha256:old", "sha256:new")
    workers = [start(Slow(lexicons[number % 2], 0.2)) for number in range(3)]
    for kill in range(KILLS):
        wait_until(lambda: bool(holding(shop, workers)) or all_done(shop))
        busy = holding(shop, workers)
        time.sleep(chance.uniform(0.0, 0.25))
        at = chance.choice(busy or range(3))
        os.kill(workers[at].pid or 0, signal.SIGKILL)
        workers[at].join()
        workers[at] = start(Slow(lexicons[kill % 2], 0.2))
    wait_until(lambda: all_done(shop))
    check_each_is_done_once(shop, names)
    begun = sum(job.tries for job in list_jobs(shop, limit=1000))
    assert begun > len(names) + KILLS / 4, "too few workers were killed over a job"


def test_a_worker_that_comes_back_too_late_adds_nothing(shop: Store, drop: Callable[[str], int], start: Start) -> None:
    number = drop("bay.ogg")
    late = start(Slow("sha256:old", 1.0))
    wait_until(lambda: read_job(shop, number).state == "working")
    os.kill(late.pid or 0, signal.SIGSTOP)
    start(Slow("sha256:new"))
    wait_until(lambda: read_job(shop, number).state == "done")
    os.kill(late.pid or 0, signal.SIGCONT)
    other = drop("other.ogg")
    wait_until(lambda: read_job(shop, other).state == "done")
    time.sleep(1.2)
    assert [job.walkaround for job in list_jobs(shop)] == ["w2", "w1"]
    assert read_walkaround(shop, "w1").walkaround.made_by.lexicon == "sha256:new"
    assert len(history(shop, "w1")) == 1
    check_each_is_done_once(shop, ["bay.ogg", "other.ogg"])


def test_a_worker_that_hangs_ends_and_its_job_is_done_by_another(
    shop: Store, drop: Callable[[str], int], start: Start, tmp_path: Path
) -> None:
    number = drop("bay.ogg")
    mark = tmp_path / "hang"
    mark.touch()
    hanging = start(Slow(hang_at=mark), limit_s=0.5, lease_s=0.5)
    wait_until(lambda: not mark.exists())
    hanging.join(20)
    assert hanging.exitcode == HUNG
    start(Slow())
    wait_until(lambda: read_job(shop, number).state == "done")
    assert read_job(shop, number).tries == 2


def test_lost_rows_and_cut_connections_lose_no_job(shop: Store, drop: Callable[[str], int], start: Start) -> None:
    """What the queue says of jobs may vanish, and the database be away: the store knows what is to be done."""
    names = [f"bay {number}.ogg" for number in range(8)]
    for name in names:
        drop(name)
    start(Slow(delay_s=0.3))
    wait_until(lambda: any(job.state == "done" for job in list_jobs(shop)))
    others = "FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()"
    ask = create_engine(shop.engine.url, isolation_level="AUTOCOMMIT")
    with ask.connect() as connection:
        schema = connection.scalar(text("SELECT nspname FROM pg_namespace WHERE nspname LIKE 'narrate_fleet_%'"))
        connection.execute(text(f"SET search_path TO {schema}"))
        connection.execute(text("DELETE FROM procrastinate_jobs WHERE status = 'todo'"))
        connection.execute(text(f"SELECT pg_terminate_backend(pid) {others}"))
    ask.dispose()
    assert not all_done(shop)
    wait_until(lambda: all_done(shop))
    check_each_is_done_once(shop, names)


def test_a_worker_alone_works_off_what_waits_and_ends(
    shop: Store, drop: Callable[[str], int], monkeypatch: pytest.MonkeyPatch
) -> None:
    names = ["a.ogg", "b.ogg", "c.ogg"]
    for name in names:
        drop(name)
    told: list[str] = []
    member = Member(store=shop, steps=Slow(), told=lambda outcome: told.append(outcome.state))
    work_in_fleet(member, device="cpu", once=True)
    assert told == ["done", "done", "done"]
    check_each_is_done_once(shop, names)
