"""How files that may be recordings are told from others in a folder, and what they are to a browser."""

from pathlib import PurePath

SUFFIXES = frozenset(
    (
        ".3g2", ".3gp", ".aac", ".aif", ".aiff", ".amr", ".avi", ".caf", ".flac", ".m4a", ".m4v", ".mka",
        ".mkv", ".mov", ".mp3", ".mp4", ".mpeg", ".mpg", ".oga", ".ogg", ".opus", ".wav", ".weba", ".webm",
        ".wma", ".wmv",
    )
)  # fmt: skip
"""What sound and video files end in. A file that is named itself may end in anything."""
TYPES = {
    ".3g2": "video/3gpp2", ".3gp": "video/3gpp", ".aac": "audio/aac", ".aif": "audio/aiff", ".aiff": "audio/aiff",
    ".amr": "audio/amr", ".avi": "video/x-msvideo", ".caf": "audio/x-caf", ".flac": "audio/flac",
    ".m4a": "audio/mp4", ".m4v": "video/mp4", ".mka": "audio/x-matroska", ".mkv": "video/x-matroska",
    ".mov": "video/quicktime", ".mp3": "audio/mpeg", ".mp4": "video/mp4", ".mpeg": "video/mpeg",
    ".mpg": "video/mpeg", ".oga": "audio/ogg", ".ogg": "audio/ogg", ".opus": "audio/ogg", ".wav": "audio/wav",
    ".weba": "audio/webm", ".webm": "video/webm", ".wma": "audio/x-ms-wma", ".wmv": "video/x-ms-wmv",
}  # fmt: skip
"""Media types (RFC 6838) by suffix."""
FAMILIES: dict[str, tuple[str, ...]] = {
    "aac": (".aac",),
    "aiff": (".aiff", ".aif"),
    "amr": (".amr",),
    "asf": (".wma", ".wmv"),
    "avi": (".avi",),
    "caf": (".caf",),
    "flac": (".flac",),
    "matroska,webm": (".webm", ".weba", ".mka", ".mkv"),
    "mov,mp4,m4a,3gp,3g2,mj2": (".m4a", ".mp4", ".m4v", ".mov", ".3gp", ".3g2"),
    "mp3": (".mp3",),
    "mpeg": (".mpg", ".mpeg"),
    "ogg": (".ogg", ".oga", ".opus"),
    "wav": (".wav",),
}
"""FFmpeg's names of containers, and what files of each end in; the first for sound."""


def true_suffix(name: str, container: str) -> str:
    """Return the suffix that fits what a file is: its own where that is one, else its container's; "" if neither.

    >>> true_suffix("Bay 2.M4A", "mov,mp4,m4a,3gp,3g2,mj2"), true_suffix("page.html", "ogg")
    ('.m4a', '.ogg')
    """
    own = PurePath(name).suffix.lower()
    family = FAMILIES.get(container, ())
    if own in family or (not family and own in SUFFIXES):
        return own
    return family[0] if family else ""
