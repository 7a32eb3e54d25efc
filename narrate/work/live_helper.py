"""Live hearing in processes of their own: the page stays quick, and one that is killed costs no recording.

A helper is started with the words and models loaded and serves one recording after the other, told to by a pipe
(work/live_serving.py is its other end).
"""

import contextlib
import logging
import multiprocessing
import os
import queue
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from narrate.hear.audio import RATE
from narrate.settings import Settings
from narrate.work.live_aloud import Message
from narrate.work.live_serving import Beginning, serve_live

MOST_WAITING_S = 60.0
"""More sound than this is not handed on: the helper catches up first, and what was said then is missing in live words
only."""
STUCK_S = 30.0
"""A helper that was given sound and tells nothing for so long is ended."""
LEAVES_WITHIN_S = 3.0
LAST = (0, "last", None)
"""Stands for the end in what is written to a process: for it that is None."""
Tell = Callable[[Message], None]
_log = logging.getLogger("narrate")


class Helper:
    """One process, and the two threads that talk to it.

    Whoever is served is told messages from a thread: those of a session (work/live_session.py), and last, should the
    process end, {"type": "gone"}.
    """

    def __init__(self, data: Path, settings: Settings, *, serve: Callable[..., None] = serve_live) -> None:
        """data: the shop's folder, for its own words. serve: what the process does."""
        context = multiprocessing.get_context("spawn")
        self._ours, theirs = context.Pipe()
        self._process = context.Process(target=serve, args=(theirs, data, settings), daemon=True)
        self._process.start()
        theirs.close()
        self._out: queue.SimpleQueue[tuple[int, str, Any] | None] = queue.SimpleQueue()
        self._lock = threading.Lock()
        self._tell: Tell | None = None
        self._recording = 0
        self._given_s = self._done_s = 0.0
        self._alive_at = time.monotonic()
        self.gone = self.warm = False
        for work in (self._writing, self._reading):
            threading.Thread(target=work, daemon=True).start()

    @property
    def pid(self) -> int:
        """The process."""
        return self._process.pid or 0

    def begin(self, beginning: Beginning, tell: Tell) -> None:
        """Serve a recording from now on."""
        with self._lock:
            self._recording += 1
            self._tell = tell
            self._given_s = self._done_s = 0.0
            self._alive_at = time.monotonic()
            if self.gone:
                tell({"type": "gone"})
        self._put("begin", beginning)

    def feed(self, samples: bytes, at_s: float) -> bool:
        """Hand sound on; False where too much waits already and this was left out."""
        if self._given_s - self._done_s > MOST_WAITING_S:
            return False
        self._given_s += len(samples) / 2 / RATE
        self._put("feed", (samples, at_s))
        return True

    def ask(self, asked: Message) -> None:
        """Hand on what the phone asks: a command, an undo, an answer, or `begin` where its clock begins anew."""
        self._put("ask", asked)

    def rest(self) -> None:
        """Serve nobody any more, and be ready for the next."""
        with self._lock:
            self._recording += 1
            self._tell = None
        self._put("rest", None)

    def stuck(self) -> bool:
        """Whether it has had sound for a long time and told nothing."""
        waits = self.warm and self._given_s > self._done_s
        return waits and time.monotonic() - self._alive_at > STUCK_S

    def leave(self, within_s: float = LEAVES_WITHIN_S) -> None:
        """Let the process end by itself after what it has in hand, or end it."""
        self._out.put(LAST)
        self._out.put(None)
        self._process.join(within_s)
        self.end()

    def end(self) -> None:
        """End the process, whatever it does."""
        self._out.put(None)
        self._process.kill()

    def _put(self, what: str, given: object) -> None:
        self._out.put((self._recording, what, given))

    def _writing(self) -> None:
        # A process that hangs must not hold up whoever hands sound on: only this thread waits for it.
        with contextlib.suppress(OSError, ValueError):
            while (item := self._out.get()) is not None:
                self._ours.send(None if item is LAST else item)

    def _reading(self) -> None:
        with contextlib.suppress(EOFError, OSError):
            while True:
                recording, message = self._ours.recv()
                with self._lock:
                    self._took(recording, message)
        self._process.join()
        self._out.put(None)
        with self._lock:
            _log.info("A helper for live words ended (%s).", self._process.exitcode)
            self.gone = True
            if self._tell:
                self._tell({"type": "gone"})

    def _took(self, recording: int, message: Message) -> None:
        self._alive_at = time.monotonic()
        if message["type"] == "warm":
            self.warm = True
        elif message["type"] == "broke":
            _log.warning("Live words broke off (%s).", message["why"])
        elif recording == self._recording:
            if message["type"] == "at":
                self._done_s = message["s"]
            elif self._tell:
                self._tell(message)


class Helpers:
    """The helpers of one page: never more than processors, and one that is ready and waits."""

    def __init__(self, make: Callable[[], Helper], most: int | None = None) -> None:
        self._make, self._most = make, most or processors()
        self._idle: list[Helper] = []
        self._busy: list[Helper] = []
        self._lock = threading.Lock()
        self._closed = False

    def take(self) -> Helper | None:
        """A helper to serve one recording; None where all are in use."""
        with self._lock:
            self._without_gone()
            if self._closed or len(self._busy) >= self._most:
                return None
            helper = self._idle.pop() if self._idle else self._make()
            self._busy.append(helper)
            return helper

    def give_back(self, helper: Helper) -> None:
        """Take one back: one is kept warm, others end."""
        with self._lock:
            self._without_gone()
            if helper in self._busy:
                self._busy.remove(helper)
                if not self._idle and not self._closed:
                    helper.rest()
                    self._idle.append(helper)
                    return
        helper.end()

    def warm_up(self) -> None:
        """See that one is ready, or getting ready, before anyone speaks."""
        with self._lock:
            self._without_gone()
            if not self._closed and not self._idle and not self._busy:
                self._idle.append(self._make())

    def close(self) -> None:
        """End them all."""
        with self._lock:
            self._closed = True
            ending = [*self._idle, *self._busy]
            self._idle, self._busy = [], []
        for helper in ending:
            helper.end()

    def _without_gone(self) -> None:
        self._idle = [helper for helper in self._idle if not helper.gone]
        self._busy = [helper for helper in self._busy if not helper.gone]


def processors() -> int:
    """How many processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
