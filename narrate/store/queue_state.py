"""The queue at one moment, in figures: for whoever watches it."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from sqlalchemy import Connection, func, select

from narrate.store.clock import as_text
from narrate.store.engine import Store
from narrate.store.jobs import LEASE_S, gone_silent
from narrate.store.listing import count_walkarounds
from narrate.store.tables import event, job

STATES = ("waiting", "working", "done", "failed", "stopped")
LATELY = timedelta(hours=24)


@dataclass(frozen=True, kw_only=True)
class QueueState:
    """Figures of the queue; ages are seconds, None where there is nothing to be of that age."""

    jobs: dict[str, int]
    """How many in each state."""
    oldest_waiting_s: float | None
    longest_working_s: float | None
    stuck: int
    """Jobs that are held by a worker that went silent, and that nobody has taken over yet."""
    failed: dict[str, int]
    """How many failed, by the kind of the last failure; `unknown` are those of before it was kept."""
    sound_s: float
    """Of all jobs done whose time was taken: seconds of sound, and of work."""
    worked_s: float
    times_real: float | None
    """Seconds of sound heard in a second of a worker's time, over the last day."""
    worker_seen_s: float | None
    """Since a worker last said something."""
    walkarounds: dict[str, int]
    events: int


@dataclass(frozen=True, kw_only=True)
class Left:
    """What is still to be heard. `takes_s`: seconds of the clock, as it went lately; None where nothing was heard."""

    jobs: int
    sound_s: float
    takes_s: float | None


def left_to_hear(store: Store, *, at: datetime | None = None) -> Left:
    """Return what waits or is being heard, and how long that will take. Raises StoreError.

    Workers that hear at once are counted by the jobs in hand.
    """
    now = at or datetime.now(UTC)
    with store.reading() as connection:
        under_way = job.c.state.in_(("waiting", "working"))
        sums = select(func.count(), func.sum(job.c.total_s), func.sum(job.c.done_s))
        jobs, total_s, done_s = connection.execute(sums.where(under_way)).one()
        in_hand = connection.scalar(select(func.count()).select_from(job).where(job.c.state == "working")) or 0
        sound_s, worked_s = _work(connection, job.c.ended_at >= as_text(now - LATELY))
    to_hear_s = max(0.0, float(total_s or 0.0) - float(done_s or 0.0))
    takes_s = to_hear_s * worked_s / sound_s / max(1, in_hand) if sound_s and worked_s else None
    return Left(jobs=int(jobs), sound_s=to_hear_s, takes_s=takes_s)


def queue_state(store: Store, *, at: datetime | None = None) -> QueueState:
    """Return the queue as it is. Raises StoreError."""
    now = at or datetime.now(UTC)
    with store.reading() as connection:
        states = _counts(connection, job.c.state)
        failed = _counts(connection, job.c.kind, job.c.state == "failed")
        oldest = connection.scalar(select(func.min(job.c.added_at)).where(job.c.state == "waiting"))
        longest = connection.scalar(select(func.min(job.c.began_at)).where(job.c.state == "working"))
        silent = select(func.count()).select_from(job).where(job.c.state == "working", gone_silent(LEASE_S))
        stuck = connection.scalar(silent) or 0
        sound_s, worked_s = _work(connection, job.c.took_s.is_not(None))
        lately = _work(connection, job.c.ended_at >= as_text(now - LATELY))
        seen = connection.execute(select(func.max(job.c.began_at), func.max(job.c.ended_at))).one()
        lease = connection.scalar(select(func.max(job.c.lease_until)).where(job.c.state == "working"))
        events = connection.scalar(select(func.max(event.c.number))) or 0
    heard_of = [datetime.fromisoformat(each) for each in seen if each]
    if lease:
        heard_of.append(datetime.fromisoformat(lease) - timedelta(seconds=LEASE_S))
    return QueueState(
        jobs={state: states.get(state, 0) for state in STATES},
        oldest_waiting_s=_age(oldest, now),
        longest_working_s=_age(longest, now),
        stuck=stuck,
        failed={kind or "unknown": number for kind, number in failed.items()},
        sound_s=sound_s,
        worked_s=worked_s,
        times_real=lately[0] / lately[1] if lately[1] else None,
        worker_seen_s=max(0.0, (now - max(heard_of)).total_seconds()) if heard_of else None,
        walkarounds=count_walkarounds(store),
        events=events,
    )


def _counts(connection: Connection, column: object, *where: object) -> dict[str, int]:
    asked = select(column, func.count()).where(*where).group_by(column)  # type: ignore[call-overload]
    return {str(key): int(number) for key, number in connection.execute(asked)}


def _work(connection: Connection, where: object) -> tuple[float, float]:
    """Seconds of sound and of work of jobs done."""
    sums = select(func.sum(job.c.total_s), func.sum(job.c.took_s))
    sound_s, worked_s = connection.execute(sums.where(job.c.state == "done", where)).one()  # type: ignore[arg-type]
    return float(sound_s or 0.0), float(worked_s or 0.0)


def _age(moment: str | None, now: datetime) -> float | None:
    return None if moment is None else max(0.0, (now - datetime.fromisoformat(moment)).total_seconds())
