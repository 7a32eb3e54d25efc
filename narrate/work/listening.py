"""A walk-round recorded at this computer: kept second by second like a phone's, heard live beside it."""

import io
import secrets
import wave
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import numpy as np

from narrate.errors import AudioError, ConflictError, StoreError
from narrate.hear.audio import RATE
from narrate.hear.microphone import SoundSource
from narrate.hear.whisper_engine import speech_in
from narrate.records.capture import Mark
from narrate.store.capture_marks import keep_mark
from narrate.store.captures import Capture, begin, begin_run, keep_piece
from narrate.store.clock import now
from narrate.store.engine import Store
from narrate.work.capturing import end_capture
from narrate.work.live_aloud import Message

PIECE_S = 1.0
"""What is lost at most when the power goes: sound that is not on disk yet."""
SAMPLE_BYTES = 2
ANEW = "Somebody ended this recording on the page; what you say now is a new one."
Tell = Callable[[Message], None]
Feed = Callable[[bytes, float], None]


@dataclass(frozen=True, kw_only=True)
class Listened:
    """What became of a recording. `capture` is None where nothing was recorded."""

    capture: Capture | None
    seconds: float
    why: str
    """Why it ended, where nobody asked for it; one sentence, or empty."""


@dataclass(kw_only=True)
class Listening:
    """One recording while it runs.

    `tell` is given messages: {"type": "safe", "s": …}, while sound cannot be kept {"type": "waiting", "why": …}, and
    {"type": "told", "text": …} where something has happened.
    `feed` takes each block of sound and the second at which it begins, for live words; it must not take long.
    """

    store: Store
    source: SoundSource
    who: str
    visit_id: int | None = None
    silence_s: float
    """Recording stops by itself after so many seconds in which nobody speaks."""
    tell: Tell
    feed: Feed = lambda _block, _at_s: None
    key: str = field(default_factory=lambda: secrets.token_hex(16))
    started_at: str = field(default_factory=now)
    _waiting: list[bytes] = field(default_factory=list)
    _taken: int = 0
    _kept: int = 0
    _kept_samples: int = 0
    _before_samples: int = 0
    """What became recordings of their own, because somebody ended them meanwhile."""
    _spoken_s: float = 0.0

    def until(self, stop: Callable[[], bool]) -> Listened:
        """Record until `stop`, until nobody speaks any more or no more sound comes; then put it in line to be heard.

        Raises StoreError where sound could not be kept to the end, and what is on disk stays an open recording.
        """
        why = ""
        try:
            for piece in self._pieces(stop):
                self._keep(piece)
                self._spoken_s = self._taken / RATE if _is_spoken(piece) else self._spoken_s
                if self._taken / RATE - self._spoken_s >= self.silence_s:
                    why = f"Nobody spoke for {self.silence_s / 60:g} minutes, so recording ended."
                    break
        except AudioError as error:
            why = str(error)
        if not self._kept and not self._waiting:
            return Listened(capture=None, seconds=0.0, why=why)
        if self._waiting:
            self._write_waiting()
        capture = end_capture(self.store, self.key, who=self.who, expected={0: self._kept})
        return Listened(capture=capture, seconds=self._kept_samples / RATE, why=why)

    def mark(self, mark: Mark) -> None:
        """Keep a command or an answer that was understood meanwhile; its seconds are counted from the beginning."""
        if self._kept:
            keep_mark(self.store, self.key, mark.moved(-self._before_samples / RATE), 0)

    def _pieces(self, stop: Callable[[], bool]) -> Iterator[bytes]:
        """Yield sound second by second, and what is left at the end."""
        gathered = bytearray()
        try:
            for block in self.source.blocks(stop):
                self.feed(block, self._taken / RATE)
                self._taken += len(block) // SAMPLE_BYTES
                gathered += block
                if len(gathered) >= PIECE_S * RATE * SAMPLE_BYTES:
                    yield bytes(gathered)
                    gathered.clear()
        except AudioError:
            # What came before it broke off is as good as any.
            if gathered:
                self._keep(bytes(gathered))
            raise
        if gathered:
            yield bytes(gathered)

    def _keep(self, piece: bytes) -> None:
        """Put a piece on disk; one that cannot be (a full disk) waits in memory and is tried again with the next."""
        self._waiting.append(piece)
        try:
            self._write_waiting()
        except ConflictError:
            self._begin_anew()
        except StoreError as error:
            self.tell({"type": "waiting", "why": str(error)})

    def _begin_anew(self) -> None:
        """What waits and what follows goes into another recording, with the next piece at the latest."""
        self.key, self.started_at = secrets.token_hex(16), now()
        self._before_samples += self._kept_samples
        self._kept = self._kept_samples = 0
        self.tell({"type": "told", "text": ANEW})

    def _write_waiting(self) -> None:
        if not self._kept:
            told = {"device": self.source.name, "started_at": self.started_at, "who": self.who}
            begin(self.store, self.key, visit_id=self.visit_id, **told)
            begin_run(self.store, self.key, 0, mime="audio/wav", started_at=self.started_at)
        while self._waiting:
            piece = self._waiting[0]
            from_s = self._kept_samples / RATE
            samples = self._kept_samples + len(piece) // SAMPLE_BYTES
            data = piece if self._kept else _header() + piece
            keep_piece(self.store, self.key, 0, self._kept, data, from_s=from_s, to_s=samples / RATE, sha256=None)
            self._kept, self._kept_samples = self._kept + 1, samples
            self._waiting.pop(0)
        self.tell({"type": "safe", "s": (self._before_samples + self._kept_samples) / RATE})


def _is_spoken(piece: bytes) -> bool:
    sound = np.frombuffer(piece, dtype="<i2").astype(np.float32)
    sound /= 32_768
    return bool(speech_in(sound))


def _header() -> bytes:
    """What a WAV file begins with; how long it is, is told when it is whole."""
    file = io.BytesIO()
    with wave.open(file, "wb") as writer:
        writer.setparams((1, SAMPLE_BYTES, RATE, 0, "NONE", ""))
    return file.getvalue()
