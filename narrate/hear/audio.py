"""Sound out of a file: any container or codec, as mono samples at 16 kHz."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from narrate.errors import AudioError
from narrate.hear.clock import clock
from narrate.hear.endings import cut_short
from narrate.hear.opening import opened, origin_s, stated_duration_s
from narrate.hear.resampling import Resampler

if TYPE_CHECKING:
    import av

Samples = NDArray[np.float32]
Progress = Callable[[float, float], None]
"""Called with seconds done and seconds in all."""

RATE = 16_000
SLACK_S = 0.5
"""Containers pad the last block: a recording of just the limit states a little more."""
GAP_S = 0.25
"""A hole in the time stamps longer than this becomes silence, so that times stay those of a player."""
LONGEST_GAP_S = 600.0
"""A longer hole is a broken clock, not a pause, and is passed over."""
MISSING_S = 1.0
"""A file this much shorter than it says has lost its end."""
CANCEL_POWER = 0.1
"""Channels cancel each other when their mean has less than this share of the power of the louder one."""


@dataclass(frozen=True, kw_only=True)
class Sound:
    """Decoded sound: `samples` is float32, mono, 16 kHz, full scale 1; times are in seconds."""

    samples: Samples
    duration_s: float
    sample_rate: int
    """Of the file itself, Hz."""
    notices: tuple[str, ...]
    recorded_at: str | None
    """ISO 8601, from the file's own metadata."""


def decode(path: Path, *, min_duration_s: float, max_duration_s: float, progress: Progress | None = None) -> Sound:
    """Return the sound of an audio or video file.

    A file that breaks off is used as far as it goes, with a notice. Raises AudioError for what is no file,
    holds no sound, or is shorter or longer than the limits.
    """
    with opened(path) as container:
        return _decode(container, path, min_duration_s, max_duration_s, progress)


def stated_length_s(path: Path) -> float | None:
    """Return how long a recording says it is, without decoding it; None if it does not say or cannot be used."""
    try:
        with opened(path) as container:
            return stated_duration_s(container) if container.streams.audio else None
    except AudioError:
        return None


def _decode(
    container: "av.container.InputContainer",
    path: Path,
    min_duration_s: float,
    max_duration_s: float,
    progress: Progress | None,
) -> Sound:
    """Decode the first sound track of an open file."""
    if not container.streams.audio:
        message = f"{path.name} has no sound track; choose a file with sound."
        raise AudioError(message)
    stated_s = stated_duration_s(container)
    if stated_s and stated_s > max_duration_s + SLACK_S:
        raise AudioError(_too_long(path, max_duration_s, stated_s))
    track = _Track(container)
    limit = int((max_duration_s + SLACK_S) * RATE)
    for block in track.blocks():
        track.add(block)
        if track.length > limit:
            raise AudioError(_too_long(path, max_duration_s, None))
        if progress:
            progress(track.length / RATE, max(stated_s or 0.0, track.length / RATE))
    duration_s = track.length / RATE
    if not track.length:
        message = f"No sound could be decoded from {path.name}; save it again or choose another file."
        raise AudioError(message)
    if duration_s < min_duration_s:
        message = (
            f"{path.name} lasts {duration_s:.2f} s, less than the {min_duration_s:g} s "
            "in which anything can be said; record it again."
        )
        raise AudioError(message)
    notices = []
    if (stated_s and stated_s - duration_s > MISSING_S) or track.broken_at_end or cut_short(path):
        notices.append(f"The file breaks off at {clock(duration_s)}; what came after is lost.")
    elif track.damaged_s is not None:
        notices.append(f"The file is damaged near {clock(track.damaged_s)}; a little sound is missing there.")
    return Sound(
        samples=track.samples(),
        duration_s=duration_s,
        sample_rate=container.streams.audio[0].rate or RATE,
        notices=tuple(notices),
        recorded_at=_recorded_at(container),
    )


def _too_long(path: Path, limit_s: float, stated_s: float | None) -> str:
    """Return the sentence for a recording over the limit."""
    lasts = f"lasts {clock(stated_s)}, longer" if stated_s else "lasts longer"
    return f"{path.name} {lasts} than the limit of {clock(limit_s)}; split it, or raise max_duration_s."


def _recorded_at(container: "av.container.InputContainer") -> str | None:
    """Return the time of recording from the metadata, or None when it is missing or no real date."""
    for key in ("creation_time", "date"):
        try:
            moment = datetime.fromisoformat(container.metadata.get(key, ""))
        except ValueError:
            continue
        # Devices without a clock write the epoch of their format: 1904 or 1970.
        if moment.year > 1990:
            return moment.isoformat()
    return None


class _Track:
    """The sound track while it is decoded: resampled, mixed to mono, holes filled with silence."""

    def __init__(self, container: "av.container.InputContainer") -> None:
        self._container = container
        self._bytes = bytearray()
        self._power = np.zeros(0)
        self.damaged_s: float | None = None
        self.broken_at_end = False

    @property
    def length(self) -> int:
        """Samples so far."""
        return len(self._bytes) // 4

    def samples(self) -> Samples:
        """Return all samples, without copying them."""
        return np.frombuffer(self._bytes, dtype=np.float32)

    def add(self, block: Samples) -> None:
        """Append a block of shape (channels, samples), mixed to mono."""
        self._bytes += self._mono(block).tobytes()

    def blocks(self) -> Iterator[Samples]:
        """Yield the decoded sound at 16 kHz, shape (channels, samples)."""
        resampler = Resampler(rate=RATE)
        zero_s = origin_s(self._container)
        for frame in self._frames():
            if frame.time is not None:
                yield self._hole(frame.time - zero_s)
            yield from resampler.blocks(frame)
        yield from resampler.rest()

    def _frames(self) -> Iterator["av.AudioFrame"]:
        """Yield frames, passing over packets that cannot be decoded."""
        import av

        packets = self._container.demux(audio=0)
        while True:
            try:
                packet = next(packets, None)
            except av.FFmpegError:
                self.broken_at_end = True
                return
            if packet is None:
                return
            try:
                yield from packet.decode()
            except av.FFmpegError:
                self.broken_at_end = True
                self.damaged_s = self.damaged_s or self.length / RATE
            else:
                # Sound after the damage means that the damage was not the end.
                self.broken_at_end = self.broken_at_end and packet.size == 0

    def _hole(self, due_s: float) -> Samples:
        """Return the silence that is missing before a frame due at a time, shape (1, samples)."""
        missing_s = due_s - self.length / RATE
        real = GAP_S < missing_s < LONGEST_GAP_S
        return np.zeros((1, int(missing_s * RATE) if real else 0), dtype=np.float32)

    def _mono(self, block: Samples) -> Samples:
        """Mix channels to one; where they cancel each other, take the channel that has been louder."""
        if block.shape[0] == 1 or not block.shape[1]:
            first: Samples = block[0]
            return first
        mixed: Samples = block.mean(axis=0, dtype=np.float32)
        power = np.square(block, dtype=np.float64).sum(axis=1)
        if self._power.size != power.size:
            self._power = np.zeros(power.size)
        self._power += power
        if float(np.square(mixed, dtype=np.float64).sum()) < CANCEL_POWER * float(power.max()):
            mixed = block[int(self._power.argmax())]
        return mixed
