"""What one worker of many does with a job it is told of: claims it in the store, and does it as on one machine."""

import logging
import os
import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from narrate.errors import MissingError, StoreError
from narrate.store.engine import Store
from narrate.store.jobs import LEASE_S, Job, claim, fail, put_back
from narrate.work.fleet_audio import SharedAudio
from narrate.work.queue import Outcome, Steps, do_job, longest_s, process_name

TELL_EVERY_S = 10.0
"""How often the store is told how far a job is; twice a second, as on one machine, is too much of many."""
PAUSE_S = 3.0
"""How long a worker waits where it could not have a recording, before it takes another job."""
HUNG = 70
"""The exit code of a process that hung over a job; sysexits.h calls 70 a fault of the program's own."""
_log = logging.getLogger(__name__)


@dataclass(kw_only=True)
class Member:
    """One worker process, and the one job it has in hand."""

    store: Store
    steps: Steps
    audio: SharedAudio | None = None
    """Where the recordings of other machines are; without it every machine has the same data folder."""
    shares: bool = False
    """Whether this machine puts recordings and the shop's words at `audio`, rather than taking them from there."""
    stop: Callable[[], bool] = lambda: False
    told: Callable[[Outcome], None] = lambda _: None
    lease_s: float = LEASE_S
    limit_s: float | None = None
    """How long a job may be held; None: by its sound (`queue.longest_s`)."""
    most_silent: int = 10
    """How often workers may go silent over a job: machines are taken away without any fault of the recording's."""
    name: str = field(default_factory=lambda: f"{process_name(os.getpid())}{secrets.token_hex(4)}")
    refused: str = ""
    """Why the last job could not be had or kept, where it is not the job's own failure."""
    _end: float | None = None
    _one: threading.Lock = field(default_factory=threading.Lock)

    def hear(self, number: int) -> None:
        """Do a job if it is there to be done; what comes of it stands in the store and goes to `told`."""
        with self._one:
            job = self._claimed(number)
            if job is None:
                return
            limit_s = longest_s(job.total_s) if self.limit_s is None else self.limit_s
            self._end = time.monotonic() + limit_s + self.lease_s
            try:
                outcome = self._heard(job, limit_s)
            finally:
                self._end = None
        self.told(outcome)
        self.refused = outcome.why if outcome.refused else ""
        self._pause(PAUSE_S if outcome.refused else 0.0)

    def hung(self) -> bool:
        """Whether the job in hand has outlived its limit and its lease: others may have it, and a thread has no end."""
        return self._end is not None and time.monotonic() > self._end

    def end(self) -> None:
        """End this process at once."""
        _log.error("A job hung, and its worker ends; the job is taken by another.")
        logging.shutdown()
        os._exit(HUNG)

    def _claimed(self, number: int) -> Job | None:
        try:
            if self.stop():
                return None
            return claim(self.store, self.name, self.lease_s, most_silent=self.most_silent, only=number)
        except StoreError as error:
            # It waits in the store as before, and is told of again.
            _log.warning("%s", error)
            return None

    def _heard(self, job: Job, limit_s: float) -> Outcome:
        try:
            fetched = self._fetch(job)
        except MissingError as error:
            fail(self.store, job.id, job.worker, str(error), again=True)
            return Outcome(job=job, state="failed", why=str(error))
        except StoreError as error:
            # Neither the recording is to blame nor the worker.
            put_back(self.store, job.id, job.worker)
            return Outcome(job=job, state="put back", why=str(error), refused=True)
        more = {"lease_s": self.lease_s, "tell_every_s": TELL_EVERY_S, "limit_s": limit_s}
        outcome = do_job(self.store, job, steps=self.steps, stop=self.stop, **more)
        # A copy of what lies at the shared address. Who took the job away may be on this machine, and need it.
        if outcome.state != "stopped":
            for file in fetched:
                file.unlink(missing_ok=True)
        return outcome

    def _fetch(self, job: Job) -> list[Path]:
        """Have a job's recordings and the shop's words here; return the files that were not here before."""
        if self.audio is None:
            return []
        if not self.shares:
            self.audio.fetch_words()
        fetched = [self.audio.fetch(sha256) for sha256 in job.recordings]
        return [file for file in fetched if file]

    def _pause(self, seconds: float) -> None:
        until = time.monotonic() + seconds
        while time.monotonic() < until and not self.stop():
            time.sleep(0.1)
