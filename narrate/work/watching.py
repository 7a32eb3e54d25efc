"""Whether the queue moves: as a sentence for the doctor, and as figures in the Prometheus text format."""

import shutil
from collections.abc import Iterator, Mapping
from pathlib import Path

from narrate.store.engine import Store
from narrate.store.queue_state import QueueState, queue_state

LONG_S = 3600.0
"""After so many seconds of waiting without a worker something is wrong."""
LEAST_FREE = 500_000_000
"""Bytes that a day's recordings need at the least."""


def queue_problems(state: QueueState, folder: Path) -> list[str]:
    """Return what is wrong with the queue, a sentence each with what to do."""
    found = []
    if state.stuck:
        jobs = "1 job is" if state.stuck == 1 else f"{state.stuck} jobs are"
        found.append(
            f"{jobs} held by a worker that went silent; start 'narrate worker' or the page, which takes them over."
        )
    waited = state.oldest_waiting_s or 0.0
    unseen = state.worker_seen_s is None or state.worker_seen_s > LONG_S
    if waited > LONG_S and unseen:
        found.append(
            f"Recordings have waited for {say_s(waited)} and no worker was seen in the last hour; start 'narrate "
            "worker' or the page."
        )
    free = free_bytes(folder)
    if free < LEAST_FREE:
        found.append(f"Only {free / 1e6:,.0f} MB are free where recordings are kept; make room there.")
    return found


def say_queue(state: QueueState) -> str:
    """Return how the queue stands, in a sentence."""
    parts = [f"{state.jobs['waiting']} waiting"]
    if state.oldest_waiting_s is not None:
        parts[0] += f" (the oldest for {say_s(state.oldest_waiting_s)})"
    parts.append(f"{state.jobs['working']} being heard")
    parts.append(f"{state.jobs['failed']} failed")
    seen = "no worker seen yet" if state.worker_seen_s is None else f"a worker seen {say_s(state.worker_seen_s)} ago"
    pace = f", {state.times_real:.1f} times real time over the last day" if state.times_real else ""
    return f"{', '.join(parts)}; {seen}{pace}."


def say_s(seconds: float) -> str:
    """Return a time as people say it.

    >>> say_s(40), say_s(400), say_s(40_000), say_s(400_000)
    ('40 s', '6 min', '11 h', '4 days')
    """
    for size, unit in ((86_400, "days"), (3600, "h"), (60, "min")):
        if seconds >= 2 * size:
            return f"{seconds // size:.0f} {unit}"
    return f"{seconds:.0f} s"


def free_bytes(folder: Path) -> int:
    """Return how many bytes are free where a folder lies."""
    return shutil.disk_usage(folder).free


def metrics(store: Store) -> str:
    """Return the figures in the Prometheus text format (version 0.0.4). Raises StoreError."""
    return "".join(_lines(queue_state(store), free_bytes(store.folder)))


def _lines(state: QueueState, free: int) -> Iterator[str]:
    yield from _family("jobs", "gauge", "Jobs by state.", {f'state="{key}"': n for key, n in state.jobs.items()})
    yield from _family("oldest_waiting_seconds", "gauge", "Age of the oldest waiting job.", state.oldest_waiting_s or 0)
    longest = state.longest_working_s or 0
    yield from _family("longest_working_seconds", "gauge", "Since the longest job in hand was begun.", longest)
    yield from _family("jobs_stuck", "gauge", "Jobs held by workers that went silent.", state.stuck)
    kinds = ("audio", "model", "settings", "store", "fault", "silent")
    failed = {**dict.fromkeys(kinds, 0), **state.failed}
    failures = {f'reason="{key}"': number for key, number in failed.items()}
    yield from _family("jobs_failed", "gauge", "Failed jobs that nobody has tried again, by reason.", failures)
    yield from _family("sound_seconds_total", "counter", "Sound of jobs done.", state.sound_s)
    yield from _family("work_seconds_total", "counter", "Workers' time for jobs done.", state.worked_s)
    if state.times_real is not None:
        told = "Sound heard in a second of a worker's time, over the last day."
        yield from _family("real_time_factor", "gauge", told, state.times_real)
    if state.worker_seen_s is not None:
        yield from _family("worker_seen_seconds", "gauge", "Since a worker last said something.", state.worker_seen_s)
    walkarounds = {f'state="{key}"': number for key, number in state.walkarounds.items()}
    yield from _family("walkarounds", "gauge", "Walkarounds by state.", walkarounds)
    yield from _family("events_total", "counter", "Events in the chain.", state.events)
    yield from _family("free_bytes", "gauge", "Room left where recordings are kept.", free)


def _family(name: str, kind: str, told: str, values: float | Mapping[str, float]) -> Iterator[str]:
    name = f"narrate_{name}"
    yield f"# HELP {name} {told}\n# TYPE {name} {kind}\n"
    if not isinstance(values, Mapping):
        yield f"{name} {_number(values)}\n"
        return
    for labels, value in values.items():
        yield f"{name}{{{labels}}} {_number(value)}\n"


def _number(value: float) -> str:
    return str(value) if isinstance(value, int) else f"{value:.3f}"
