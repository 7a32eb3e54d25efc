"""Jobs as several machines need them: which are there to be taken, and whether the machines agree on the time."""

import json
import time
from dataclasses import dataclass
from datetime import UTC, datetime

from sqlalchemy import func, or_, select

from narrate.store.engine import Store
from narrate.store.jobs import DUE, LEASE_S, gone_silent
from narrate.store.tables import job, visit


@dataclass(frozen=True, kw_only=True)
class Waiting:
    """A job that can be taken now."""

    id: int
    recordings: tuple[str, ...]
    """The sha256 of each."""
    due: str
    """By when it is to be done: a date, or a date and a time, that sorts as text."""
    added_at: str
    tries: int
    """How often it was begun before."""


def waiting_jobs(store: Store, lease_s: float = LEASE_S, limit: int = 1000) -> tuple[Waiting, ...]:
    """Return the jobs that wait or whose worker went silent, what is due first at the front."""
    free = or_(job.c.state == "waiting", gone_silent(lease_s))
    asked = (
        select(job.c.id, job.c.recordings, DUE.label("due"), job.c.added_at, job.c.tries)
        .join(visit, isouter=True)
        .where(free)
    )
    with store.reading() as connection:
        rows = connection.execute(asked.order_by(DUE, job.c.id).limit(limit)).all()
    return tuple(Waiting(**{**row._mapping, "recordings": tuple(json.loads(row.recordings))}) for row in rows)


def recordings_under_way(store: Store) -> set[str]:
    """Return the sha256 of each recording whose job waits or is worked at."""
    with store.reading() as connection:
        rows = connection.scalars(select(job.c.recordings).where(job.c.state.in_(("waiting", "working"))))
        return {sha256 for row in rows for sha256 in json.loads(row)}


def clock_ahead_s(store: Store) -> float:
    """Return by how many seconds this machine's clock is ahead of the database's; 0 where they are one machine.

    Leases are written by each machine's own clock, so that they mean the same only where clocks agree.
    """
    if store.engine.dialect.name != "postgresql":
        return 0.0
    with store.reading() as connection:
        began = time.monotonic()
        # The time of the question, not of the transaction.
        there = connection.scalar(select(func.clock_timestamp()))
        on_the_way_s = time.monotonic() - began
    if not isinstance(there, datetime):
        return 0.0
    return (datetime.now(UTC) - there).total_seconds() - on_the_way_s / 2
