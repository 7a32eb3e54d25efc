"""Pictures as JPEG: one out of a video, or a photo written anew, upright and without anything beside the picture."""

import struct
from collections.abc import Iterator
from fractions import Fraction
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from narrate.errors import AudioError, UsageError
from narrate.hear.clock import clock
from narrate.hear.glance import film_of
from narrate.hear.opening import opened, origin_s

if TYPE_CHECKING:
    import av

LONGEST_EDGE = 2560
"""Pixels of a picture's longer side at most; larger ones are made smaller."""
MOST_PIXELS = 120_000_000
"""A picture with more is not decoded."""
QUALITY = 3
"""FFmpeg's scale for JPEG, from 2, the best."""
FORMATS = {b"\xff\xd8\xff": "jpeg_pipe", b"\x89PNG\r\n\x1a\n": "png_pipe", b"RIFF": "webp_pipe"}
"""How photos begin, and what reads them."""
EXIF = b"Exif\0\0"
LAST_EXIF = 65_536
ORIENTATION = 0x0112


def still(path: Path, at_s: float) -> bytes:
    """Return the picture of a video at a time, seconds from its start, as JPEG; at its end the last one.

    Raises AudioError for a recording without pictures, UsageError for a time before its start.
    """
    if not at_s >= 0:
        message = f"There is no picture at {at_s:g} s; name a time from 0 on."
        raise UsageError(message)
    with opened(path) as container:
        film = film_of(container)
        if film is None:
            message = f"{path.name} has sound only; a still needs a video."
            raise AudioError(message)
        _refuse_huge(film)
        picture = _picture_at(container, film, at_s)
        if picture is None:
            message = f"No picture can be decoded from {path.name} at {clock(at_s)}; choose another moment."
            raise AudioError(message)
        return _jpeg(picture)


def photo(data: bytes) -> bytes:
    """Return a photo (JPEG, PNG or WebP) as a JPEG that stands upright and tells neither place nor device.

    Raises UsageError for anything else, and for a photo that is damaged or far too large.
    """
    import av

    form = next((name for start, name in FORMATS.items() if data.startswith(start)), None)
    if form is None or (form == "webp_pipe" and data[8:12] != b"WEBP"):
        message = "This is no photo that can be kept; choose a JPEG, PNG or WebP file."
        raise UsageError(message)
    try:
        with av.open(BytesIO(data), "r", format=form, options={"protocol_whitelist": "none"}) as container:
            _refuse_huge(container.streams.video[0])
            picture = next(container.decode(video=0), None)
            if picture is not None:
                return _jpeg(picture, mirrored=_mirrored(data))
    except (av.FFmpegError, ValueError, IndexError):
        picture = None
    message = "The photo is damaged and cannot be shown; take it again or choose another."
    raise UsageError(message)


def _refuse_huge(film: "av.VideoStream") -> None:
    if film.width * film.height > MOST_PIXELS:
        message = f"A picture of {film.width} × {film.height} pixels is too large; make it smaller first."
        raise UsageError(message)


def _picture_at(
    container: "av.container.InputContainer", film: "av.VideoStream", at_s: float
) -> "av.VideoFrame | None":
    """Return the picture that is shown at a time: the last one that has begun by then."""
    import av

    zero_s = origin_s(container)
    try:
        container.seek(int((at_s + zero_s) * 1_000_000))
    except av.FFmpegError:
        container.seek(0)
    film.thread_type = "AUTO"
    shown = None
    for frame in _pictures(container, film):
        if shown is not None and frame.time is not None and frame.time - zero_s > at_s:
            break
        shown = frame
    return shown


def _pictures(container: "av.container.InputContainer", film: "av.VideoStream") -> Iterator["av.VideoFrame"]:
    """Yield pictures, passing over packets that cannot be decoded."""
    import av

    packets = container.demux(film)
    while True:
        try:
            packet = next(packets, None)
            if packet is None:
                return
            frames = packet.decode()
        except av.FFmpegError:
            continue
        yield from frames


def _mirrored(data: bytes) -> bool:
    """Whether a photo's EXIF says that it is to be mirrored; PyAV tells the turning alone."""
    exif = data[data.find(EXIF, 0, LAST_EXIF) + len(EXIF) :] if EXIF in data[:LAST_EXIF] else b""
    order = "<" if exif[:2] == b"II" else ">"
    try:
        (first,) = struct.unpack_from(f"{order}I", exif, 4)
        (entries,) = struct.unpack_from(f"{order}H", exif, first)
        tags = [struct.unpack_from(f"{order}H6xH", exif, first + 2 + 12 * entry) for entry in range(entries)]
    except struct.error:
        return False
    return any(tag == ORIENTATION and value in {2, 4, 5, 7} for tag, value in tags)


def _jpeg(picture: "av.VideoFrame", *, mirrored: bool = False) -> bytes:
    """Return a picture as it is to be seen, not larger than it need be."""
    import av

    scale = min(LONGEST_EDGE / max(picture.width, picture.height), 1.0)
    width, height = (max(round(edge * scale), 1) for edge in (picture.width, picture.height))
    small = picture.reformat(width=width, height=height, format="rgb24")
    pixels: NDArray[np.uint8] = np.asarray(small.to_ndarray(), dtype=np.uint8)
    if mirrored:
        pixels = pixels[::-1]
    # `rotation` says how far it is to be turned counter-clockwise after that.
    upright = av.VideoFrame.from_ndarray(np.ascontiguousarray(np.rot90(pixels, picture.rotation // 90)), format="rgb24")
    codec: Any = av.CodecContext.create("mjpeg", "w")
    codec.width, codec.height, codec.pix_fmt = upright.width, upright.height, "yuvj420p"
    codec.time_base = Fraction(1)
    codec.options = {"qmin": str(QUALITY), "qmax": str(QUALITY)}
    return b"".join(bytes(packet) for packet in (*codec.encode(upright), *codec.encode(None)))
