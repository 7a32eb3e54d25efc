"""The shop's queue: recordings taken one job after the other, heard, and put into the store as walkarounds."""

import logging
import os
import secrets
import socket
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, Protocol

from narrate.errors import AudioError, ModelError, NarrateError, StoreError
from narrate.pipeline import key_of_work
from narrate.records.order import Order
from narrate.records.recording import Recording
from narrate.records.walkaround import Walkaround
from narrate.store.engine import Store
from narrate.store.jobs import LEASE_S, MOST_TRIES, Job, Kind, claim, fail, finish, put_back, report
from narrate.store.open_orders import open_orders
from narrate.store.orders import Visit, read_visit
from narrate.store.recordings import kept_recording, recording_file
from narrate.store.vehicles import last_walkaround_of, recognise
from narrate.work.capture_photos import attach_photos
from narrate.work.capture_told import with_what_was_told
from narrate.work.day_ties import BY_NAME, contradicted, said_tie
from narrate.work.lengths import Meter
from narrate.work.logs import tell
from narrate.work.naming import by_name

LOOK_EVERY_S = 0.5
"""How often an idle worker looks for a job, and a busy one tells how far it is."""
LEAST_LIMIT_S, SLOWEST = 1800.0, 10.0
"""A job is held no longer than half an hour, or ten times its sound where that is more: then it hangs."""
PAUSE_S = 5.0
"""How long a worker leaves a store alone that refused what it had made: a full disk is not emptied at once."""
Progress = Callable[[float, float], None]
_log = logging.getLogger(__name__)


class Steps(Protocol):
    """What is done with the recordings of a job."""

    def process(self, paths: Sequence[Path], *, order: Order | None, progress: Progress) -> Walkaround:
        """Recordings of one vehicle become a judged walkaround."""

    def find(self, recordings: Sequence[Recording], *, order: Order | None) -> Walkaround:
        """Words as heard become a judged walkaround."""

    def compare(self, walkaround: Walkaround, *, order: Order | None, previous: Walkaround | None) -> Walkaround:
        """Judge it again, beside the vehicle's walkaround of an earlier time if there is one."""


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What became of a job; `why` tells of a failure, `walkaround` (`w7`) of success."""

    job: Job
    state: Literal["done", "failed", "stopped", "put back"]
    walkaround: str | None = None
    why: str = ""
    refused: bool = False
    """Whether it was the store that failed."""
    kind: Kind | None = None
    """What failed."""


def work_off(
    store: Store,
    *,
    steps: Steps,
    once: bool = False,
    stop: Callable[[], bool] = lambda: False,
    told: Callable[[Outcome], None] = lambda _: None,
    lease_s: float = LEASE_S,
    most_silent: int = MOST_TRIES,
) -> None:
    """Do job after job until `stop` says so; with `once`, until none is left.

    A job in hand is put back when `stop` says so or an interrupt comes. A failure of one job stops no other; a store
    that cannot be reached for a moment is asked again (with `once`, StoreError is raised). most_silent: how often the
    program may have ended over a job before it is given up.
    """
    worker = f"{process_name(os.getpid())}{secrets.token_hex(4)}"
    while not stop():
        try:
            job = claim(store, worker, lease_s, most_silent=most_silent)
            if job:
                outcome = do_job(store, job, steps=steps, stop=stop, lease_s=lease_s)
                told(outcome)
                if outcome.refused and not once:
                    _pause(stop)
                continue
        except StoreError as error:
            if once:
                raise
            _log.warning("%s", error)
        if once:
            return
        time.sleep(LOOK_EVERY_S)


def process_name(process: int) -> str:
    """How the names of all workers of a process on this machine begin."""
    return f"{socket.gethostname()[:40]}:{process}:"


def _pause(stop: Callable[[], bool]) -> None:
    until = time.monotonic() + PAUSE_S
    while time.monotonic() < until and not stop():
        time.sleep(LOOK_EVERY_S)


class _Ended(BaseException):
    """The job in hand is not to be gone on with. No Exception, so that no step takes it for a failure of its own."""


def longest_s(total_s: float) -> float:
    """How many seconds a job may be held at the most, however alive its worker is: it may hang.

    >>> longest_s(60)
    1800.0
    """
    return max(LEAST_LIMIT_S, SLOWEST * total_s)


def do_job(
    store: Store,
    job: Job,
    *,
    steps: Steps,
    stop: Callable[[], bool],
    lease_s: float = LEASE_S,
    tell_every_s: float | None = None,
    limit_s: float | None = None,
) -> Outcome:
    """Do one job that was claimed, whatever comes of it.

    tell_every_s: how often the store is told how far it is, LOOK_EVERY_S where not given. limit_s: when its lease is
    renewed no more, `longest_s` of its sound where not given.
    """
    limit_s = longest_s(job.total_s) if limit_s is None else limit_s
    began = time.monotonic()
    outcome = _done(store, job, steps, _Lease(store, job, stop, lease_s, tell_every_s or LOOK_EVERY_S, limit_s))
    took_s = time.monotonic() - began
    times_real = job.total_s / took_s if outcome.state == "done" and took_s > 0 else None
    figures = {"sound_s": job.total_s, "took_s": took_s, "times_real": times_real, "recordings": len(job.recordings)}
    told = {"job": job.id, "state": outcome.state, "kind": outcome.kind, "walkaround": outcome.walkaround}
    tell(_log, "job", {**told, "tries": job.tries, **figures})
    return outcome


def _done(store: Store, job: Job, steps: Steps, lease: "_Lease") -> Outcome:
    """Do a job under its lease, whatever comes of it."""
    try:
        with lease:
            made = _heard(store, job, steps, lease)
        untied = job.visit_id is not None and made.visit_id is None
        of = {"vehicle_id": made.vehicle_id, "visit_id": made.visit_id}
        walkaround = finish(store, job, made.walkaround, job.added_by, key=made.key, untied=untied, **of)
    except _Ended:
        back = put_back(store, job.id, job.worker)
        return Outcome(job=job, state="put back" if back else "stopped")
    except KeyboardInterrupt:
        put_back(store, job.id, job.worker)
        raise
    except StoreError as error:
        # What the store itself refuses now, it may take later.
        fail(store, job.id, job.worker, str(error), again=True, kind="store")
        return Outcome(job=job, state="failed", why=str(error), refused=True, kind="store")
    except NarrateError as error:
        # A model that is missing is not the recording's failure.
        kind: Kind = (
            "audio" if isinstance(error, AudioError) else "model" if isinstance(error, ModelError) else "settings"
        )
        fail(store, job.id, job.worker, str(error), counts=kind == "audio", kind=kind)
        return Outcome(job=job, state="failed", why=str(error), kind=kind)
    except Exception as error:
        # A fault of narrate's own on one job must not cost the others.
        _log.exception("A fault of narrate itself, on job %d:", job.id)
        why = f"narrate itself failed on it ({type(error).__name__}); please report this with what the log says."
        fail(store, job.id, job.worker, why, again=True, kind="fault")
        return Outcome(job=job, state="failed", why=why, kind="fault")
    _attach_photos(store)
    return Outcome(job=job, state="done" if walkaround else "stopped", walkaround=walkaround)


def _attach_photos(store: Store) -> None:
    """Also those of earlier jobs, should this have ended before; they are no reason for a job to fail."""
    try:
        attach_photos(store)
    except NarrateError as error:
        _log.warning("Photos taken while speaking could not be attached (%s).", type(error).__name__)


@dataclass(frozen=True, kw_only=True)
class _Made:
    """What a job becomes, the order and the vehicle it is surely of, and the key of all that it was made of."""

    walkaround: Walkaround
    visit_id: int | None
    vehicle_id: int | None
    key: str


def _heard(store: Store, job: Job, steps: Steps, lease: "_Lease") -> _Made:
    """Hear a job's recordings, with its order if it has one or one is named in them."""
    visit = read_visit(store, job.visit_id) if job.visit_id else None
    order = visit.order if visit else None
    kept = {sha256: recording_file(store, sha256) for sha256 in job.recordings}
    names = {sha256: told.name for sha256 in kept if (told := kept_recording(store, sha256))}
    try:
        made = steps.process(tuple(kept.values()), order=order, progress=lease.progress)
    except AudioError as error:
        text = str(error)
        for sha256, name in names.items():
            text = by_name(text, kept[sha256], name)
        raise AudioError(text) from error
    if job.added_by == BY_NAME and order and contradicted(made, order, open_orders(store)):
        visit = order = None
        made = steps.find(made.recordings, order=None)
    elif visit is None and (said := said_tie(made, open_orders(store)).visit_id):
        visit = read_visit(store, said)
        order = visit.order
        made = steps.find(made.recordings, order=order)
    made = made.model_copy(update={"recordings": tuple(_named(each, names) for each in made.recordings)})
    vehicle_id = _vehicle(store, visit, made)
    previous = last_walkaround_of(store, vehicle_id) if vehicle_id else None
    heard, made = made, with_what_was_told(store, job.id, made)
    if previous or made is not heard:
        made = steps.compare(made, order=order, previous=previous)
    key = key_of_work(job.recordings, made.made_by, order)
    return _Made(walkaround=made, visit_id=visit.id if visit else None, vehicle_id=vehicle_id, key=key)


def _named(recording: Recording, names: Mapping[str, str]) -> Recording:
    """The recording under the name it came with; in the store it lies under its digest."""
    return recording.model_copy(update={"name": names.get(recording.sha256 or "", recording.name)})


def _vehicle(store: Store, visit: Visit | None, made: Walkaround) -> int | None:
    """The vehicle a walkaround is of, as far as that is sure without asking anyone: by its order or by a VIN."""
    if visit and visit.vehicle_id:
        return visit.vehicle_id
    known = recognise(store, made.vehicle.vin, None)
    return known.vehicle_id if known and known.sure else None


class _Lease:
    """Holds a job while it is done: tells how far it is, and ends it where someone stopped it."""

    def __init__(
        self, store: Store, job: Job, stop: Callable[[], bool], lease_s: float, every_s: float, limit_s: float
    ) -> None:
        self._store, self._job, self._stop, self._lease_s = store, job, stop, lease_s
        self._every_s, self._end = min(every_s, lease_s / 4), time.monotonic() + limit_s
        self._meter = Meter(job.total_s)
        self._lost, self._over = threading.Event(), threading.Event()
        # A thread of its own, for a step may take longer than the lease without a word.
        self._thread = threading.Thread(target=self._renew, name=f"job {job.id}", daemon=True)

    def __enter__(self) -> "_Lease":
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        self._thread.join()

    def progress(self, done_s: float, total_s: float) -> None:
        """Take how far the recording in hand is; raises _Ended where the job is not to be gone on with."""
        self._meter.step(done_s, total_s)
        if self._lost.is_set() or self._stop():
            raise _Ended

    def _renew(self) -> None:
        told, at = self._meter.figures(), time.monotonic()
        while not self._over.wait(self._every_s):
            if time.monotonic() > self._end:
                self._lost.set()
                return
            figures = self._meter.figures()
            if figures == told and time.monotonic() - at < self._lease_s / 4:
                continue
            try:
                if not report(self._store, self._job.id, self._job.worker or "", *figures, lease_s=self._lease_s):
                    self._lost.set()
                    return
                told, at = figures, time.monotonic()
            except StoreError as error:
                _log.warning("%s", error)
