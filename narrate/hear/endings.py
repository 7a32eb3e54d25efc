"""Whether a file ends before its time, where the decoder passes over that in silence."""

from pathlib import Path

SPARE_BYTES = 16_000
"""So much may be missing of a WAV file: recorders state a little more than they write."""
LONGEST_PAGE = 65_307
"""Bytes of the longest Ogg page."""
PAGE_HEAD = 27
LAST_PAGE = 0x04
"""The flag of the page that ends a stream."""


def cut_short(path: Path) -> bool:
    """Whether a WAV or Ogg file has lost its end."""
    with path.open("rb") as file:
        head = file.read(12)
        size = path.stat().st_size
        if head[:4] == b"OggS":
            file.seek(max(size - LONGEST_PAGE, 0))
            return _ogg_cut_short(file.read())
    stated = int.from_bytes(head[4:8], "little")
    # 0 and the greatest number stand for "not known" in files written as a stream.
    known = head[:4] == b"RIFF" and head[8:12] == b"WAVE" and 0 < stated < 0xFFFF_FFFF
    return known and stated + 8 > size + SPARE_BYTES


def _ogg_cut_short(tail: bytes) -> bool:
    """Whether the last page of an Ogg file is incomplete or not marked as the last.

    The length of an Ogg file is not written anywhere; it is told from the last page there is.
    """
    at = tail.rfind(b"OggS\0")
    if at < 0 or len(tail) < at + PAGE_HEAD:
        return True
    parts = tail[at + PAGE_HEAD - 1]
    lengths = tail[at + PAGE_HEAD : at + PAGE_HEAD + parts]
    complete = len(lengths) == parts and len(tail) >= at + PAGE_HEAD + parts + sum(lengths)
    return not complete or not tail[at + 5] & LAST_PAGE
