"""What a file is called towards people, where it lies under a name that nobody gave it."""

from pathlib import Path


def by_name(text: str, file: Path, name: str) -> str:
    """Return a message about a file with the name that people know it by.

    >>> by_name("/data/audio/ab/ab12.ogg is empty.", Path("/data/audio/ab/ab12.ogg"), "bay 2.ogg")
    'bay 2.ogg is empty.'
    """
    return text.replace(str(file), name).replace(file.name, name)
