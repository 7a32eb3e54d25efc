"""A worker among many machines, from its start to its end: told of jobs, telling others of them, and sweeping."""

import asyncio
import contextlib
import logging
import random
import time
from datetime import UTC, datetime, timedelta

from narrate.errors import StoreError
from narrate.store.clock import as_text
from narrate.store.engine import Store
from narrate.store.fleet_jobs import Waiting, clock_ahead_s, recordings_under_way, waiting_jobs
from narrate.work.fleet_member import Member
from narrate.work.fleet_queue import FleetQueue, QueueName, loop_factory

LOOK_EVERY_S = 3.0
"""How often the workers look, one or another of them, for jobs that no worker was told of."""
SWEEP_EVERY_S = 30.0
AT_ONCE = 1000
"""Of how many jobs workers are told at the most. The rest stays in the store's order, which may yet change."""
PATIENCE_S = 120.0
"""How long a job waits for a CUDA card, where there is one, before processors may have it too: a card needs seconds."""
CLOCK_S = 15.0
"""By how much a machine's clock may differ from the database's: an eighth of a lease."""
_STOP_EVERY_S = 0.2
_log = logging.getLogger(__name__)


def work_in_fleet(member: Member, *, device: QueueName, once: bool) -> None:
    """Do the jobs of a store beside workers on other machines until `member.stop`; with `once`, until none is left.

    device: what it hears with. A database that is away for a while is tried again. Raises StoreError where it cannot
    be used at the start, or (with `once`) later.
    """
    check_clock(member.store)
    with asyncio.Runner(loop_factory=loop_factory) as runner:
        runner.run(_work(member, device, once=once))


def check_clock(store: Store) -> None:
    """Raise StoreError where this machine's clock is wrong: so would its leases be."""
    ahead_s = clock_ahead_s(store)
    if abs(ahead_s) > CLOCK_S:
        how = f"{abs(ahead_s):.0f} seconds {'ahead of' if ahead_s > 0 else 'behind'}"
        message = f"This machine's clock is {how} the database's; set it right, or jobs are taken from their workers."
        raise StoreError(message)


async def _work(member: Member, device: QueueName, *, once: bool) -> None:
    queue = FleetQueue(member.store, member.hear, device)
    # A row that was swept while its job was done after all; the queue's worker leaves the error to nobody.
    asyncio.get_running_loop().set_exception_handler(lambda _, told: _log.debug("%s", told.get("message")))
    await queue.open()
    try:
        if once:
            await _until_none_is_left(queue, member)
            return
        while not member.stop():
            try:
                await _until_stopped(queue, member)
            except StoreError as error:
                _log.warning("%s", error)
                await _sleep(member, LOOK_EVERY_S)
    finally:
        await queue.close()


async def _until_none_is_left(queue: FleetQueue, member: Member) -> None:
    """Announce and work in turn. What other workers have in hand is theirs, until they go silent."""
    while not member.stop():
        await queue.sweep()
        await announce(queue, member)
        taken_from = {name for name, _ in await queue.announced()}
        if not taken_from & set(queue.taken):
            return await asyncio.to_thread(_withdraw, member)
        await queue.work(name=member.name, wait=False)
        if member.refused:
            raise StoreError(member.refused)


async def _until_stopped(queue: FleetQueue, member: Member) -> None:
    """Work, and look after the queue beside it, until either ends."""
    tasks = {
        asyncio.create_task(queue.work(name=member.name, wait=True)),
        asyncio.create_task(_look_after(queue, member)),
    }
    try:
        done, _ = await asyncio.wait(tasks, return_when=asyncio.FIRST_COMPLETED)
        for task in done:
            task.result()
    finally:
        for task in tasks:
            task.cancel()
        watching = asyncio.create_task(_watch(member))
        for task in tasks:
            with contextlib.suppress(asyncio.CancelledError, StoreError):
                await task
        watching.cancel()


async def _look_after(queue: FleetQueue, member: Member) -> None:
    """Announce and sweep from time to time; end when the worker is to end, and end its process where it hangs."""
    look_at, sweep_at = 0.0, time.monotonic() + SWEEP_EVERY_S
    while not member.stop():
        if member.hung():
            member.end()
        if time.monotonic() >= look_at:
            await announce(queue, member)
            # However many they are, one of them looks in that time: only who shares must look for itself.
            among = 1 if member.shares else max(1, await queue.workers())
            look_at = time.monotonic() + LOOK_EVERY_S * among * random.uniform(0.5, 1.5)
        if time.monotonic() >= sweep_at:
            await asyncio.to_thread(check_clock, member.store)
            await asyncio.to_thread(_withdraw, member)
            await queue.sweep()
            sweep_at = time.monotonic() + SWEEP_EVERY_S
        await asyncio.sleep(_STOP_EVERY_S)


async def _watch(member: Member) -> None:
    """A worker that is to end but hangs over its job ends nevertheless."""
    while True:
        if member.hung():
            member.end()
        await asyncio.sleep(_STOP_EVERY_S)


async def announce(queue: FleetQueue, member: Member) -> int:
    """Tell workers of the jobs that none was told of, and return of how many.

    Whatever ended between the store and the queue is mended here: a job that waits in the store is told of again.
    """
    known, cards = await queue.announced(), await queue.cards()
    new = await asyncio.to_thread(_untold, member, known, cards=cards)
    return sum([await queue.announce(jobs, name) for name, jobs in new.items()])


def _untold(member: Member, known: set[tuple[QueueName, int]], *, cards: bool) -> dict[QueueName, list[Waiting]]:
    """The jobs of which workers are to be told, by queue: those whose recordings every worker can have.

    cards: whether a worker with a CUDA card is there; it comes first, and processors help where it is behind.
    """
    if member.audio and member.shares:
        member.audio.share_words()
    late = as_text(datetime.now(UTC) - timedelta(seconds=PATIENCE_S))
    new: dict[QueueName, list[Waiting]] = {"cuda": [], "cpu": []}
    for each in waiting_jobs(member.store, member.lease_s, AT_ONCE):
        name: QueueName = "cuda" if cards and each.added_at > late else "cpu"
        if (name, each.id) not in known and all(_at_hand(member, sha256) for sha256 in each.recordings):
            new[name].append(each)
    return new


def _withdraw(member: Member) -> None:
    """Take back recordings from the shared address whose jobs are over."""
    if member.audio and member.shares:
        member.audio.withdraw(lambda: recordings_under_way(member.store))


def _at_hand(member: Member, sha256: str) -> bool:
    """Whether whoever is told of a job can have its recording. Without a shared address all have one folder."""
    if member.audio is None:
        return True
    return (member.shares and member.audio.share(sha256)) or member.audio.is_there(sha256)


async def _sleep(member: Member, seconds: float) -> None:
    until = time.monotonic() + seconds
    while time.monotonic() < until and not member.stop():
        await asyncio.sleep(_STOP_EVERY_S)
