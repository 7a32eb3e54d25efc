"""Recordings opened safely: already open when FFmpeg gets them, every protocol off.

So a playlist or a hostile file can reach neither the network nor other files. Files of hear/ open recordings here.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

from narrate.errors import AudioError

if TYPE_CHECKING:
    import av

LENIENT_SINCE = 19


@contextmanager
def opened(path: Path) -> Iterator["av.container.InputContainer"]:
    """Open a recording, or raise AudioError for what is no file or no recording."""
    import av

    with _open(path) as file:
        try:
            container = av.open(file, "r", options={"protocol_whitelist": "none"}, **_lenient())
        except (av.FFmpegError, ValueError) as error:
            message = (
                f"{path.name} is not a recording that can be read, or it was never finished; "
                "save it again or choose another file."
            )
            raise AudioError(message) from error
        with container:
            yield container


def _lenient() -> dict[str, Any]:
    """What lets titles pass that are not text: PyAV asked for it until 19, and does so by itself since."""
    import av

    return {"metadata_errors": "ignore"} if int(av.__version__.split(".")[0]) < LENIENT_SINCE else {}


def stated_duration_s(container: "av.container.InputContainer") -> float | None:
    """Return how long an open file says its sound is, in seconds, if it says so."""
    stream = container.streams.audio[0]
    if stream.duration and stream.time_base:
        return float(stream.duration * stream.time_base)
    return container.duration / 1_000_000 if container.duration else None


def origin_s(container: "av.container.InputContainer") -> float:
    """Return the time stamp that a player shows as 0:00, seconds."""
    return (container.start_time or 0) / 1_000_000


def sound_packets(container: "av.container.InputContainer") -> Iterator["av.Packet[av.AudioStream]"]:
    """Yield the packets of the first sound track, as far as the file can be read."""
    import av

    packets = container.demux(audio=0)
    while True:
        try:
            packet = next(packets, None)
        except av.FFmpegError:
            return
        if packet is None:
            return
        yield packet


def _open(path: Path) -> BinaryIO:
    """Open a file that has something in it, or raise AudioError."""
    try:
        if path.is_dir():
            message = f"{path} is a folder; name a recording in it."
        elif path.stat().st_size == 0:
            message = f"{path.name} is empty; record it again."
        else:
            return path.open("rb")
    except FileNotFoundError:
        message = f"There is no file {path}; check the name."
    except OSError as error:
        message = f"{path} cannot be read ({error.strerror}); check its permissions."
    raise AudioError(message)
