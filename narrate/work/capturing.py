"""A capture at its end: its pieces joined, kept as a recording and put in line; later, what it told beside its sound.

Whatever ends this at any moment leaves either all pieces and no job, or a job whose recordings are kept.
"""

import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from narrate.errors import AudioError, UsageError
from narrate.hear.joining import Joined, join, put_together
from narrate.judge.captured import with_captured
from narrate.records.capture import Captured, Gap, Mark
from narrate.records.walkaround import Walkaround
from narrate.store.capture_marks import marks_of
from narrate.store.captures import Capture, Run, become_job, capture_of_job, drop_pieces, piece_file, read_capture
from narrate.store.engine import Store
from narrate.store.recordings import keep_recording

CLOSED = "Nothing was recorded: the page was closed or loaded anew."
LOST = "These seconds never came from the phone."
LEAST_GAP_S = 0.2
"""Less than this between two recorders is no gap that anyone could have spoken in."""


class LackingError(UsageError):
    """Pieces are not here yet: (run, number) each."""

    def __init__(self, missing: list[tuple[int, int]]) -> None:
        super().__init__("Some seconds of this recording are not here yet; they are still on the phone.")
        self.missing = missing


@dataclass(frozen=True)
class _Part:
    """A stretch of a run without a hole, as a file. Seconds of the run."""

    path: Path
    run: Run
    from_s: float
    to_s: float


def missing_pieces(capture: Capture, expected: Mapping[int, int]) -> list[tuple[int, int]]:
    """Return what is not here of `expected`: how many pieces each run has."""
    here = {run.run: run.pieces for run in capture.runs}
    return [(run, n) for run, count in sorted(expected.items()) for n in range(count) if n not in here.get(run, {})]


def end_capture(store: Store, key: str, *, who: str, expected: Mapping[int, int] | None = None) -> Capture:
    """Join a capture's pieces and put it in line to be heard; one that is in line already is left as it is.

    expected: how many pieces each run has; None takes what has come, holes and all. Raises LackingError while one is
    missing, AudioError where nothing in it can be heard, StoreError where it cannot be kept.
    """
    capture = read_capture(store, key)
    if capture.job_id is not None:
        drop_pieces(store, key)
        return capture
    missing = missing_pieces(capture, expected or {})
    if missing:
        raise LackingError(missing)
    with tempfile.TemporaryDirectory(prefix="joining-", dir=store.folder / "incoming") as place:
        folder = Path(place)
        parts = _parts(store, capture, folder)
        if not parts:
            message = "Nothing of this recording has come; record it again."
            raise AudioError(message)
        joined = join([part.path for part in parts], folder)
        by_path = {part.path: part for part in parts}
        told = [_told(each, by_path) for each in joined]
        name = f"spoken {capture.started_at[:16].replace('T', ' ').replace(':', '.')}"
        recordings = [_keep(store, each, name, number) for number, each in enumerate(joined, 1)]
    total_s = sum(each.duration_s for each in joined)
    become_job(store, key, recordings, name=name, total_s=total_s, told=told, who=capture.added_by or who)
    if sum(len(each["places"]) for each in told) == len(parts):
        # What could not be joined stays where it is.
        drop_pieces(store, key)
    return read_capture(store, key)


def with_what_was_told(store: Store, job_id: int, walkaround: Walkaround) -> Walkaround:
    """The walkaround that a job has become with what its capture told beside the sound; the same where it has none."""
    capture = capture_of_job(store, job_id)
    if capture is None or not capture.told:
        return walkaround
    marks = marks_of(store, capture.key)
    for number, (recording, told) in enumerate(zip(walkaround.recordings, capture.told, strict=False)):
        placed = (placed_mark(mark, run, capture.told, number) for run, mark in marks)
        captured = Captured(
            gaps=tuple(Gap.model_validate(gap) for gap in told["gaps"]), marks=tuple(m for m in placed if m)
        )
        if captured.gaps or captured.marks:
            walkaround = with_captured(walkaround, captured, recording=recording.id)
    return walkaround


def placed_mark(mark: Mark, run: int, told: list[Any], number: int) -> Mark | None:
    """A mark with its run's seconds as seconds of recording `number` (from 0); None where it lies in another."""
    found = place_in(told, run, mark.at_s)
    if found is None or found[0] != number:
        return None
    shift_s = found[1] - mark.at_s
    moved = {
        name: value + shift_s
        for name in ("at_s", "end_s", "about_start_s", "about_end_s")
        if (value := getattr(mark, name)) is not None
    }
    return mark.model_copy(update=moved)


def place_in(told: list[Any], run: int, at_s: float) -> tuple[int, float] | None:
    """Which recording (from 0), and where in it, a moment of a run is; None where nothing of the run was kept."""
    places = [(number, place) for number, each in enumerate(told) for place in each["places"] if place["run"] == run]
    if not places:
        return None
    number, place = next((each for each in reversed(places) if each[1]["from_s"] <= at_s), places[0])
    seconds = place["starts_s"] + at_s - place["from_s"]
    return number, min(max(seconds, place["starts_s"]), place["ends_s"])


def _parts(store: Store, capture: Capture, folder: Path) -> list[_Part]:
    parts = []
    for run in capture.runs:
        for first, last in run.spans:
            path = folder / f"run-{run.run}-{first}"
            pieces = [piece_file(store, capture.key, run.run, number) for number in range(first, last + 1)]
            headed = piece_file(store, capture.key, run.run, 0)
            if first and not headed.is_file():
                continue
            put_together(pieces, path, first=headed if first else None)
            parts.append(_Part(path, run, run.pieces[first].from_s, run.pieces[last].to_s))
    return parts


def _told(joined: Joined, parts: Mapping[Path, _Part]) -> dict[str, Any]:
    """Where each part lies in a joined file, and what is missing between them."""
    places, gaps = [], []
    before: _Part | None = None
    for stretch in joined.stretches:
        part = parts[stretch.path]
        seconds = {"starts_s": stretch.starts_s, "ends_s": stretch.ends_s}
        places.append({"run": part.run.run, "from_s": part.from_s, **seconds})
        if before is not None:
            lost = part.run.run == before.run.run
            missing_s = part.from_s - before.to_s if lost else _between_s(before, part)
            if missing_s is None or missing_s > LEAST_GAP_S:
                gap = Gap(at_s=stretch.starts_s, missing_s=missing_s, why=LOST if lost else CLOSED)
                gaps.append(gap.model_dump(mode="json"))
        before = part
    return {"places": places, "gaps": gaps}


def _between_s(before: _Part, after: _Part) -> float | None:
    """Seconds between the end of one recorder and the start of the next, by the phone's clock."""
    try:
        began = [datetime.fromisoformat(part.run.started_at) for part in (before, after)]
        between_s = (began[1] - began[0]).total_seconds() - before.to_s
    except (ValueError, TypeError):
        return None
    return max(0.0, round(between_s, 2))


def _keep(store: Store, joined: Joined, name: str, number: int) -> str:
    told = name if number == 1 else f"{name}, {number}"
    return keep_recording(
        store, joined.path, name=f"{told}{joined.suffix}", suffix=joined.suffix, duration_s=joined.duration_s
    )
