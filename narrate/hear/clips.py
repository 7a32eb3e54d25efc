"""A few seconds of a recording as a small file of its own; the recording itself stays as it is."""

from collections.abc import Iterator, Sequence
from io import BytesIO
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from narrate.errors import AudioError, UsageError
from narrate.hear.audio import GAP_S, LONGEST_GAP_S
from narrate.hear.clock import clock
from narrate.hear.opening import opened, origin_s, sound_packets
from narrate.hear.resampling import Block, Resampler

if TYPE_CHECKING:
    import av

MARGIN_S = 0.5
"""So much more is cut before and after, for a word's time is not exact."""
LONGEST_S = 180.0
"""The longest clip, seconds, without its margins."""
RATE = 48_000
"""Samples a second of a clip: what Opus works with."""
BITS_A_CHANNEL = 40_000
LEAD_S = 1.0
"""Decoding begins so much earlier, for a decoder needs a start of its own."""
EXACT = frozenset(("mov,mp4,m4a,3gp,3g2,mj2", "matroska,webm", "ogg", "wav", "flac"))
"""Containers in which a place can be jumped to and still be told exactly; others are decoded from their start."""


Span = tuple[float, float]
"""From when to when, seconds of the recording."""


def cut_clip(
    path: Path, start_s: float, end_s: float, *, margin_s: float = MARGIN_S, silent: Sequence[Span] = ()
) -> bytes:
    """Return the sound from `start_s` to `end_s` and a margin as an Ogg file with Opus, mono or stereo.

    Times are seconds from the start of the recording, as its words have them; what lies outside it is left out, and
    there is silence at `silent`.
    Raises UsageError for times that are no stretch or are too long, AudioError where there is no sound.
    """
    if not 0 <= start_s < end_s:
        message = f"A clip from {start_s:g} s to {end_s:g} s is no stretch of time; name an end after its start."
        raise UsageError(message)
    if end_s - start_s > LONGEST_S:
        message = f"A clip may last {LONGEST_S:g} s, not {end_s - start_s:.0f} s; choose a shorter stretch."
        raise UsageError(message)
    with opened(path) as container:
        if not container.streams.audio:
            message = f"{path.name} has no sound track; choose a file with sound."
            raise AudioError(message)
        first_s = max(start_s - margin_s, 0.0)
        sound = silenced(_stretch(container, first_s, end_s + margin_s), first_s, silent)
    if not sound.shape[1]:
        message = f"{path.name} has no sound at {clock(start_s)}; choose a stretch within it."
        raise AudioError(message)
    file = BytesIO()
    _encode(iter((sound,)), file)
    return file.getvalue()


def write_silenced(path: Path, to: Path, silent: Sequence[Span]) -> None:
    """Write the whole sound of a recording, but for silence at `silent`, to `to` as an Ogg file with Opus.

    Takes as much memory as a few seconds of it. Raises AudioError where there is no sound.
    """
    with opened(path) as container:
        if not container.streams.audio:
            message = f"{path.name} has no sound track; choose a file with sound."
            raise AudioError(message)
        _encode(_silenced_blocks(container, silent), str(to))


def silenced(sound: Block, start_s: float, silent: Sequence[Span]) -> Block:
    """Samples at RATE that begin at `start_s`, zero wherever a span of `silent` lies."""
    if not any(start_s < ends_s and begins_s < start_s + sound.shape[1] / RATE for begins_s, ends_s in silent):
        return sound
    quiet = sound.copy()
    for begins_s, ends_s in silent:
        first, last = (max(0, round((each - start_s) * RATE)) for each in (begins_s, ends_s))
        quiet[:, first:last] = 0.0
    return quiet


def _silenced_blocks(container: "av.container.InputContainer", silent: Sequence[Span]) -> Iterator[Block]:
    """Yield a recording's whole sound, holes filled with silence so that times stay what they are."""
    channels = 1 if container.streams.audio[0].channels == 1 else 2
    resampler = Resampler(rate=RATE, layout="mono" if channels == 1 else "stereo")
    length = 0
    for at_s, frame in _frames_from(container, 0.0):
        missing_s = at_s - length / RATE
        if missing_s > GAP_S / 2:
            hole = np.zeros((channels, int(missing_s * RATE)), np.float32)
            length += hole.shape[1]
            yield hole
        for block in resampler.blocks(frame):
            yield silenced(block, length / RATE, silent)
            length += block.shape[1]
    for block in resampler.rest():
        yield silenced(block, length / RATE, silent)
        length += block.shape[1]


def _stretch(container: "av.container.InputContainer", start_s: float, end_s: float) -> Block:
    """Return the samples between two times at RATE, shape (1 or 2, samples)."""
    channels = 1 if container.streams.audio[0].channels == 1 else 2
    resampler = Resampler(rate=RATE, layout="mono" if channels == 1 else "stereo")
    blocks: list[Block] = []
    first_s, length = None, 0
    for at_s, frame in _frames_from(container, start_s):
        if at_s + frame.samples / frame.rate <= start_s:
            continue
        if at_s >= end_s:
            break
        first_s = at_s if first_s is None else first_s
        missing_s = at_s - first_s - length / RATE
        holes = [np.zeros((channels, int(missing_s * RATE)), np.float32)] if missing_s > GAP_S / 2 else []
        new = [*holes, *resampler.blocks(frame)]
        blocks += new
        length += sum(block.shape[1] for block in new)
    blocks += resampler.rest()
    if first_s is None or not blocks:
        return np.zeros((channels, 0), np.float32)
    begin = max(round((start_s - first_s) * RATE), 0)
    sound: Block = np.concatenate(blocks, axis=1)[:, begin : round((end_s - first_s) * RATE)]
    return sound


def _frames_from(container: "av.container.InputContainer", start_s: float) -> Iterator[tuple[float, "av.AudioFrame"]]:
    """Yield frames with their times, from somewhat before a time on; times are told as hear/audio.py tells them."""
    jumped = _jump(container, start_s - LEAD_S)
    zero_s = origin_s(container)
    due_s: float | None = None if jumped else 0.0
    for frame in _decoded(container):
        stamp_s = None if frame.time is None else frame.time - zero_s
        if due_s is None:
            due_s = stamp_s or 0.0
        elif stamp_s is not None and GAP_S < stamp_s - due_s < LONGEST_GAP_S:
            due_s = stamp_s
        yield due_s, frame
        due_s += frame.samples / frame.rate


def _jump(container: "av.container.InputContainer", to_s: float) -> bool:
    """Whether decoding goes on near a time, instead of from the start."""
    import av

    if to_s <= 0 or container.format.name not in EXACT:
        return False
    try:
        container.seek(int((to_s + origin_s(container)) * 1_000_000))
    except av.FFmpegError:
        return False
    return True


def _decoded(container: "av.container.InputContainer") -> Iterator["av.AudioFrame"]:
    """Yield the frames of the first sound track, passing over packets that cannot be decoded."""
    import av

    for packet in sound_packets(container):
        try:
            yield from packet.decode()
        except av.FFmpegError:
            continue


def _encode(blocks: Iterator[Block], to: BytesIO | str) -> None:
    """Write samples, each block of shape (1 or 2, samples), as an Ogg file. Raises AudioError where there are none."""
    import av

    first = next(blocks, None)
    if first is None:
        message = "There is no sound in it; choose another recording."
        raise AudioError(message)
    layout = "mono" if first.shape[0] == 1 else "stereo"
    with av.open(to, "w", format="ogg") as container:
        stream = container.add_stream("libopus", rate=RATE, layout=layout)
        stream.bit_rate = BITS_A_CHANNEL * first.shape[0]
        for sound in chain((first,), blocks):
            packed = np.ascontiguousarray(np.clip(sound, -1.0, 1.0).T.reshape(1, -1), dtype=np.float32)
            frame = av.AudioFrame.from_ndarray(packed, format="flt", layout=layout)
            frame.rate = RATE
            for packet in stream.encode(frame):
                container.mux(packet)
        for packet in stream.encode(None):
            container.mux(packet)
