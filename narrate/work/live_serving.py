"""What a process does that hears live: sound and requests come by a pipe, messages go back."""

import contextlib
import queue
import signal
import threading
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import numpy as np

from narrate.errors import ModelError, NarrateError
from narrate.find.commands import perhaps_command
from narrate.find.mining import text_recording
from narrate.hear.audio import RATE
from narrate.hear.growing import Again, Growing
from narrate.hear.whisper_engine import WhisperEngine, load_engine
from narrate.pipeline import process_words
from narrate.records.order import Order
from narrate.settings import Settings
from narrate.words.lexicon import Lexicon
from narrate.words.shop import shop_lexicon
from narrate.work.live_aloud import Message, ReadBack
from narrate.work.live_session import LiveSession

QUICK_MODEL = "tiny.en"
HINTS = 24
"""Part names to listen for: each costs time at every hearing."""
TOLD_BEHIND_S = 3.0
"""Sound that waits longer than this is told of."""
CAUGHT_UP_S = 1.0
AT_ONCE_S = 10.0
"""Sound that is heard in one go when it has waited."""
Item = tuple[int, str, Any]
"""Number of the recording, what to do, with what."""
Items = queue.SimpleQueue[Item | None]


@dataclass(frozen=True, kw_only=True)
class Beginning:
    """What is needed to begin or go on with a recording."""

    settings: Settings
    order: Order | None = None
    run: int = 0
    at_s: float = 0.0
    read_back: ReadBack = "asked"
    so_far: tuple[Message, ...] = ()
    """What `kept` messages held, from whichever process served it before."""


def live_engine(settings: Settings) -> WhisperEngine:
    """The quickest model there is, on one processor: the other one hears whole recordings.

    Raises ModelError where not even the settings' own can be loaded.
    """
    quick = settings.model_copy(update={"beam_size": 1, "threads": 1, "batch_size": 1, "device": "cpu"})
    try:
        return load_engine(quick, model=QUICK_MODEL)
    except ModelError:
        return load_engine(quick)


def second_engine(settings: Settings) -> WhisperEngine | None:
    """The settings' own model for what may be a command badly heard; None where that is the quick one, or not there."""
    if settings.model == QUICK_MODEL:
        return None
    try:
        return load_engine(settings.model_copy(update={"beam_size": 1, "threads": 1, "batch_size": 1, "device": "cpu"}))
    except ModelError:
        return None


def live_hearing(
    engine: WhisperEngine, settings: Settings, lexicon: Lexicon, second: WhisperEngine | None = None
) -> Growing:
    """Hearing for one recording, listening for a few names; with `second` what may be a command is heard again."""
    return Growing(engine, hints=lexicon.hints[:HINTS] if settings.hints else (), again=heard_again(second, lexicon))


def heard_again(second: WhisperEngine | None, lexicon: Lexicon) -> Again | None:
    """What hears again what may be a command."""
    return Again(engine=second, wanted=partial(perhaps_command, lexicon=lexicon)) if second else None


def practise(engines: Sequence[WhisperEngine | None], settings: Settings, lexicon: Lexicon) -> None:
    """Do once all that takes seconds the first time, while nobody waits yet."""
    silence = np.zeros(RATE, np.float32)
    for engine in filter(None, engines):
        engine.speech(silence)
        list(engine.listen(silence, [(0.0, 1.0)], language="en", hints=""))
    process_words([text_recording("front brake pads are worn to 3 mm.")], settings=settings, lexicon=lexicon)


def serve_live(pipe: Connection, data: Path, settings: Settings) -> None:
    """Serve one recording after the other until the other end of the pipe is closed."""
    # An interrupt goes to all processes of a terminal; this one ends with its page.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    items: Items = queue.SimpleQueue()
    threading.Thread(target=_receive, args=(pipe, items), daemon=True).start()
    with contextlib.suppress(BrokenPipeError):
        try:
            engine, second = live_engine(settings), second_engine(settings)
            practise((engine, second), settings, shop_lexicon(data))
            pipe.send((0, {"type": "warm"}))
            serving = _Serving(pipe, engine, second, data)
            for item, waits_s in joined(items):
                serving.do(item, waits_s)
        except NarrateError as error:
            pipe.send((0, {"type": "broke", "why": str(error)}))
        # By its kind alone: what an error tells may hold words that were spoken.
        except Exception as error:
            pipe.send((0, {"type": "broke", "why": type(error).__name__}))


def joined(items: Items) -> Iterator[tuple[Item, float]]:
    """Yield what came, sound that waited in one piece, each with the seconds of sound that wait; ends at None."""
    waiting: deque[Item] = deque()
    while True:
        came = [items.get()] if not waiting else []
        with contextlib.suppress(queue.Empty):
            while True:
                came.append(items.get_nowait())
        if None in came:
            return
        waiting.extend(item for item in came if item is not None)
        waits_s = sum(_seconds(item) for item in waiting)
        recording, what, given = waiting.popleft()
        if what == "feed":
            given = _joined_sound(recording, given, waiting)
        yield (recording, what, given), waits_s


def _joined_sound(recording: int, given: tuple[bytes, float], waiting: deque[Item]) -> tuple[bytes, float]:
    """A piece of sound with those that go on where it ends."""
    samples, at_s = given
    pieces, until_s = [samples], at_s + len(samples) / 2 / RATE
    while waiting and until_s - at_s < AT_ONCE_S:
        number, what, following = waiting[0]
        if (number, what) != (recording, "feed") or abs(following[1] - until_s) > 1 / RATE:
            break
        pieces.append(following[0])
        until_s += len(following[0]) / 2 / RATE
        waiting.popleft()
    return b"".join(pieces), at_s


def _seconds(item: Item) -> float:
    return len(item[2][0]) / 2 / RATE if item[1] == "feed" else 0.0


def _receive(pipe: Connection, items: Items) -> None:
    with contextlib.suppress(EOFError, OSError):
        while True:
            items.put(pipe.recv())
    items.put(None)


class _Serving:
    """The recording in hand."""

    def __init__(self, pipe: Connection, engine: WhisperEngine, second: WhisperEngine | None, data: Path) -> None:
        self._pipe, self._engine, self._second, self._data = pipe, engine, second, data
        self._session: LiveSession | None = None
        self._done_s = 0.0
        self._behind = False

    def do(self, item: Item, waits_s: float) -> None:
        recording, what, given = item
        if what == "begin":
            told = self._begin(given)
        elif what == "rest" or self._session is None:
            self._session, told = None, []
        elif what == "feed":
            samples, at_s = given
            told = self._how_far(waits_s)
            told += self._session.feed(samples, at_s)
            self._done_s += len(samples) / 2 / RATE
            told.append({"type": "at", "s": self._done_s})
        elif given["type"] == "begin":
            told = self._session.begin(given["run"], given["at_s"], given["read_back"])
        else:
            told = self._session.ask(given)
        for message in told:
            self._pipe.send((recording, message))

    def _begin(self, beginning: Beginning) -> list[Message]:
        settings, lexicon = beginning.settings, shop_lexicon(self._data)
        hearing = live_hearing(self._engine, settings, lexicon, self._second)
        self._session = LiveSession(hearing, settings, lexicon, beginning.order, so_far=beginning.so_far)
        self._done_s, self._behind = 0.0, False
        told: list[Message] = [{"type": "ready"}]
        return told + self._session.begin(beginning.run, beginning.at_s, beginning.read_back)

    def _how_far(self, waits_s: float) -> list[Message]:
        """Tell when it falls behind, how far, and when it has caught up."""
        if waits_s > TOLD_BEHIND_S or (self._behind and waits_s < CAUGHT_UP_S):
            self._behind = waits_s > TOLD_BEHIND_S
            return [{"type": "behind", "s": round(waits_s, 1) if self._behind else 0.0}]
        return []
