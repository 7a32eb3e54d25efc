"""Pieces that a recorder sent, put together again: into stretches of one recorder, and these into one file.

Nothing is encoded anew. The packets of the joined file are compared with those of the stretches, and it is decoded to
its end, before anyone may let go of the pieces. What cannot be joined so stays a recording of its own, as it came.
"""

import hashlib
import statistics
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

from narrate.errors import AudioError
from narrate.hear.opening import opened, sound_packets
from narrate.hear.pieces import kind_of

if TYPE_CHECKING:
    import av

CONTAINERS = {
    "opus": ("webm", ".webm"),
    "vorbis": ("webm", ".webm"),
    "aac": ("mp4", ".m4a"),
    "pcm_s16le": ("wav", ".wav"),
}
"""What a codec is put into, so that browsers play it and can jump in it; anything else goes into Matroska."""
OTHER = ("matroska", ".mka")
SAME_EACH_TIME = {"fflags": "+bitexact"}
"""No random numbers in the file: what is joined again after an interruption is the very same recording."""
JUMP_S = 1.0
"""Time stamps that jump by more: the recorder stood still; what follows is moved up, and the gap is told."""
SLACK_S = 0.5
"""By how much decoding may differ from what the packets say: decoders hold samples back at both ends."""


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """The sound of one recorder without a break: in its own file from `from_s`, in the joined one from `starts_s`."""

    path: Path
    from_s: float
    starts_s: float
    ends_s: float


@dataclass(frozen=True, kw_only=True)
class Joined:
    """Stretches in one file, in their order. `path` may be the file of the only stretch itself."""

    path: Path
    suffix: str
    duration_s: float
    stretches: tuple[Stretch, ...]


def join(paths: Sequence[Path], folder: Path) -> tuple[Joined, ...]:
    """Join files of recorders into as few as their codecs allow, in their order; one without a sound is left out.

    Files are made in `folder`. Raises AudioError where none has sound.
    """
    groups: list[tuple[object, list[Path]]] = []
    for path in paths:
        kind = _kind(path)
        if kind is None:
            continue
        if not groups or groups[-1][0] != kind:
            groups.append((kind, []))
        groups[-1][1].append(path)
    if not groups:
        message = "Nothing in this recording can be heard; record it again."
        raise AudioError(message)
    return tuple(
        each for number, (_, group) in enumerate(groups) for each in _joined_or_not(group, folder / f"joined-{number}")
    )


def _kind(path: Path) -> tuple[object, ...] | None:
    """What must be alike for files to lie in one stream; None where there is no packet of sound."""
    try:
        with opened(path) as container:
            if not container.streams.audio:
                return None
            codec = container.streams.audio[0].codec_context
            packet = next((each for each in sound_packets(container) if each.size), None)
            found = (codec.name, codec.sample_rate, codec.layout.name, codec.extradata)
            return found if packet is not None else None
    except AudioError:
        return None


def _joined_or_not(paths: Sequence[Path], to: Path) -> Iterator[Joined]:
    import av

    try:
        yield _joined(paths, to)
    except (AudioError, av.FFmpegError):
        for path in paths:
            with opened(path) as container:
                ends_s = float(sum((part.lasts for part in _parts(container)), Fraction(0)))
            stretch = Stretch(path=path, from_s=0.0, starts_s=0.0, ends_s=ends_s)
            yield Joined(path=path, suffix=kind_of(path), duration_s=ends_s, stretches=(stretch,))


def _joined(paths: Sequence[Path], to: Path) -> Joined:
    import av

    with opened(paths[0]) as first:
        form, suffix = CONTAINERS.get(first.streams.audio[0].codec_context.name, OTHER)
        out = to.with_suffix(suffix)
        digest = hashlib.sha256()
        stretches: list[Stretch] = []
        ends = Fraction(0)
        with av.open(str(out), "w", format=form, options=SAME_EACH_TIME) as container:
            stream = container.add_stream_from_template(first.streams.audio[0])
            for path in paths:
                for from_s, starts, ends in _copied(path, container, stream, ends, digest):  # noqa: B020 - each ends later
                    stretches.append(
                        Stretch(path=path, from_s=float(from_s), starts_s=float(starts), ends_s=float(ends))
                    )
    _check(out, digest.hexdigest(), float(ends))
    return Joined(path=out, suffix=suffix, duration_s=float(ends), stretches=tuple(stretches))


@dataclass(frozen=True)
class _Part:
    """Packets without a jump between them. Seconds of the file they come from, its first packet at 0."""

    packets: "list[av.Packet[av.AudioStream]]"
    from_s: Fraction
    lasts: Fraction


def _parts(container: "av.container.InputContainer") -> Iterator[_Part]:
    # A packet that was cut off before its end, where a page was closed, cannot be decoded by anyone.
    whole = (packet for packet in sound_packets(container) if packet.size and not packet.is_corrupt)
    packets = [packet for packet in whole if packet.pts is not None]
    if not packets:
        return
    base = Fraction(packets[0].time_base)
    times = [packet.pts or 0 for packet in packets]
    steps = [after - before for before, after in pairwise(times)]
    usual = packets[-1].duration or (statistics.median(steps) if steps else 0)
    jumps = [n + 1 for n, step in enumerate(steps) if step < 0 or (step - usual) * base > JUMP_S]
    for first, end in pairwise([0, *jumps, len(packets)]):
        lasts = (times[end - 1] - times[first] + Fraction(usual)) * base
        yield _Part(packets[first:end], (times[first] - times[0]) * base, lasts)


def _copied(
    path: Path, to: "av.container.OutputContainer", stream: Any, starts: Fraction, digest: Any  # noqa: ANN401
) -> Iterator[tuple[Fraction, Fraction, Fraction]]:  # fmt: skip
    """Copy the packets of a file so that they begin at `starts`; yield for each part where it came from and lies."""
    with opened(path) as container:
        for part in _parts(container):
            base = Fraction(part.packets[0].time_base)
            begins = part.packets[0].pts or 0
            for packet in part.packets:
                digest.update(bytes(packet))
                packet.pts = packet.dts = round(starts / base) + (packet.pts or 0) - begins
                packet.stream = stream
                to.mux(packet)
            yield part.from_s, starts, starts + part.lasts
            starts += part.lasts


def _check(path: Path, expected: str, duration_s: float) -> None:
    """Raise AudioError unless a file holds the very packets that went in and can be decoded to its end."""
    import av

    digest, ends_s = hashlib.sha256(), 0.0
    try:
        with opened(path) as container:
            for packet in sound_packets(container):
                if packet.size:
                    digest.update(bytes(packet))
                for frame in packet.decode():
                    ends_s = max(ends_s, (frame.time or 0.0) + frame.samples / frame.rate)
    except av.FFmpegError:
        ends_s = -1.0
    if digest.hexdigest() != expected or abs(ends_s - duration_s) > SLACK_S:
        path.unlink(missing_ok=True)
        message = "The pieces of this recording could not be joined without loss; they are kept as they came."
        raise AudioError(message)
