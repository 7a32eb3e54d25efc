"""What lies in a day's folder, and which of its files have stopped growing."""

import os
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

from narrate.hear.suffixes import SUFFIXES

STEADY_S = 4.0
"""A file that has not changed for so long has stopped growing. Copying programs and phones write at least every second
or two; shares tell of a file's new size up to three seconds late."""
OLD_S = 60.0
"""A file last written so long ago, by its own time, is not watched first; an empty one is watched so long."""


@dataclass(frozen=True, kw_only=True)
class Seen:
    """A file in the folder. `name` is its path in there."""

    path: Path
    name: PurePosixPath
    size: int
    """Bytes."""
    written_ns: int
    """When it was written last, by the file system."""

    @property
    def state(self) -> tuple[int, int]:
        """What changes while it grows."""
        return self.size, self.written_ns


@dataclass
class Watch:
    """Watches a folder, looked at again and again; its own clock does not jump."""

    folder: Path
    apart: Path | None = None
    """A folder in it that is not looked into: the shop's data."""
    clock: Callable[[], float] = time.monotonic
    wall: Callable[[], float] = time.time
    missing: bool = False
    """Whether the folder could not be read the last time."""
    _since: dict[PurePosixPath, tuple[tuple[int, int], float]] = field(default_factory=dict)

    def look(self) -> tuple[list[Seen], list[Seen]]:
        """Return the files that have stopped growing, and those that may still grow; those written first come first.

        Nothing where the folder cannot be read; then `missing` says so.
        """
        try:
            found = sorted(self._files(), key=lambda each: (each.written_ns, each.name))
        except OSError:
            self.missing = True
            return [], []
        self.missing = False
        now = self.clock()
        steady: list[Seen] = []
        growing: list[Seen] = []
        for each in found:
            first = each.name not in self._since
            state, since = self._since.get(each.name, (each.state, now))
            if state != each.state:
                since = now
            elif first and self.wall() - each.written_ns / 1e9 > OLD_S:
                since = now - OLD_S
            self._since[each.name] = (each.state, since)
            (steady if now - since >= (STEADY_S if each.size else OLD_S) else growing).append(each)
        return steady, growing

    def _files(self) -> Iterator[Seen]:
        apart = self.apart.resolve() if self.apart else None
        # A folder that is gone raises here; what is gone below it is passed over.
        with os.scandir(self.folder):
            pass
        for place, folders, names in os.walk(self.folder):
            here = Path(place)
            folders[:] = sorted(n for n in folders if not n.startswith(".") and (here / n).resolve() != apart)
            for name in names:
                path = here / name
                if not name.startswith(".") and path.suffix.lower() in SUFFIXES and (seen := self._seen(path)):
                    yield seen

    def _seen(self, path: Path) -> Seen | None:
        try:
            told = path.stat()
        except OSError:
            return None
        name = PurePosixPath(path.relative_to(self.folder).as_posix())
        return Seen(path=path, name=name, size=told.st_size, written_ns=told.st_mtime_ns)
