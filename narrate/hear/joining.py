"""Pieces that a recorder sent, put together again: into stretches of one recorder, and these into one file.

Nothing is encoded anew. The packets of the joined file are compared with those of the stretches, and it is decoded to
its end, before anyone may let go of the pieces.
"""

import hashlib
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

from narrate.errors import AudioError
from narrate.hear.opening import opened, sound_packets

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
BEGINNINGS = (b"\x1f\x43\xb6\x75", b"moof")
"""Where sound begins after a header: a cluster of WebM, a fragment of MP4 (whose size stands in four bytes before)."""
SLACK_S = 0.5
"""By how much decoding may differ from what the packets say: decoders hold samples back at both ends."""


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """The sound of one recorder, a file of its own; `starts_s` and `ends_s` in the joined file."""

    path: Path
    starts_s: float
    ends_s: float


@dataclass(frozen=True, kw_only=True)
class Joined:
    """Stretches in one file, in their order."""

    path: Path
    suffix: str
    duration_s: float
    stretches: tuple[Stretch, ...]


def put_together(pieces: Sequence[Path], to: Path, *, first: Path | None = None) -> None:
    """Write pieces one after the other to a file.

    first: the recorder's first piece, where `pieces` begin after a hole; then the header comes from there, and what
    comes before the next place at which a decoder can begin is left out.
    """
    with to.open("wb") as file:
        left = list(pieces)
        if first is not None:
            header, marker = _header(first.read_bytes())
            whole = b"".join(piece.read_bytes() for piece in left)
            at = whole.find(marker) if marker else 0
            back = 4 if marker == b"moof" else 0
            file.write(header + (whole[max(0, at - back) :] if at >= 0 else b""))
            return
        for piece in left:
            file.write(piece.read_bytes())


def _header(piece: bytes) -> tuple[bytes, bytes]:
    """What stands before the first sound of a piece, and by what such places are known."""
    for marker in BEGINNINGS:
        at = piece.find(marker)
        if at > 0:
            return piece[: at - 4 if marker == b"moof" else at], marker
    return b"", b""


def join(paths: Sequence[Path], folder: Path) -> tuple[Joined, ...]:
    """Join stretches into as few files as their codecs allow, in their order; one without a packet is left out.

    Files are made in `folder`. Raises AudioError where none has sound or a joined file is not what went into it.
    """
    groups: list[list[Path]] = []
    kind: object = None
    for path in paths:
        found = _kind(path)
        if found is None:
            continue
        if not groups or found != kind:
            groups.append([])
        groups[-1].append(path)
        kind = found
    if not groups:
        message = "Nothing in this recording can be heard; record it again."
        raise AudioError(message)
    return tuple(_joined(group, folder / f"joined-{number}") for number, group in enumerate(groups))


def _kind(path: Path) -> tuple[object, ...] | None:
    """What must be alike for stretches to lie in one stream; None where there is no packet of sound."""
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


def _joined(paths: Sequence[Path], to: Path) -> Joined:
    import av

    with opened(paths[0]) as first:
        form, suffix = CONTAINERS.get(first.streams.audio[0].codec_context.name, OTHER)
        out = to.with_suffix(suffix)
        with av.open(str(out), "w", format=form) as container:
            stream = container.add_stream_from_template(first.streams.audio[0])
            digest = hashlib.sha256()
            stretches: list[Stretch] = []
            ends = Fraction(0)
            for path in paths:
                starts = ends
                ends = _copied(path, container, stream, starts, digest)
                stretches.append(Stretch(path=path, starts_s=float(starts), ends_s=float(ends)))
    _check(out, digest.hexdigest(), float(ends))
    return Joined(path=out, suffix=suffix, duration_s=float(ends), stretches=tuple(stretches))


def _copied(
    path: Path, to: "av.container.OutputContainer", stream: Any, starts: Fraction, digest: Any  # noqa: ANN401
) -> Fraction:  # fmt: skip
    """Copy the packets of a stretch so that they begin at `starts`, seconds; return where they end."""
    with opened(path) as container:
        packets = [packet for packet in sound_packets(container) if packet.size and packet.pts is not None]
        base = packets[0].time_base
        begins = packets[0].pts or 0
        times = [(packet.pts or 0) - begins for packet in packets]
        steps = [after - before for before, after in pairwise(times)]
        step = packets[-1].duration or (statistics.median(steps) if steps else 0)
        for packet, time in zip(packets, times, strict=True):
            digest.update(bytes(packet))
            packet.pts = packet.dts = round((starts + time * base) / base)
            packet.stream = stream
            to.mux(packet)
        return Fraction(starts + (times[-1] + Fraction(step)) * base)


def _check(path: Path, expected: str, duration_s: float) -> None:
    """Raise AudioError unless a file holds the very packets that went in and can be decoded to its end."""
    import av

    digest, seconds = hashlib.sha256(), 0.0
    try:
        with opened(path) as container:
            for packet in sound_packets(container):
                if packet.size:
                    digest.update(bytes(packet))
                seconds += sum(frame.samples / frame.rate for frame in packet.decode())
    except av.FFmpegError:
        seconds = -1.0
    if digest.hexdigest() != expected or abs(seconds - duration_s) > SLACK_S + 0.01 * duration_s:
        path.unlink(missing_ok=True)
        message = "The pieces of this recording could not be joined without loss; they are kept as they came."
        raise AudioError(message)
