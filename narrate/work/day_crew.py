"""The processes that hear a day's recordings: started, watched, replaced when they end, and ended."""

import contextlib
import os
import signal
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Protocol

from narrate.errors import NarrateError, StoreError
from narrate.store.day_jobs import free_jobs, lost
from narrate.store.engine import Store
from narrate.work.day_machine import is_alive, memory_kills
from narrate.work.queue import process_name

AT_ONCE_S = 10.0
"""A process that ends sooner by itself has not begun to work."""
MOST_AT_ONCE = 3
END_S = 10.0
"""How long processes get to put back what they have in hand."""
FROM_OUTSIDE = frozenset(-int(number) for name in ("SIGKILL", "SIGTERM", "SIGINT", "SIGHUP")
                         if (number := getattr(signal, name, None)))  # fmt: skip
"""How processes end that someone ended: it says nothing about the recording in hand."""


class Child(Protocol):
    """A process, as `subprocess.Popen` is one."""

    pid: int

    def poll(self) -> int | None:
        """Return its exit code, the signal's number below 0; None while it runs."""

    def terminate(self) -> None:
        """Ask it to end."""

    def kill(self) -> None:
        """End it."""


@dataclass
class Crew:
    """Processes that take jobs from the store's queue."""

    store: Store
    start: Callable[[int], Child]
    """Starts a process, given how many there will be."""
    _running: dict[Child, float] = field(default_factory=dict)
    _unsettled: list[tuple[int, str]] = field(default_factory=list)
    _ended_at_once: int = 0
    _memory_kills: int = field(default_factory=memory_kills)

    @property
    def size(self) -> int:
        """How many processes there are."""
        return len(self._running)

    def keep(self, wanted: int, *, of: int) -> None:
        """Have so many processes at work, `of` so many later; one that ended is replaced and its job settled.

        Raises NarrateError where they cannot work at all.
        """
        for child in [each for each in self._running if each.poll() is not None]:
            self._settle(child)
        for process, why in list(self._unsettled):
            with contextlib.suppress(StoreError):
                lost(self.store, process_name(process), why)
                self._unsettled.remove((process, why))
        while len(self._running) < wanted:
            self._running[self.start(of)] = time.monotonic()

    def stop(self) -> None:
        """End all of them; what they have in hand is put back."""
        for child in self._running:
            child.terminate()
        until = time.monotonic() + END_S
        while any(child.poll() is None for child in self._running) and time.monotonic() < until:
            time.sleep(0.02)
        for child in list(self._running):
            if child.poll() is None:
                child.kill()
                while child.poll() is None:
                    time.sleep(0.02)
            with contextlib.suppress(StoreError):
                lost(self.store, process_name(child.pid), "")
        self._running.clear()

    def free_what_nobody_hears(self) -> int:
        """Put jobs in line again that programs of this machine held which are gone; return how many."""
        own = {child.pid for child in self._running}
        here = process_name(0).removesuffix("0:")

        def gone(worker: str) -> bool:
            process = worker.removeprefix(here).partition(":")[0]
            return worker.startswith(here) and process.isdigit() and not (int(process) in own or is_alive(int(process)))

        return free_jobs(self.store, gone)

    def _settle(self, child: Child) -> None:
        code = child.poll() or 0
        soon = time.monotonic() - self._running.pop(child) < AT_ONCE_S
        self._ended_at_once = self._ended_at_once + 1 if soon and code > 0 else 0
        self._unsettled.append((child.pid, self._fault(code)))
        if self._ended_at_once >= MOST_AT_ONCE:
            message = (
                "The processes that hear recordings end as soon as they are started; what is above says why. "
                "Run 'narrate doctor', and this again."
            )
            raise NarrateError(message)

    def _fault(self, code: int) -> str:
        """Why a process ended over its recording; empty where someone ended it."""
        kills = memory_kills()
        if code == -getattr(signal, "SIGKILL", 9) and kills > self._memory_kills:
            self._memory_kills = kills
            return "Memory ran out while it was heard; close other programs, or split the recording."
        if code == 0 or code in FROM_OUTSIDE:
            return ""
        how = signal.Signals(-code).name if -code in set(signal.Signals) else f"code {code}"
        return f"The program ended ({how}) while it was heard; save the recording again, or split it."


def orphaned(parent: int) -> bool:
    """Whether the process that started this one is gone."""
    return os.getppid() != parent
