"""What a capture told beside its sound, laid into the walkaround that was heard."""

from typing import Any

from narrate.judge.captured import with_captured
from narrate.records.capture import Captured, Gap, Mark
from narrate.records.walkaround import Walkaround
from narrate.store.capture_marks import marks_of
from narrate.store.captures import capture_of_job
from narrate.store.engine import Store


def with_what_was_told(store: Store, job_id: int, walkaround: Walkaround) -> Walkaround:
    """The walkaround that a job has become with the gaps, commands and answers of its capture; the same without one."""
    capture = capture_of_job(store, job_id)
    if capture is None or not capture.told:
        return walkaround
    told = capture.told["recordings"]
    marks = marks_of(store, capture.key)
    for number, (recording, of_it) in enumerate(zip(walkaround.recordings, told, strict=False)):
        placed = (placed_mark(mark, run, told, number) for run, mark in marks)
        gaps = tuple(Gap.model_validate(gap) for gap in of_it["gaps"])
        captured = Captured(gaps=gaps, marks=tuple(mark for mark in placed if mark))
        if captured.gaps or captured.marks:
            walkaround = with_captured(walkaround, captured, recording=recording.id)
    return walkaround


def placed_mark(mark: Mark, run: int, told: list[Any], number: int) -> Mark | None:
    """A mark with its run's seconds as seconds of recording `number` (from 0); None where it lies in another."""
    found = place_in(told, run, mark.at_s)
    if found is None or found[0] != number:
        return None
    return mark.moved(found[1] - mark.at_s)


def place_in(told: list[Any], run: int, at_s: float) -> tuple[int, float] | None:
    """Which recording (from 0), and where in it, a moment of a run is; None where nothing of the run was kept."""
    places = [(number, place) for number, each in enumerate(told) for place in each["places"] if place["run"] == run]
    if not places:
        return None
    number, place = next((each for each in reversed(places) if each[1]["from_s"] <= at_s), places[0])
    seconds = place["starts_s"] + at_s - place["from_s"]
    return number, min(max(seconds, place["starts_s"]), place["ends_s"])
