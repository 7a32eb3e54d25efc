"""Files of a day's folder are kept, put in line once, and tied to orders by their names."""

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

from narrate.errors import AudioError, StoreError
from narrate.hear.digests import sha256_of
from narrate.hear.glance import Glance, glance_at
from narrate.hear.suffixes import true_suffix
from narrate.store.day_jobs import earlier_of, is_kept, queue_once
from narrate.store.engine import Store
from narrate.store.open_orders import open_orders
from narrate.store.recordings import PIECE, keep_recording
from narrate.work.day_folder import Seen
from narrate.work.day_ties import BY_NAME, named_tie

WHO = BY_NAME


@dataclass(frozen=True, kw_only=True)
class Item:
    """A recording of the folder. `name` is its path in there, `also` those of files with the same bytes."""

    name: PurePosixPath
    sha256: str
    written_ns: int
    also: tuple[PurePosixPath, ...] = ()
    earlier: tuple[str, ...] = ()
    """Recordings (sha256) that were taken of this file before it had all its bytes."""


@dataclass
class Intake:
    """What was taken from a folder so far. Nothing in the folder is changed."""

    store: Store
    again: bool = False
    """Whether what failed too often is tried once more."""
    items: dict[str, Item] = field(default_factory=dict)
    """By sha256, in the order in which they were taken."""
    jobs: dict[str, int] = field(default_factory=dict)
    """The job of each recording that was put in line and is not known to be over."""
    troubles: dict[PurePosixPath, str] = field(default_factory=dict)
    """Files that could not be taken, and why; they are tried again."""
    _taken: dict[PurePosixPath, tuple[tuple[int, int], str]] = field(default_factory=dict)

    def still_to_take(self, files: Iterable[Seen]) -> list[Seen]:
        """Return the files that were not taken as they are now."""
        return [each for each in files if self._taken.get(each.name, (None, ""))[0] != each.state]

    def take(self, file: Seen) -> None:
        """Take a file that has stopped growing; one that cannot be taken stands in `troubles` then."""
        try:
            sha256 = sha256_of(file.path)
            if not is_kept(self.store, sha256):
                length_s = self._keep(file)
            else:
                length_s = _glance(file.path)[1]
            if _state(file.path) != file.state:
                return
            self._place(file, sha256, length_s)
        except StoreError as error:
            self.troubles[file.name] = str(error)
        except OSError as error:
            self.troubles[file.name] = f"It cannot be read ({error.strerror}); check the folder and its permissions."
        else:
            self.troubles.pop(file.name, None)
            self._taken[file.name] = (file.state, sha256)

    def _keep(self, file: Seen) -> float:
        glance, length_s = _glance(file.path)
        suffix = true_suffix(file.path.name, glance.container) if glance else file.path.suffix.lower()
        video = glance.video if glance else False
        keep_recording(
            self.store, file.path, name=file.path.name, suffix=suffix, duration_s=length_s or None, video=video
        )
        return length_s

    def _place(self, file: Seen, sha256: str, length_s: float) -> None:
        known = self.items.get(sha256)
        if known and known.name != file.name:
            if file.name not in known.also:
                self.items[sha256] = Item(**{**vars(known), "also": (*known.also, file.name)})
            return
        before = self._taken.get(file.name, ((0, 0), ""))[1]
        if before != sha256 and before in self.items and self.items[before].name == file.name:
            del self.items[before]
        tie = named_tie(file.name, open_orders(self.store))
        name, visit_id = str(file.name), tie.visit_id
        place = queue_once(
            self.store, sha256, name=name, who=WHO, visit_id=visit_id, total_s=length_s, again=self.again
        )
        if place.job and not place.over:
            self.jobs[sha256] = place.job.id
        earlier = tuple(old for old, size in earlier_of(self.store, name, sha256) if _begins_with(file.path, size, old))
        self.items[sha256] = Item(name=file.name, sha256=sha256, written_ns=file.written_ns, earlier=earlier)


def _glance(path: Path) -> tuple[Glance | None, float]:
    """A first look, and how long it lasts in seconds; a file that is no recording is kept too, and says so later."""
    try:
        glance = glance_at(path)
    except AudioError:
        return None, 0.0
    return glance, glance.duration_s or 0.0


def _state(path: Path) -> tuple[int, int]:
    told = path.stat()
    return told.st_size, told.st_mtime_ns


def _begins_with(path: Path, size: int, sha256: str) -> bool:
    """Whether the first `size` bytes of a longer file have this digest."""
    if not 0 < size < path.stat().st_size:
        return False
    digest, left = hashlib.sha256(), size
    with path.open("rb") as stream:
        while left and (piece := stream.read(min(left, PIECE))):
            digest.update(piece)
            left -= len(piece)
    return digest.hexdigest() == sha256
