"""The queue in figures, on both engines."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from made_walkarounds import walkaround
from sqlalchemy import update

from narrate.store.clock import as_text
from narrate.store.engine import Store
from narrate.store.jobs import claim, fail, finish, queue_job
from narrate.store.queue_state import Left, left_to_hear, queue_state
from narrate.store.tables import job


def ago(seconds: float) -> str:
    return as_text(datetime.now(UTC) - timedelta(seconds=seconds))


def test_an_empty_queue(store: Store) -> None:
    state = queue_state(store)
    assert state.jobs == {"waiting": 0, "working": 0, "done": 0, "failed": 0, "stopped": 0}
    assert (state.oldest_waiting_s, state.worker_seen_s, state.times_real) == (None, None, None)
    assert (state.stuck, state.failed, state.sound_s, state.events) == (0, {}, 0.0, 0)
    assert left_to_hear(store) == Left(jobs=0, sound_s=0.0, takes_s=None)


def test_figures_of_a_busy_one(store: Store, tmp_path: Path) -> None:
    """One done in a minute, two failed, one being heard, one whose worker is silent, one that waits."""
    for number in range(6):
        queue_job(store, [], name=f"bay {number}", who="Dana", total_s=600.0)
    for number in range(1, 4):
        claimed = claim(store, f"worker {number}")
        assert claimed is not None
        if number == 1:
            with store.writing() as connection:
                connection.execute(update(job).where(job.c.id == 1).values(began_at=ago(60)))
            finish(store, claimed, walkaround(), "Dana")
        else:
            fail(store, claimed.id, claimed.worker, "no.", kind="audio" if number == 2 else "store")
    for number in (4, 5):
        assert claim(store, f"worker {number}") is not None
    with store.writing() as connection:
        silent = {"lease_until": ago(100), "began_at": ago(500)}
        connection.execute(update(job).where(job.c.id == 4).values(**silent))
        connection.execute(update(job).where(job.c.id == 6).values(added_at=ago(7200)))
    state = queue_state(store)
    assert state.jobs == {"waiting": 1, "working": 2, "done": 1, "failed": 2, "stopped": 0}
    assert state.failed == {"audio": 1, "store": 1}
    assert state.stuck == 1
    assert state.oldest_waiting_s == pytest.approx(7200, abs=30)
    assert state.longest_working_s == pytest.approx(500, abs=30)
    assert (state.sound_s, round(state.worked_s)) == (600.0, pytest.approx(60, abs=10))
    assert state.times_real == pytest.approx(10, abs=2)
    assert state.worker_seen_s == pytest.approx(0, abs=30)
    assert state.walkarounds == {"to_check": 1, "signed": 0, "set_aside": 0}
    assert state.events == 1
    left = left_to_hear(store)
    assert (left.jobs, left.sound_s) == (3, 1800.0)
    # Ten times real time by each of the two that hear.
    assert left.takes_s == pytest.approx(90, abs=15)


def test_a_clock_set_back_makes_no_age_less_than_nothing(store: Store) -> None:
    queue_job(store, [], name="bay", who="Dana", total_s=60.0)
    claimed = claim(store, "worker")
    assert claimed is not None
    with store.writing() as connection:
        connection.execute(update(job).values(began_at=ago(-5000)))
    finish(store, claimed, walkaround(), "Dana")
    state = queue_state(store)
    assert (state.worked_s, state.times_real, state.worker_seen_s) == (0.0, None, 0.0)


def test_what_was_done_long_ago_is_not_the_pace_of_today(store: Store) -> None:
    queue_job(store, [], name="bay", who="Dana", total_s=60.0)
    claimed = claim(store, "worker")
    assert claimed is not None
    finish(store, claimed, walkaround(), "Dana")
    with store.writing() as connection:
        connection.execute(update(job).values(ended_at=ago(90_000), began_at=ago(90_010), took_s=10.0))
    state = queue_state(store)
    assert (state.sound_s, state.worked_s, state.times_real) == (60.0, 10.0, None)
    assert state.worker_seen_s == pytest.approx(90_000, abs=30)
