"""Jobs: recordings that wait to be heard, each taken by one worker for a time and finished exactly once.

A worker holds a job by a lease that it renews by reporting. When the lease runs out the job is there to be taken
again; whoever held it can then neither report nor finish.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any, Literal

from sqlalchemy import Connection, Row, and_, func, or_, select, update

from narrate.errors import MissingError, UsageError
from narrate.records.walkaround import Walkaround
from narrate.store.clock import as_text, now
from narrate.store.engine import Store
from narrate.store.results import keep_result, result_within, walkaround_within
from narrate.store.tables import job, visit
from narrate.store.vehicles import link
from narrate.store.walkarounds import add_within

Kind = Literal["audio", "model", "settings", "store", "fault", "silent"]
"""What a job failed of: its recordings, the speech model, what is set, the store, narrate itself, or nobody knows: its
worker went silent."""
LEASE_S = 120.0
MOST_TRIES = 3
GIVEN_UP = (
    "It was begun {tries} times and the program ended each time before it was done; "
    "try again when nothing else is running, or split the recording."
)
TOO_FAR = 1.5
"""A lease that runs this many times as long as leases do was given before the clock was set back."""


@dataclass(frozen=True, kw_only=True)
class Job:
    """Recordings to be heard as one walkaround, and how far that is. Times `_s` are seconds of sound."""

    id: int
    name: str
    visit_id: int | None
    recordings: tuple[str, ...]
    """The sha256 of each, in the order in which they were recorded."""
    state: str
    """`waiting`, `working`, `done`, `failed` or `stopped`."""
    tries: int
    """How often it was begun and not put back."""
    failures: int
    """How often it failed by itself: of these MOST_TRIES are the end."""
    why: str
    """One sentence about a failure; empty otherwise."""
    done_s: float
    total_s: float
    worker: str | None
    lease_until: str | None
    walkaround: str | None
    """What it became, `w7`."""
    added_at: str
    added_by: str


def queue_job(
    store: Store, recordings: Sequence[str], *, name: str, who: str, visit_id: int | None = None, total_s: float
) -> int:
    """Put recordings (sha256, kept before) in line, to be heard as one walkaround; return the job's number."""
    with store.writing() as connection:
        return new_job(connection, recordings, name=name, who=who, visit_id=visit_id, total_s=total_s)


def new_job(
    connection: Connection, recordings: Sequence[str], *, name: str, who: str, visit_id: int | None, total_s: float
) -> int:
    """`queue_job` within a transaction."""
    values = {"name": name, "visit_id": visit_id, "recordings": json.dumps(list(recordings)), "total_s": total_s}
    added = connection.execute(
        job.insert().values(**values, **FRESH, added_at=now(), added_by=who)
    ).inserted_primary_key
    return int(added[0]) if added else 0


def claim(
    store: Store, worker: str, lease_s: float = LEASE_S, *, most_silent: int = MOST_TRIES, only: int | None = None
) -> Job | None:
    """Take the job promised first, or one whose worker went silent; None where there is none.

    What nobody promised counts as promised by the end of the day on which it came; of two alike the one that has
    waited longer is taken. One whose workers went silent `most_silent` times becomes failed instead. `worker` must be
    a name that no other worker has. only: the number of the one job to be taken.
    """
    with store.marking() as connection:
        silent = gone_silent(lease_s)
        given_up = and_(silent, job.c.tries - job.c.failures >= most_silent)
        given_up = given_up if only is None else and_(given_up, job.c.id == only)
        ended = {"state": "failed", "failures": MOST_TRIES, "why": GIVEN_UP.format(tries=most_silent), **FREE}
        connection.execute(update(job).where(given_up).values(**ended, kind="silent", ended_at=now()))
        free = select(job).join(visit, isouter=True).where(or_(job.c.state == "waiting", silent))
        free = free if only is None else free.where(job.c.id == only)
        # What another takes at this moment is passed over; SQLite has one writer anyway.
        first = free.order_by(DUE, job.c.id).limit(1).with_for_update(of=job, skip_locked=True)
        row = connection.execute(first).first()
        if row is None:
            return None
        values = {"state": "working", "tries": row.tries + 1, "worker": worker, "lease_until": _until(lease_s)}
        begun = {"done_s": 0.0, "why": "", "kind": "", "began_at": now(), "ended_at": None, "took_s": None}
        taken = update(job).where(job.c.id == row.id).values(**values, **begun).returning(job)
        return job_of(connection.execute(taken).one())


def report(store: Store, job_id: int, worker: str, done_s: float, total_s: float, lease_s: float = LEASE_S) -> bool:
    """Say how far a job is, and keep it for another while; False where it was stopped or taken away."""
    with store.marking() as connection:
        values = {"done_s": done_s, "total_s": total_s, "lease_until": _until(lease_s)}
        return connection.execute(update(job).where(_held_by(job_id, worker)).values(**values)).rowcount == 1


def finish(
    store: Store,
    done: Job,
    walkaround: Walkaround,
    who: str,
    *,
    vehicle_id: int | None = None,
    visit_id: int | None = None,
    untied: bool = False,
    key: str | None = None,
) -> str | None:
    """Add what a job became, of a known vehicle, and mark it done, both or neither; return the walkaround's id.

    visit_id: the order it turned out to be of, where the job has none. untied: that it is not surely of the job's own
    order, and goes to none. key: what it was made of; where the same was
    made before and is there, that one is returned and nothing is added. None, and nothing is added, where the worker
    in `done` no longer holds the job.
    """
    with store.writing() as connection:
        held = connection.execute(select(job).where(_held_by(done.id, done.worker)).with_for_update()).first()
        if held is None:
            return None
        of_visit = None if untied else held.visit_id if held.visit_id is not None else visit_id
        row = result_within(connection, key) if key else None
        if row is None:
            added = add_within(connection, walkaround, who=who, visit_id=of_visit)
            row = added.row
            if vehicle_id is not None:
                link(connection, added.id, vehicle_id, who=who)
            if key:
                keep_result(connection, key, walkaround_id=row, job_id=done.id)
        values = {"state": "done", "why": "", "done_s": held.total_s, "walkaround_id": row, "visit_id": of_visit}
        connection.execute(update(job).where(job.c.id == done.id).values(**values, **FREE, **_ended(held.began_at)))
        return f"w{row}"


def fail(
    store: Store,
    job_id: int,
    worker: str | None,
    why: str,
    *,
    again: bool = False,
    counts: bool = True,
    kind: Kind = "silent",
) -> bool:
    """Say that a job cannot be done, and why in one sentence; False where the worker no longer holds it.

    again: it may work another time; then it waits once more until it failed MOST_TRIES times. counts: whether it is
    the recordings' own failure, and not the shop's settings or the model. kind: what failed, for who watches.
    """
    with store.marking() as connection:
        held = connection.execute(select(job).where(_held_by(job_id, worker)).with_for_update()).first()
        if held is None:
            return False
        failures = held.failures + counts
        state = "waiting" if again and failures < MOST_TRIES else "failed"
        values = {"state": state, "failures": failures, "why": why, "kind": kind, **FREE}
        connection.execute(update(job).where(job.c.id == job_id).values(**values, **_ended(held.began_at)))
        return True


def put_back(store: Store, job_id: int, worker: str | None) -> bool:
    """Give back a job that its worker cannot go on with, as if it had not begun; False where it does not hold it."""
    with store.marking() as connection:
        values = {"state": "waiting", "tries": job.c.tries - 1, "done_s": 0.0, **FREE}
        return connection.execute(update(job).where(_held_by(job_id, worker)).values(**values)).rowcount == 1


def stop(store: Store, job_id: int) -> Job:
    """Stop a job that waits or is worked at; its recordings are kept. Raises UsageError for one that is over."""
    with store.writing() as connection:
        before = _read(connection, job_id)
        if before.state not in {"waiting", "working"}:
            message = f"{before.name} is not being heard any more; there is nothing to stop."
            raise UsageError(message)
        connection.execute(update(job).where(job.c.id == job_id).values(state="stopped", **FREE))
        return _read(connection, job_id)


def retry(store: Store, job_id: int) -> Job:
    """Put a job that failed or was stopped in line again. Raises UsageError for any other."""
    with store.writing() as connection:
        before = _read(connection, job_id)
        if before.state not in {"failed", "stopped"}:
            message = f"{before.name} has not failed; only what failed or was stopped can be tried again."
            raise UsageError(message)
        connection.execute(update(job).where(job.c.id == job_id).values(**FRESH))
        return _read(connection, job_id)


def list_jobs(store: Store, state: str | None = None, limit: int = 100) -> list[Job]:
    """Return jobs, the newest first; all of one state if asked."""
    chosen = select(job).order_by(job.c.id.desc()).limit(limit)
    with store.reading() as connection:
        return [
            job_of(row) for row in connection.execute(chosen if state is None else chosen.where(job.c.state == state))
        ]


def read_job(store: Store, job_id: int) -> Job:
    """Return one job. Raises MissingError."""
    with store.reading() as connection:
        return _read(connection, job_id)


def job_with(store: Store, recordings: Sequence[str]) -> Job | None:
    """Return the newest job of just these recordings that waits or is worked at, if there is one."""
    under_way = and_(job.c.recordings == json.dumps(list(recordings)), job.c.state.in_(("waiting", "working")))
    with store.reading() as connection:
        row = connection.execute(select(job).where(under_way).order_by(job.c.id.desc()).limit(1)).first()
        return None if row is None else job_of(row)


def walkaround_with(store: Store, recordings: Sequence[str]) -> str | None:
    """Return the newest walkaround in which all these recordings were heard, `w7`; one set aside does not count."""
    with store.reading() as connection:
        row = walkaround_within(connection, list(recordings))
    return None if row is None else f"w{row}"


FREE: dict[str, Any] = {"worker": None, "lease_until": None}
"""A job's columns when nobody holds it."""
DUE = func.coalesce(visit.c.promised, func.substr(job.c.added_at, 1, 10).concat("T24"))
"""By when a job is to be done, as text that sorts; the visit is to be joined."""
FRESH: dict[str, Any] = {"state": "waiting", "tries": 0, "failures": 0, "why": "", "kind": "", "done_s": 0.0, **FREE}


def _ended(began_at: str | None) -> dict[str, Any]:
    """The columns that tell when a job ended and how long it took; a clock set back makes that no less than nothing."""
    ended_at = datetime.now(UTC)
    took_s = (ended_at - datetime.fromisoformat(began_at)).total_seconds() if began_at else None
    return {"ended_at": as_text(ended_at), "took_s": None if took_s is None else max(0.0, took_s)}


def _held_by(job_id: int, worker: str | None) -> Any:  # noqa: ANN401 - a condition of SQLAlchemy's
    return and_(job.c.id == job_id, job.c.worker == worker, job.c.state == "working")


def gone_silent(lease_s: float) -> Any:  # noqa: ANN401 - a condition of SQLAlchemy's
    """The condition that a job is worked at by nobody any more, though it was not given back."""
    run_out = or_(job.c.lease_until < now(), job.c.lease_until > _until(TOO_FAR * max(lease_s, LEASE_S)))
    return and_(job.c.state == "working", run_out)


def _until(lease_s: float) -> str:
    return as_text(datetime.now(UTC) + timedelta(seconds=lease_s))


def _read(connection: Connection, job_id: int) -> Job:
    # Tables hold 32 bits on PostgreSQL.
    row = connection.execute(select(job).where(job.c.id == job_id)).first() if 0 < job_id < 2**31 else None
    if row is None:
        message = f"There is no job {job_id}; look at the list of recordings again."
        raise MissingError(message)
    return job_of(row)


def job_of(row: Row[Any]) -> Job:
    """Return the job in a row."""
    same = {name: getattr(row, name) for name in Job.__dataclass_fields__ if name not in {"recordings", "walkaround"}}
    became = None if row.walkaround_id is None else f"w{row.walkaround_id}"
    return Job(**same, recordings=tuple(json.loads(row.recordings)), walkaround=became)
