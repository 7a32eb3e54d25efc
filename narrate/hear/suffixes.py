"""How files that may be recordings are told from others in a folder."""

SUFFIXES = frozenset(
    (
        ".3g2", ".3gp", ".aac", ".aif", ".aiff", ".amr", ".avi", ".caf", ".flac", ".m4a", ".m4v", ".mka",
        ".mkv", ".mov", ".mp3", ".mp4", ".mpeg", ".mpg", ".oga", ".ogg", ".opus", ".wav", ".weba", ".webm",
        ".wma", ".wmv",
    )
)  # fmt: skip
"""What sound and video files end in. A file that is named itself may end in anything."""
