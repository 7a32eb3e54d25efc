"""Live words beside a recording at this computer: a helper in a process of its own, begun anew where it ends."""

import logging
import threading
from collections.abc import Callable
from pathlib import Path

from narrate.errors import NarrateError
from narrate.records.capture import Mark
from narrate.records.order import Order
from narrate.settings import Settings
from narrate.work.live_aloud import Message, ReadBack
from narrate.work.live_helper import Helper
from narrate.work.live_serving import Beginning

MOST_STARTS = 3
"""A helper that ends again and again is let be: the recording does not need it."""
_log = logging.getLogger("narrate")


class LiveBeside:
    """Sound in by `feed`; `tell` gets the messages of work/live_session.py, `mark` what is to be kept of them.

    Both are called from other threads. Where live words end for good, `tell` gets {"type": "unavailable"}.
    """

    def __init__(
        self,
        data: Path,
        settings: Settings,
        *,
        tell: Callable[[Message], None],
        mark: Callable[[Mark], None],
        order: Order | None = None,
        read_back: ReadBack = "asked",
        make: Callable[[Path, Settings], Helper] = Helper,
    ) -> None:
        self._make, self._data = make, data
        self._settings, self._order, self._read_back = settings, order, read_back
        self._tell, self._mark = tell, mark
        self._kept: list[Message] = []
        self._at_s = 0.0
        self._starts = 0
        self._lock = threading.Lock()
        self._helper: Helper | None = None
        self._ended = False
        self._start()

    def feed(self, samples: bytes, at_s: float) -> None:
        """Hand sound on; takes no time, and what is too much is left out of the live words alone."""
        self._at_s = at_s
        helper = self._helper
        if helper is not None:
            helper.feed(samples, at_s)
            if helper.stuck():
                helper.end()

    def end(self) -> None:
        """No more live words."""
        with self._lock:
            self._ended = True
            helper, self._helper = self._helper, None
        if helper is not None:
            helper.rest()
            helper.leave()

    def _start(self) -> None:
        with self._lock:
            if self._ended:
                return
            self._starts += 1
            again = self._starts <= MOST_STARTS
            self._helper = helper = self._make(self._data, self._settings) if again else None
        if helper is None:
            self._tell({"type": "unavailable"})
            return
        beginning = Beginning(
            settings=self._settings,
            order=self._order,
            at_s=self._at_s,
            read_back=self._read_back,
            so_far=tuple(self._kept),
        )
        helper.begin(beginning, self._took)

    def _took(self, message: Message) -> None:
        if message["type"] == "gone":
            # Not in this thread: it holds the lock of the helper that ended.
            threading.Thread(target=self._start, daemon=True).start()
        elif message["type"] == "kept":
            self._kept.append(message["entry"])
        else:
            self._keep_mark(message)
            self._tell(message)

    def _keep_mark(self, message: Message) -> None:
        """What was told narrate goes into the store, to be carried out on the whole recording too."""
        told = {"command": message, "answered": message.get("mark")}.get(message["type"])
        if not told:
            return
        what = message.get("command", "answer")
        fields = {key: told[key] for key in Mark.model_fields if key in told and key != "what"}
        try:
            self._mark(Mark(what=what, **fields))
        # The whole recording is heard for commands again; an answer is lost.
        except (NarrateError, ValueError) as error:
            _log.warning("A command could not be kept (%s).", type(error).__name__)
