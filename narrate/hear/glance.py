"""A first look at a file that may be a recording: whether it has sound and picture, and how long it lasts."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from narrate.errors import AudioError
from narrate.hear.opening import opened, origin_s, sound_packets, stated_duration_s

if TYPE_CHECKING:
    import av

TRIED_S = 1.0
"""So much is decoded to see that it can be."""


@dataclass(frozen=True, kw_only=True)
class Glance:
    """What a recording is, before anything is heard in it."""

    duration_s: float | None
    """Seconds, as the file says or its packets do; None where neither tells."""
    video: bool
    """Whether it has moving pictures too."""
    container: str
    """FFmpeg's name of what it is packed in, `ogg` or `matroska,webm`."""


def glance_at(path: Path) -> Glance:
    """Look at a file; its first second is decoded. Raises AudioError for what is no recording or has no sound."""
    with opened(path) as container:
        if not container.streams.audio:
            message = f"{path.name} has no sound track; choose a file with sound."
            raise AudioError(message)
        stated_s = stated_duration_s(container)
        video, name = bool(film_of(container)), container.format.name
        if not _sounds(container):
            message = f"No sound could be decoded from {path.name}; save it again or choose another file."
            raise AudioError(message)
    return Glance(duration_s=stated_s or _counted_s(path), video=video, container=name)


def film_of(container: "av.container.InputContainer") -> "av.VideoStream | None":
    """Return the first track of moving pictures of an open file, if it has one; a cover is none."""
    import av

    cover = av.stream.Disposition.attached_pic
    return next((stream for stream in container.streams.video if not stream.disposition & cover), None)


def _sounds(container: "av.container.InputContainer") -> bool:
    """Whether sound comes out of the first second or so."""
    import av

    decoded_s = 0.0
    for packet in sound_packets(container):
        try:
            decoded_s += sum(frame.samples / frame.rate for frame in packet.decode())
        except av.FFmpegError:
            continue
        if decoded_s >= TRIED_S:
            break
    return decoded_s > 0


def _counted_s(path: Path) -> float | None:
    """Return where the last packet ends, for files written as a stream, which do not say how long they are."""
    with opened(path) as container:
        zero_s = origin_s(container)
        ends_s = [
            float((packet.pts + (packet.duration or 0)) * packet.time_base) - zero_s
            for packet in sound_packets(container)
            if packet.pts is not None and packet.time_base
        ]
    return max(ends_s, default=None)
