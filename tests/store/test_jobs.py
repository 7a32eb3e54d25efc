"""Jobs: one worker each, held by a lease, finished exactly once; nothing that was recorded is lost by a failure."""

import threading
import time
from collections.abc import Callable

import pytest

from narrate.errors import MissingError, StoreError, UsageError
from narrate.records.recording import Recording
from narrate.records.walkaround import MadeBy, Walkaround
from narrate.store.engine import Store
from narrate.store.jobs import (
    MOST_TRIES,
    claim,
    fail,
    finish,
    job_with,
    list_jobs,
    put_back,
    queue_job,
    read_job,
    report,
    retry,
    stop,
    walkaround_with,
)
from narrate.store.tables import recording as recording_table
from narrate.store.walkarounds import find_walkarounds, history, read_walkaround, set_aside

DIGEST = "ab" * 32
OTHER = "cd" * 32


def heard(*recordings: str) -> Walkaround:
    """What a worker makes of recordings."""
    kept = tuple(Recording(id=f"r{n}", name="bay.ogg", sha256=sha) for n, sha in enumerate(recordings or (DIGEST,), 1))
    return Walkaround(made_by=MadeBy(program="p", lexicon="l", settings="s"), recordings=kept)


@pytest.fixture
def queued(store: Store) -> Callable[..., int]:
    """Return a maker of jobs, their recordings in the store."""

    def make(*recordings: str, name: str = "bay.ogg") -> int:
        chosen = recordings or (DIGEST,)
        row = {"name": name, "suffix": ".ogg", "bytes": 1, "video": False, "added_at": "2026-11-27T09:00:00.000Z"}
        with store.writing() as connection:
            known = set(connection.scalars(recording_table.select().with_only_columns(recording_table.c.sha256)))
            for sha256 in set(chosen) - known:
                connection.execute(recording_table.insert().values(sha256=sha256, **row))
        return queue_job(store, chosen, name=name, who="Ana", total_s=60.0)

    return make


def test_a_job_waits_is_worked_at_and_becomes_a_walkaround(store: Store, queued: Callable[..., int]) -> None:
    number = queued()
    assert read_job(store, number).state == "waiting"
    job = claim(store, "bench")
    assert job is not None
    assert (job.id, job.state, job.tries, job.recordings, job.added_by) == (number, "working", 1, (DIGEST,), "Ana")
    assert report(store, number, "bench", 12.5, 61.0)
    assert (read_job(store, number).done_s, read_job(store, number).total_s) == (12.5, 61.0)
    walkaround = finish(store, job, heard(), "Ana")
    done = read_job(store, number)
    assert (done.state, done.walkaround, done.done_s, done.worker) == ("done", walkaround, 61.0, None)
    assert [event.who for event in history(store, walkaround or "")] == ["Ana"]
    assert claim(store, "bench") is None


def test_jobs_are_taken_in_turn(store: Store, queued: Callable[..., int]) -> None:
    numbers = [queued(name=f"{n}.ogg") for n in range(3)]
    assert [job.id for job in (claim(store, "a"), claim(store, "b"), claim(store, "c")) if job] == numbers
    assert [job.id for job in list_jobs(store)] == numbers[::-1]
    assert [job.id for job in list_jobs(store, limit=1)] == numbers[-1:]


def test_many_workers_never_take_the_same_job(store: Store, queued: Callable[..., int]) -> None:
    numbers = {queued(name=f"{n}.ogg") for n in range(12)}
    taken: list[int] = []

    def work(name: str) -> None:
        while job := claim(store, name):
            taken.append(job.id)
            finish(store, job, heard(), name)

    workers = [threading.Thread(target=work, args=(f"worker {n}",)) for n in range(4)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    assert sorted(taken) == sorted(numbers)
    assert len(find_walkarounds(store)) == len(numbers)


def test_a_silent_workers_job_is_taken_by_another_and_finished_once(store: Store, queued: Callable[..., int]) -> None:
    number = queued()
    lost = claim(store, "lost", lease_s=0.01)
    time.sleep(0.05)
    taken = claim(store, "next")
    assert lost is not None
    assert taken is not None
    assert (taken.id, taken.tries) == (number, 2)
    assert not report(store, number, "lost", 1.0, 60.0)
    assert finish(store, lost, heard(), "Ana") is None
    assert not fail(store, number, "lost", "It broke.")
    assert finish(store, taken, heard(), "Ana") is not None
    assert finish(store, taken, heard(), "Ana") is None
    assert len(find_walkarounds(store)) == 1


def test_a_worker_that_was_only_slow_keeps_its_job(store: Store, queued: Callable[..., int]) -> None:
    number = queued()
    claim(store, "slow", lease_s=0.01)
    time.sleep(0.05)
    assert report(store, number, "slow", 1.0, 60.0)
    assert claim(store, "next") is None


def test_a_job_that_ends_the_program_each_time_is_given_up(store: Store, queued: Callable[..., int]) -> None:
    number = queued()
    for _ in range(MOST_TRIES):
        assert claim(store, "bench", lease_s=0.01)
        time.sleep(0.03)
    assert claim(store, "bench") is None
    job = read_job(store, number)
    assert job.state == "failed"
    assert "begun 3 times" in job.why


def test_a_failure_says_why_and_can_be_tried_again(store: Store, queued: Callable[..., int]) -> None:
    number = queued()
    claim(store, "bench")
    assert fail(store, number, "bench", "bay.ogg is empty; record it again.")
    assert read_job(store, number).state == "failed"
    assert read_job(store, number).why == "bay.ogg is empty; record it again."
    assert claim(store, "bench") is None
    assert retry(store, number).state == "waiting"
    assert read_job(store, number).why == ""
    again = claim(store, "bench")
    assert again is not None
    assert again.tries == 1


def test_what_may_work_another_time_is_tried_three_times(store: Store, queued: Callable[..., int]) -> None:
    number = queued()
    states = []
    for _ in range(MOST_TRIES):
        assert claim(store, "bench")
        fail(store, number, "bench", "The disk is full.", again=True)
        states.append(read_job(store, number).state)
    assert states == ["waiting", "waiting", "failed"]


def test_a_stopped_job_is_not_finished(store: Store, queued: Callable[..., int]) -> None:
    number = queued()
    job = claim(store, "bench")
    assert job is not None
    assert stop(store, number).state == "stopped"
    assert not report(store, number, "bench", 30.0, 60.0)
    assert finish(store, job, heard(), "Ana") is None
    assert find_walkarounds(store) == []
    assert retry(store, number).state == "waiting"


def test_a_job_put_back_has_not_been_tried(store: Store, queued: Callable[..., int]) -> None:
    number = queued()
    claim(store, "bench")
    assert put_back(store, number, "bench")
    assert (read_job(store, number).state, read_job(store, number).tries) == ("waiting", 0)
    assert not put_back(store, number, "bench")


def test_what_is_over_cannot_be_stopped_nor_what_waits_tried_again(store: Store, queued: Callable[..., int]) -> None:
    number = queued()
    with pytest.raises(UsageError, match="has not failed"):
        retry(store, number)
    stop(store, number)
    with pytest.raises(UsageError, match="nothing to stop"):
        stop(store, number)


@pytest.mark.parametrize("number", [7, 0, -1, 2**40])
def test_a_job_there_is_not_is_told(number: int, store: Store) -> None:
    with pytest.raises(MissingError, match="no job"):
        read_job(store, number)


def test_a_failed_finish_leaves_the_job_as_it_was(store: Store, queued: Callable[..., int]) -> None:
    """The walkaround and the mark are one transaction."""
    number = queued()
    job = claim(store, "bench")
    assert job is not None
    twice = heard().model_copy(update={"recordings": (*heard().recordings, *heard(OTHER).recordings)})
    with pytest.raises(StoreError, match="one id"):
        finish(store, job, twice, "Ana")
    assert read_job(store, number).state == "working"
    assert find_walkarounds(store) == []
    assert finish(store, job, heard(), "Ana") is not None


def test_recordings_that_are_known_are_told(store: Store, queued: Callable[..., int]) -> None:
    number = queued(DIGEST, OTHER)
    assert job_with(store, (DIGEST, OTHER)) == read_job(store, number)
    assert job_with(store, (DIGEST,)) is None
    assert walkaround_with(store, (DIGEST,)) is None
    job = claim(store, "bench")
    assert job is not None
    made = finish(store, job, heard(DIGEST, OTHER), "Ana")
    assert made is not None
    assert job_with(store, (DIGEST, OTHER)) is None
    assert walkaround_with(store, (DIGEST,)) == walkaround_with(store, (OTHER, DIGEST)) == made
    assert walkaround_with(store, (DIGEST, "ef" * 32)) is None
    assert walkaround_with(store, ()) is None
    assert read_walkaround(store, made).walkaround.recordings[1].sha256 == OTHER
    set_aside(store, made, who="Ana", why="twice")
    assert walkaround_with(store, (DIGEST,)) is None
