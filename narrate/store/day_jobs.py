"""Jobs as a day's folder needs them: a recording in line once, what became of each, jobs of programs that are gone."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Row, literal, select, update

from narrate.store.engine import Store
from narrate.store.jobs import FREE, MOST_TRIES, Job, fail, job_of, new_job, put_back
from narrate.store.results import walkaround_within
from narrate.store.tables import job, recording, walkaround


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where a recording stands: the walkaround it is in (`w7`), and its newest job."""

    walkaround: str | None = None
    set_aside: bool = False
    """Whether the walkaround was set aside by a person: it is in no other."""
    job: Job | None = None

    @property
    def over(self) -> bool:
        """Whether nothing is going on with it."""
        return self.walkaround is not None or (self.job is not None and self.job.state in {"done", "failed", "stopped"})

    @property
    def given_up(self) -> bool:
        """Whether it failed so often that it is not tried again by itself."""
        return self.job is not None and self.job.state == "failed" and self.job.failures >= MOST_TRIES


def queue_once(
    store: Store, sha256: str, *, name: str, who: str, visit_id: int | None, total_s: float, again: bool = False
) -> Place:
    """Put a recording (kept before) in line unless it is there, or was heard; return where it stands then.

    One that failed is put in line once more until it failed MOST_TRIES times; with `again` then too.
    """
    with store.writing() as connection:
        place = _place(connection, sha256)
        before = place.job
        if place.walkaround:
            return place
        if before is None:
            new_job(connection, [sha256], name=name, who=who, visit_id=visit_id, total_s=total_s)
        elif before.state == "failed" and (again or not place.given_up):
            failures = 0 if again else before.failures
            values = {"state": "waiting", "failures": failures, "tries": failures, "done_s": 0.0, **FREE}
            connection.execute(update(job).where(job.c.id == before.id).values(**values))
        else:
            return place
        return _place(connection, sha256)


def places(store: Store, digests: Iterable[str]) -> dict[str, Place]:
    """Return where recordings stand; one that was never taken has neither walkaround nor job."""
    with store.reading() as connection:
        return {sha256: _place(connection, sha256) for sha256 in digests}


def is_kept(store: Store, sha256: str) -> bool:
    """Whether the store knows a recording."""
    with store.reading() as connection:
        return connection.scalar(select(recording.c.sha256).where(recording.c.sha256 == sha256)) is not None


def earlier_of(store: Store, name: str, but: str) -> tuple[tuple[str, int], ...]:
    """Return the recordings that came under a name before (sha256 and bytes), the newest first, but for one."""
    alone = job.c.recordings == literal('["') + recording.c.sha256 + literal('"]')
    asked = select(recording.c.sha256, recording.c.bytes, job.c.id).join(job, alone)
    with store.reading() as connection:
        rows = connection.execute(asked.where(job.c.name == name).order_by(job.c.id.desc()).limit(5)).all()
    return tuple((row.sha256, row.bytes) for row in rows if row.sha256 != but)


def numbered(store: Store, numbers: Iterable[int]) -> tuple[Job, ...]:
    """Return jobs by their numbers, those that there are."""
    with store.reading() as connection:
        return tuple(job_of(row) for row in connection.execute(select(job).where(job.c.id.in_(tuple(numbers)))))


def free_jobs(store: Store, gone: Callable[[str], bool]) -> int:
    """Put jobs in line again whose worker is `gone`, though its lease goes on; return how many.

    That the worker went silent stays counted.
    """
    with store.writing() as connection:
        held = connection.execute(select(job.c.id, job.c.worker).where(job.c.state == "working")).all()
        lost = [row.id for row in held if row.worker and gone(row.worker)]
        connection.execute(update(job).where(job.c.id.in_(lost)).values(state="waiting", **FREE))
    return len(lost)


def held_by(store: Store, process: str) -> tuple[Job, ...]:
    """Return the jobs held by workers whose names begin so (`host:pid:`)."""
    with store.reading() as connection:
        asked = select(job).where(job.c.state == "working", job.c.worker.startswith(process, autoescape=True))
        return tuple(job_of(row) for row in connection.execute(asked))


def lost(store: Store, process: str, why: str) -> None:
    """Settle the jobs of a worker that ended: a failure of theirs where `why` says one, else as if never begun."""
    for each in held_by(store, process):
        if why:
            fail(store, each.id, each.worker, why, again=True)
        else:
            put_back(store, each.id, each.worker)


def _place(connection: Connection, sha256: str) -> Place:
    row = walkaround_within(connection, [sha256])
    asked = select(job).where(job.c.recordings.contains(sha256)).order_by(job.c.id.desc()).limit(1)
    found: Row[Any] | None = connection.execute(asked).first()
    newest = None if found is None else job_of(found)
    if row is not None:
        return Place(walkaround=f"w{row}", job=newest)
    if newest is None or newest.walkaround is None:
        return Place(job=newest)
    state = connection.scalar(select(walkaround.c.state).where(walkaround.c.id == int(newest.walkaround[1:])))
    return Place(walkaround=newest.walkaround, set_aside=state == "set_aside", job=newest)
