"""Photos and clips that lie inside a page as `data:` addresses, so that the file needs nothing beside it."""

from base64 import b64encode
from dataclasses import dataclass

from narrate.errors import UsageError

_IMAGES = ((b"\xff\xd8\xff", "image/jpeg"), (b"\x89PNG\r\n\x1a\n", "image/png"))
_OGG = b"OggS"


@dataclass(frozen=True)
class Photo:
    """A picture that belongs to a finding. `text` says what it shows, for who cannot see it."""

    data: bytes
    """JPEG, PNG or WebP."""
    text: str


def photo_address(photo: Photo) -> str:
    """The photo as an address; what it is is read from its bytes, never from a name.

    Raises UsageError for what is no JPEG, PNG or WebP.
    """
    kind = next((kind for start, kind in _IMAGES if photo.data.startswith(start)), None)
    if kind is None and photo.data[:4] == b"RIFF" and photo.data[8:12] == b"WEBP":
        kind = "image/webp"
    if kind is None:
        message = f"The photo {photo.text!r} is no JPEG, PNG or WebP picture; leave it out or save it as one."
        raise UsageError(message)
    return _address(kind, photo.data)


def clip_address(finding_id: str, clip: bytes) -> str:
    """The clip of a finding as an address. Raises UsageError for what is no Ogg file."""
    if not clip.startswith(_OGG):
        message = f"The clip for {finding_id} is no Ogg file; cut it again."
        raise UsageError(message)
    return _address("audio/ogg", clip)


def drawing_address(svg: str) -> str:
    """A drawing as an address."""
    return _address("image/svg+xml", svg.encode("utf-8"))


def _address(kind: str, data: bytes) -> str:
    return f"data:{kind};base64,{b64encode(data).decode('ascii')}"
