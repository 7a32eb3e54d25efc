"""Pictures: the right moment of a video, upright, and photos that tell nothing beside what they show."""

import io
import struct
import zlib
from collections.abc import Callable
from pathlib import Path

import av
import numpy as np
import pytest

from narrate.errors import AudioError, UsageError
from narrate.hear.stills import LONGEST_EDGE, photo, still

SHAPE = (48, 96)


def film(path: Path, *, turned: float | None = None, codec: str = "libx264", pictures: int = 50) -> Path:
    """A video of 10 pictures a second that grow brighter by 5 each; its upper left corner is white."""
    with av.open(str(path), "w") as container:
        track = container.add_stream(codec, rate=10)
        track.height, track.width = SHAPE
        track.pix_fmt, track.bit_rate = "yuv420p", 4_000_000
        if turned is not None:
            track.set_display_rotation(turned)
        for number in range(pictures):
            pixels = np.full((*SHAPE, 3), number * 5, np.uint8)
            pixels[:16, :16] = 255
            for packet in track.encode(av.VideoFrame.from_ndarray(pixels, format="rgb24")):
                container.mux(packet)
        for packet in track.encode(None):
            container.mux(packet)
    return path


def seen(jpeg: bytes) -> np.ndarray:
    """The brightness of a JPEG's pixels, shape (height, width)."""
    with av.open(io.BytesIO(jpeg), format="jpeg_pipe") as container:
        return next(container.decode(video=0)).to_ndarray(format="rgb24").mean(axis=2)


def bright_corner(pixels: np.ndarray) -> str:
    """Which corner is white."""
    corners = {"upper left": (4, 4), "upper right": (4, -4), "lower left": (-4, 4), "lower right": (-4, -4)}
    return max(corners, key=lambda name: pixels[corners[name]])


@pytest.mark.parametrize(("name", "codec"), [("a.mp4", "libx264"), ("a.mov", "mpeg4"), ("a.webm", "libvpx")])
@pytest.mark.parametrize(("at_s", "number"), [(0.0, 0), (2.05, 20), (4.0, 40), (60.0, 49)])
def test_the_picture_is_the_one_shown_then(name: str, codec: str, at_s: float, number: int, tmp_path: Path) -> None:
    pixels = seen(still(film(tmp_path / name, codec=codec), at_s))
    assert pixels.shape == SHAPE
    assert pixels[30:, 30:].mean() == pytest.approx(number * 5, abs=2.4)


@pytest.mark.parametrize(("turned", "corner"), [(90, "lower left"), (-90, "upper right"), (180, "lower right")])
def test_a_phone_held_upright_gives_an_upright_picture(turned: float, corner: str, tmp_path: Path) -> None:
    pixels = seen(still(film(tmp_path / "phone.mp4", turned=turned), 1.0))
    assert bright_corner(pixels) == corner


def test_sound_alone_has_no_still(tone: Callable[..., np.ndarray], write: Callable[..., Path]) -> None:
    with pytest.raises(AudioError, match=r"bay\.wav has sound only"):
        still(write("bay.wav", tone(1)), 0)


@pytest.mark.parametrize("at_s", [-1.0, float("nan")])
def test_a_time_before_the_start_is_refused(at_s: float, tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="from 0 on"):
        still(film(tmp_path / "a.mp4", pictures=2), at_s)


def picture(codec: str, shape: tuple[int, int] = SHAPE) -> bytes:
    """A black picture whose upper left corner is white, as a file."""
    pixels = np.zeros((*shape, 3), np.uint8)
    pixels[:16, :16] = 255
    encoder = av.CodecContext.create(codec, "w")
    encoder.height, encoder.width = shape
    encoder.pix_fmt = {"mjpeg": "yuvj420p", "png": "rgb24", "libwebp": "yuv420p"}[codec]
    encoder.time_base = encoder.framerate = 1
    frame = av.VideoFrame.from_ndarray(pixels, format="rgb24")
    return b"".join(bytes(packet) for packet in (*encoder.encode(frame), *encoder.encode(None)))


def with_exif(jpeg: bytes, orientation: int, order: str = ">") -> bytes:
    """A JPEG as a phone writes it: which way it was held, and where."""
    mark = b"MM\0*" if order == ">" else b"II*\0"
    entries = struct.pack(f"{order}HHHIHH", 1, 0x0112, 3, 1, orientation, 0)
    body = b"Exif\0\0" + mark + struct.pack(f"{order}I", 8) + entries + b"\0\0\0\0" + b"GPS 52.5163 N 13.3777 E"
    return jpeg[:2] + b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body + jpeg[2:]


@pytest.mark.parametrize("codec", ["mjpeg", "png", "libwebp"])
def test_a_photo_of_each_format_is_kept_as_jpeg(codec: str) -> None:
    kept = photo(picture(codec))
    assert kept.startswith(b"\xff\xd8\xff")
    assert seen(kept).shape == SHAPE
    assert bright_corner(seen(kept)) == "upper left"


@pytest.mark.parametrize("order", [">", "<"])
@pytest.mark.parametrize(
    ("orientation", "corner"),
    [
        (1, "upper left"), (2, "upper right"), (3, "lower right"), (4, "lower left"),
        (5, "upper left"), (6, "upper right"), (7, "lower right"), (8, "lower left"),
    ],
)  # fmt: skip
def test_a_photo_stands_upright_and_tells_no_place(orientation: int, corner: str, order: str) -> None:
    """A photo that lies on its side, or is mirrored, shows the wrong side of the vehicle."""
    kept = photo(with_exif(picture("mjpeg"), orientation, order))
    assert bright_corner(seen(kept)) == corner
    assert (seen(kept).shape == SHAPE) == (orientation < 5)
    assert b"GPS" not in kept
    assert b"Exif" not in kept


def test_a_large_photo_is_made_smaller() -> None:
    assert seen(photo(picture("mjpeg", (2000, 4000)))).shape == (LONGEST_EDGE // 2, LONGEST_EDGE)


def test_a_picture_too_large_to_decode_is_refused() -> None:
    head = struct.pack(">IIBBBBB", 16_000, 16_000, 8, 0, 0, 0, 0)
    lines = zlib.compress(bytes(16_001 * 16_000), 1)
    chunks = ((b"IHDR", head), (b"IDAT", lines), (b"IEND", b""))
    body = b"".join(
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data)) for name, data in chunks
    )
    with pytest.raises(UsageError, match="16000 × 16000 pixels is too large"):
        photo(b"\x89PNG\r\n\x1a\n" + body)


@pytest.mark.parametrize(
    "data",
    [b"", b"GIF89a", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"RIFF\0\0\0\0WAVEfmt ", b"ffconcat version 1.0\n"],
)
def test_what_is_no_photo_is_refused(data: bytes) -> None:
    with pytest.raises(UsageError, match="JPEG, PNG or WebP"):
        photo(data)


@pytest.mark.parametrize("codec", ["mjpeg", "png", "libwebp"])
def test_a_damaged_photo_is_refused(codec: str) -> None:
    with pytest.raises(UsageError, match="damaged"):
        photo(picture(codec)[:24])
