"""A capture at its end: its pieces joined, kept as a recording and put in line to be heard.

Whatever ends this at any moment leaves either all pieces and no job, or a job whose recordings are kept.
"""

import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from threading import Lock
from typing import Any

from narrate.errors import AudioError, UsageError
from narrate.hear.joining import Joined, Stretch, join
from narrate.hear.pieces import put_together
from narrate.records.capture import Gap
from narrate.store.capture_ends import JOINING, become_job, drop_pieces
from narrate.store.captures import Capture, Run, folder_of, piece_file, read_capture
from narrate.store.engine import Store
from narrate.store.recordings import keep_recording

CLOSED = "The page was closed or loaded anew, and nothing was recorded."
STOOD = "The phone gave no sound."
LOST = "These seconds never came from the phone."
LEAST_GAP_S = 0.3
"""Less than this between two recorders is no gap that anyone could have spoken in."""

COMING_S = 20
"""A piece came since so long: somebody is recording at this moment, or a phone is sending."""

_joining: set[str] = set()
_lock = Lock()


class LackingError(UsageError):
    """Pieces are not here yet: (run, number) each."""

    def __init__(self, missing: list[tuple[int, int]]) -> None:
        super().__init__("Some seconds of this recording are not here yet; they are still on the phone.")
        self.missing = missing


@dataclass(frozen=True)
class _Part:
    """Pieces of a run without a hole between them, as a file; `after_hole` where some before them never came."""

    path: Path
    run: Run
    first: int
    last: int

    @property
    def after_hole(self) -> bool:
        return self.first > 0

    @property
    def ends_s(self) -> float:
        """Seconds of the run, by the recorder's clock."""
        return self.run.pieces[self.last].to_s


def missing_pieces(capture: Capture, expected: Mapping[int, int]) -> list[tuple[int, int]]:
    """Return what is not here of `expected`: how many pieces each run has."""
    here = {run.run: run.pieces for run in capture.runs}
    return [(run, n) for run, count in sorted(expected.items()) for n in range(count) if n not in here.get(run, {})]


def is_coming(store: Store, capture: Capture) -> bool:
    """Whether pieces of a capture that is not over come in at this moment."""
    newest = max((run for run in capture.runs if run.pieces), key=lambda run: run.run, default=None)
    if newest is None or capture.job_id is not None:
        return False
    try:
        came_at = piece_file(store, capture.key, newest.run, max(newest.pieces)).stat().st_mtime
    except FileNotFoundError:
        return False
    return time.time() - came_at < COMING_S


def is_joining(key: str) -> bool:
    """Whether a capture is just being joined in this process."""
    return key in _joining


def end_capture(store: Store, key: str, *, who: str, expected: Mapping[int, int] | None = None) -> Capture:
    """Join a capture's pieces and put it in line to be heard; one that is in line or being joined is left as it is.

    expected: how many pieces each run has; None takes what has come, holes and all. Raises LackingError while one is
    missing, AudioError where nothing in it can be heard, StoreError where it cannot be kept.
    """
    with _alone(key) as alone:
        while alone:
            capture = read_capture(store, key)
            if capture.job_id is not None:
                drop_pieces(store, key, but=[run for run, *_ in capture.told["kept"]] if capture.told else ())
                break
            missing = missing_pieces(capture, expected or {})
            if missing:
                raise LackingError(missing)
            _end(store, capture, who)
    return read_capture(store, key)


@contextmanager
def _alone(key: str) -> Iterator[bool]:
    """Give False where somebody else is joining the same capture."""
    with _lock:
        mine = key not in _joining
        _joining.add(key)
    try:
        yield mine
    finally:
        if mine:
            _joining.discard(key)


def _end(store: Store, capture: Capture, who: str) -> None:
    """Join what is here; where more comes meanwhile nothing has happened."""
    here = folder_of(store, capture.key)
    here.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix=JOINING, dir=here) as place:
        folder = Path(place)
        parts = {part.path: part for part in _parts(store, capture, folder)}
        if not parts:
            message = "Nothing of this recording has come; record it again."
            raise AudioError(message)
        joined = join([path for path in parts if path.stat().st_size], folder)
        told = {"recordings": _told(joined, parts), "kept": _left_out(joined, parts)}
        name = f"spoken {capture.started_at[:16].replace('T', ' ').replace(':', '.')}"
        recordings = [_keep(store, each, name, number) for number, each in enumerate(joined, 1)]
    become_job(
        store,
        capture.key,
        recordings,
        name=name,
        total_s=sum(each.duration_s for each in joined),
        pieces=sum(len(run.pieces) for run in capture.runs),
        told=told,
        who=capture.added_by or who,
    )


def _parts(store: Store, capture: Capture, folder: Path) -> Iterator[_Part]:
    for run in capture.runs:
        for first, last in run.spans:
            path = folder / f"run-{run.run}-{first}"
            pieces = [piece_file(store, capture.key, run.run, number) for number in range(first, last + 1)]
            headed = piece_file(store, capture.key, run.run, 0)
            if first and not headed.is_file():
                path.touch()
            else:
                put_together(pieces, path, first=headed if first else None)
            yield _Part(path, run, first, last)


def _left_out(joined: Sequence[Joined], parts: Mapping[Path, _Part]) -> list[tuple[int, int, int]]:
    """Run, first and last piece of what could not be joined: it is kept as it came."""
    used = {stretch.path for each in joined for stretch in each.stretches}
    # A recorder that was stopped at once has given no more than its header.
    return [(p.run.run, p.first, p.last) for p in parts.values() if p.path not in used and (p.first or p.last)]


def _told(joined: Sequence[Joined], parts: Mapping[Path, _Part]) -> list[dict[str, Any]]:
    """For each recording where runs lie in it, and what is missing between them."""
    told: list[dict[str, Any]] = []
    before: tuple[Run, float] | None = None
    for each in joined:
        places, gaps = [], []
        for stretch in each.stretches:
            part = parts[stretch.path]
            from_s = stretch.from_s + _begins_s(part, each.stretches)
            places.append(
                {"run": part.run.run, "from_s": from_s, "starts_s": stretch.starts_s, "ends_s": stretch.ends_s}
            )
            gap = _gap(before, part, stretch, from_s)
            if gap is not None:
                gaps.append(gap.model_dump(mode="json"))
            before = part.run, from_s + stretch.ends_s - stretch.starts_s
        told.append({"places": places, "gaps": gaps})
    return told


def _begins_s(part: _Part, stretches: Sequence[Stretch]) -> float:
    """Where in its run a part begins; after a hole what cannot be decoded is left out at its beginning."""
    if not part.after_hole:
        return 0.0
    last = [stretch for stretch in stretches if stretch.path == part.path][-1]
    return max(0.0, part.ends_s - (last.from_s + last.ends_s - last.starts_s))


def _gap(before: tuple[Run, float] | None, part: _Part, stretch: Stretch, from_s: float) -> Gap | None:
    missing_s: float | None
    if before is None:
        missing_s, why = (from_s if part.after_hole else 0.0), LOST
    elif before[0].run == part.run.run:
        missing_s, why = from_s - before[1], LOST if part.after_hole and not stretch.from_s else STOOD
    else:
        between_s = _between_s(before[0], part.run)
        missing_s, why = None if between_s is None else between_s - before[1] + from_s, CLOSED
    if missing_s is not None and missing_s < LEAST_GAP_S:
        return None
    return Gap(at_s=stretch.starts_s, missing_s=None if missing_s is None else round(missing_s, 1), why=why)


def _between_s(before: Run, after: Run) -> float | None:
    """Seconds between the starts of two recorders, by the phone's clock; None where it cannot be right."""
    try:
        began, again = (datetime.fromisoformat(run.started_at) for run in (before, after))
        return max(0.0, (again - began).total_seconds()) or None
    except (ValueError, TypeError):
        return None


def _keep(store: Store, joined: Joined, name: str, number: int) -> str:
    told = name if number == 1 else f"{name}, {number}"
    return keep_recording(
        store, joined.path, name=f"{told}{joined.suffix}", suffix=joined.suffix, duration_s=joined.duration_s
    )
