"""What tells workers on several machines of jobs: procrastinate on the store's own database. Its only home.

It tells, and decides nothing. Whose a job is stands in the store, as on one machine: a worker that is told of a job
claims it there by a lease. So these rows may be lost, doubled or made anew, and each job is still done once.
"""

import asyncio
import logging
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from datetime import date
from importlib.metadata import version
from typing import Literal

from narrate.errors import StoreError
from narrate.store.engine import Store
from narrate.store.fleet_jobs import Waiting

try:
    import procrastinate
    import psycopg
    from procrastinate.exceptions import AlreadyEnqueued, ConnectorException
    from procrastinate.jobs import Status
except ImportError as error:
    MISSING = "Work on several machines needs the package procrastinate; run 'pip install narrate[fleet]'."
    raise StoreError(MISSING) from error

QueueName = Literal["cpu", "cuda"]
TASK = "narrate.hear"
NAME = "narrate worker on "
"""How a worker's connections are named to the database, with what it hears with: so others know of it."""
HEARTBEAT_S = 10.0
SILENT_S = 45.0
"""How long a worker's heart may not beat before its rows are put away: four beats, and some for a slow network."""
LOOK_EVERY_S = 5.0
"""How often a worker looks for rows itself, should the database's notice of one have been lost."""
MOST_LISTENING = 32
"""So many workers are told at once of each row; of more, each looks by itself: all would ask at once for one row."""
_LOCK = 0x6E617173
"""Any number that nothing else in the database takes as its advisory lock."""
_log = logging.getLogger(__name__)


class FleetQueue:
    """The queue, opened with `open` and closed with `close`; `hear` is called in a thread with a job's number."""

    def __init__(self, store: Store, hear: Callable[[int], None], device: QueueName) -> None:
        if store.engine.dialect.name != "postgresql":
            message = "Several machines need a store on PostgreSQL; set NARRATE_STORE to its address."
            raise StoreError(message)
        self._address = store.engine.url.set(drivername="postgresql").render_as_string(hide_password=False)
        # A schema for each version: machines of two versions work side by side, and nothing is ever migrated.
        self._schema = f"narrate_fleet_{version('procrastinate').replace('.', '_')}"
        options = {"options": f"-c search_path={self._schema}", "application_name": f"{NAME}{device}"}
        connector = procrastinate.PsycopgConnector(conninfo=self._address, kwargs=options, min_size=1, max_size=2)
        self._app = procrastinate.App(connector=connector)
        self._app.task(name=TASK)(hear)
        self.taken: tuple[QueueName, ...] = ("cuda", "cpu") if device == "cuda" else ("cpu",)
        """The queues whose jobs it takes: a card takes what is for processors too."""

    async def open(self) -> None:
        """Connect, and make the queue's tables where they are missing. Raises StoreError."""
        with _told():
            await self._make_schema()
            await self._app.open_async()
            if not await self._app.check_connection_async():
                message = "The tables of the machines' queue cannot be read; check the database user's rights."
                raise StoreError(message)

    async def close(self) -> None:
        """Let go of all connections."""
        with _told():
            await self._app.close_async()

    async def work(self, *, name: str, wait: bool) -> None:
        """Take what is told, one after the other; without `wait` until nothing is there. Raises StoreError.

        When cancelled, it first waits for what it has in hand.
        """
        listens = await self.workers() < MOST_LISTENING
        with _told():
            await self._app.run_worker_async(
                listen_notify=listens,
                queues=list(self.taken),
                name=name,
                concurrency=1,
                wait=wait,
                delete_jobs="always",
                install_signal_handlers=False,
                fetch_job_polling_interval=LOOK_EVERY_S,
                update_heartbeat_interval=HEARTBEAT_S,
                stalled_worker_timeout=SILENT_S,
            )

    async def announced(self) -> set[tuple[QueueName, int]]:
        """Which jobs workers have been told of, and none has taken yet, by queue and number."""
        with _told():
            rows = await self._app.job_manager.list_jobs_async(task=TASK, status=Status.TODO.value)
        return {("cuda" if row.queue == "cuda" else "cpu", int(str(row.task_kwargs["number"]))) for row in rows}

    async def cards(self) -> bool:
        """Whether a worker with a CUDA card is connected to this database."""
        asked = "SELECT count(*) AS cards FROM pg_stat_activity WHERE datname = current_database()"
        with _told():
            row = await self._app.connector.execute_query_one_async(
                f"{asked} AND application_name = %(name)s", name=f"{NAME}cuda"
            )
        return bool(row["cards"])

    async def workers(self) -> int:
        """How many workers are there, on all machines, those just gone among them."""
        with _told():
            row = await self._app.connector.execute_query_one_async(
                "SELECT count(*) AS workers FROM procrastinate_workers"
            )
        return int(row["workers"])

    async def announce(self, jobs: Iterable[Waiting], queue: QueueName) -> int:
        """Tell workers of jobs that none was told of; return of how many."""
        told = 0
        with _told():
            for each in jobs:
                # One row a job waits; one that is being taken, or whose worker is gone, does not hinder another.
                lock = f"{queue} {each.id}"
                task = self._app.configure_task(TASK, queue=queue, queueing_lock=lock, priority=priority(each))
                try:
                    await task.defer_async(number=each.id)
                except AlreadyEnqueued:
                    continue
                told += 1
        return told

    async def sweep(self) -> int:
        """Put away rows whose workers are gone, and return how many; their jobs are told of anew by the store.

        Also rows whose worker's own row is gone, which no heartbeat accounts for.
        """
        with _told():
            stalled = await self._app.job_manager.get_stalled_jobs(task_name=TASK, seconds_since_heartbeat=SILENT_S)
            gone = 0
            for row in stalled:
                try:
                    await self._app.job_manager.finish_job(row, Status.FAILED, delete_job=True)
                    gone += 1
                except ConnectorException:
                    # Another machine was faster, or its worker came back.
                    _log.debug("A row was put away by another machine.")
        return gone

    async def _make_schema(self) -> None:
        async with await psycopg.AsyncConnection.connect(self._address) as connection:
            await connection.execute("SELECT pg_advisory_xact_lock(%s)", (_LOCK,))
            there = await connection.execute("SELECT to_regclass(%s)", (f"{self._schema}.procrastinate_jobs",))
            row = await there.fetchone()
            if row is not None and row[0] is not None:
                return
            name = psycopg.sql.Identifier(self._schema)
            await connection.execute(psycopg.sql.SQL("CREATE SCHEMA IF NOT EXISTS {}").format(name))
            await connection.execute(psycopg.sql.SQL("SET LOCAL search_path TO {}").format(name))
            await connection.execute(self._app.schema_manager.get_schema().encode())


def priority(job: Waiting) -> int:
    """The higher, the sooner a job is due, in minutes, which fit 32 bits; one that was begun before comes first."""
    day, _, clock = job.due.partition("T")
    hours, _, minutes = clock[:5].partition(":")
    due = date.fromisoformat(day).toordinal() * 1440 + int(hours or 0) * 60 + int(minutes or 0)
    return (job.tries > 0) - due


def loop_factory() -> asyncio.AbstractEventLoop:
    """The kind of event loop that the database's driver can use, which is not every system's own."""
    return asyncio.SelectorEventLoop()


@contextmanager
def _told() -> Iterator[None]:
    """Turn a database that cannot be used into a sentence."""
    try:
        yield
    except (ConnectorException, psycopg.Error, OSError) as error:
        reason = str(error.__cause__ or error).strip().splitlines()
        what = reason[0] if reason else type(error).__name__
        message = f"The machines' queue cannot be used ({what}); it is tried again."
        raise StoreError(message) from error
