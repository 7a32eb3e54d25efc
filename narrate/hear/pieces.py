"""Pieces that one recorder sent, put one after the other; only the first has a header."""

import io
from collections.abc import Sequence
from pathlib import Path

WEBM, OGG, RIFF = b"\x1a\x45\xdf\xa3", b"OggS", b"RIFF"
CLUSTER, FRAGMENT, DATA = b"\x1f\x43\xb6\x75", b"moof", b"data"
"""Where sound begins after a header: in WebM, in MP4 (its size stands in four bytes before), in WAV."""
SIZE = 4


def kind_of(path: Path) -> str:
    """Return the suffix of the kind of file that something is, by its first bytes; empty where it is none of them."""
    with path.open("rb") as file:
        begins = file.read(12)
    kinds = {WEBM: ".webm", OGG: ".ogg", RIFF: ".wav"}
    return ".m4a" if begins[4:8] == b"ftyp" else kinds.get(begins[:4], "")


def put_together(pieces: Sequence[Path], to: Path, *, first: Path | None = None) -> None:
    """Write pieces one after the other to a file.

    first: the recorder's first piece, where `pieces` begin after a hole; then the header comes from there, and what
    comes before the next place at which a decoder can begin is left out. It may come to nothing.
    """
    with to.open("wb") as file:
        if first is not None:
            file.write(_after_hole(first.read_bytes(), b"".join(piece.read_bytes() for piece in pieces)))
        else:
            for piece in pieces:
                file.write(piece.read_bytes())
    with to.open("r+b") as file:
        _tell_size(file, to.stat().st_size)


def _after_hole(first: bytes, left: bytes) -> bytes:
    """A header and the sound after a hole; empty where it cannot be told how they go together."""
    if first.startswith(RIFF):
        at = first.find(DATA) + len(DATA) + SIZE
        return first[:at] + left if at >= len(DATA) + SIZE else b""
    marker, before = (CLUSTER, 0) if first.startswith(WEBM) else (FRAGMENT, SIZE)
    header, sound = first.find(marker), left.find(marker)
    return first[: header - before] + left[sound - before :] if header > 0 and sound >= before else b""


def _tell_size(file: io.BufferedRandom, size: int) -> None:
    """Have a WAV file say how long it is: its recorder did not know yet."""
    begins = file.read(4096)
    at = begins.find(DATA)
    if begins.startswith(RIFF) and at > 0:
        for place, rest in ((len(RIFF), size - len(RIFF) - SIZE), (at + len(DATA), size - at - len(DATA) - SIZE)):
            file.seek(place)
            file.write(min(rest, 0xFFFFFFFF).to_bytes(4, "little"))
