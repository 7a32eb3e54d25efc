"""Which recordings are meant by the files and folders someone names."""

from collections.abc import Iterator, Sequence
from pathlib import Path

from narrate.errors import UsageError
from narrate.hear.suffixes import SUFFIXES


def find_recordings(places: Sequence[Path], *, apart: Path | None = None) -> tuple[Path, ...]:
    """Return the files named and the recordings in the folders named, sorted within a folder, none twice.

    apart: a folder that is not searched, the output's own. Raises UsageError for a folder without any.
    """
    found: dict[Path, Path] = {}
    for place in places:
        paths = list(_in_folder(place, apart)) if place.is_dir() else [place]
        if not paths:
            message = f"There is no recording in {place}; name a folder with audio or video files, or a file."
            raise UsageError(message)
        for path in paths:
            found.setdefault(path.resolve(), path)
    return tuple(found.values())


def _in_folder(folder: Path, apart: Path | None) -> Iterator[Path]:
    own = apart.resolve() if apart else None
    for path in sorted(folder.iterdir()):
        if path.name.startswith("."):
            continue
        if path.is_dir() and not path.is_symlink():
            if path.resolve() != own:
                yield from _in_folder(path, apart)
        elif path.suffix.lower() in SUFFIXES and path.is_file():
            yield path
