"""A day's recordings: taken from a folder as they come, heard by several processes, put together, and told of."""

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

from narrate.errors import StoreError, UsageError
from narrate.records.day import Day
from narrate.store.day_jobs import numbered
from narrate.store.engine import Store
from narrate.store.jobs import Job
from narrate.work.day_crew import Child, Crew
from narrate.work.day_folder import Seen, Watch
from narrate.work.day_grown import set_aside_grown
from narrate.work.day_intake import Intake
from narrate.work.day_machine import free_bytes, processors, workers_for
from narrate.work.day_report import parts_of, report
from narrate.work.day_together import Group, put_together
from narrate.work.queue import Steps

LOOK_EVERY_S = 0.5
SWEEP_EVERY_S = 5.0
"""How often jobs of programs that are gone are looked for, and files tried again that could not be taken."""
MOST_WAIT_S = 600.0
"""How long is waited for a file that keeps growing, and for a store that cannot be used, when nothing else is done."""


@dataclass(frozen=True, kw_only=True)
class Progress:
    """How far the day is. Times are seconds of sound, as far as lengths are known."""

    name: str
    """A recording that is being heard; empty where none is."""
    done_s: float
    total_s: float
    done: int
    total: int


@dataclass(kw_only=True)
class Run:
    """One run over a folder; `go` does it all."""

    store: Store
    folder: Path
    steps: Steps
    """What puts recordings together in this process; those that hear have their own."""
    start: Callable[[int], Child]
    """Starts a process that hears, given how many there will be."""
    follow: bool = False
    again: bool = False
    """Whether recordings that failed too often are tried once more."""
    workers: int = 0
    """Processes at most; 0: as many as processors and memory allow."""
    tell: Callable[[Progress], None] = lambda _: None
    say: Callable[[str], None] = lambda _: None
    """Given a sentence about something that a person may have to mend."""
    ready: Callable[[Day], None] = lambda _: None
    """Given the day so far, each time that everything there is is done."""
    stop: Callable[[], bool] = lambda: False
    _jobs: dict[int, Job] = field(default_factory=dict)
    _doubtful: list[Group] = field(default_factory=list)
    _changed: bool = True
    _tried: set[tuple[PurePosixPath, tuple[int, int]]] = field(default_factory=set)
    _limit: int = 0
    _said: str = ""
    _to_take: list[Seen] = field(default_factory=list)
    _growing: list[Seen] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._watch = Watch(self.folder, apart=self.store.folder)
        self._intake = Intake(self.store, again=self.again)
        self._crew = Crew(self.store, self.start)

    def go(self) -> Day:
        """Hear everything in the folder and return what became of it; with `follow` until `stop` says so.

        Raises UsageError for a folder that cannot be read, NarrateError where nothing can be heard at all.
        """
        self._look()
        if self._watch.missing:
            message = f"The folder {self.folder} cannot be read; check its name, and that the share is connected."
            raise UsageError(message)
        try:
            self._until_done()
        finally:
            self._crew.stop()
        return self._day()

    def _until_done(self) -> None:
        swept, moved = -SWEEP_EVERY_S, time.monotonic()
        while not self.stop():
            try:
                if time.monotonic() - swept >= SWEEP_EVERY_S:
                    swept = time.monotonic()
                    self._crew.free_what_nobody_hears()
                    if self.follow:
                        self._tried.clear()
                taken = self._take_one()
                if self._hear() or taken:
                    moved = time.monotonic()
                elif self._complete() and (not self._growing or time.monotonic() - moved > MOST_WAIT_S):
                    return
            except StoreError as error:
                # A full disk may be emptied, a locked store let go.
                self._tell_once(str(error))
                if not self.follow and time.monotonic() - moved > MOST_WAIT_S:
                    raise
                taken = False
            if not taken:
                time.sleep(LOOK_EVERY_S)
                self._look()

    def _look(self) -> None:
        steady, self._growing = self._watch.look()
        if self._watch.missing:
            self._tell_once(f"The folder {self.folder} cannot be read now; what was taken from it is gone on with.")
        self._to_take = [
            each for each in self._intake.still_to_take(steady) if (each.name, each.state) not in self._tried
        ]

    def _take_one(self) -> bool:
        """Take the next file, so that it can be heard while others are being taken."""
        if not self._to_take:
            return False
        file = self._to_take.pop(0)
        self._tried.add((file.name, file.state))
        self._intake.take(file)
        if why := self._intake.troubles.get(file.name):
            self._tell_once(f"{file.name}: {why}")
        self._changed = True
        return True

    def _hear(self) -> bool:
        """Have the recordings in line heard; return whether any are left."""
        for job in numbered(self.store, self._intake.jobs.values()):
            self._jobs[job.id] = job
        going = [job for job in self._jobs.values() if job.state in {"waiting", "working"}]
        over = {job.id for job in self._jobs.values()} - {job.id for job in going}
        self._intake.jobs = {sha256: id_ for sha256, id_ in self._intake.jobs.items() if id_ not in over}
        self._show(going)
        if not going:
            self._crew.stop()
            return False
        self._changed = True
        if not self._crew.size:
            most = workers_for(len(going) + len(self._to_take), cores=processors(), free=free_bytes())
            self._limit = min(self.workers, len(going) + len(self._to_take)) if self.workers else most
        self._crew.keep(min(self._limit, len(going)), of=self._limit)
        return True

    def _complete(self) -> bool:
        """Put together what belongs together once all is heard; return whether the run is over."""
        if self._changed:
            set_aside_grown(self.store, self._intake.items.values())
            parts = parts_of(self.store, self._intake.items.values())
            _, self._doubtful = put_together(self.store, self.steps, parts)
            self._changed = False
            if self.follow:
                self.ready(self._day())
        return not self.follow

    def _day(self) -> Day:
        return report(
            self.store, self._intake, growing=[str(each.name) for each in self._growing], apart=self._doubtful
        )

    def _show(self, going: list[Job]) -> None:
        jobs = self._jobs.values()
        working = next((job.name for job in going if job.state == "working"), "")
        done_s = sum(job.done_s if job in going else job.total_s for job in jobs)
        total_s = sum(job.total_s for job in jobs)
        done = len(jobs) - len(going)
        self.tell(Progress(name=working, done_s=done_s, total_s=total_s, done=done, total=len(jobs)))

    def _tell_once(self, sentence: str) -> None:
        if sentence != self._said:
            self._said = sentence
            self.say(sentence)
