"""Stand-ins for hearing and finding: quick, without a model, and telling what they were asked."""

import hashlib
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from click.testing import Result

from narrate.errors import AudioError
from narrate.records.recording import Recording, Word
from narrate.records.walkaround import (
    Component,
    Condition,
    Confidence,
    Evidence,
    Finding,
    MadeBy,
    Recommendation,
    Walkaround,
)

Run = Callable[..., Result]
"""Runs a command line."""
BAD = b"bad"
"""The content of a file that cannot be used."""


def fake_recording(path: Path) -> Recording:
    """A recording whose words are the file's content."""
    content = path.read_bytes()
    if content == BAD:
        message = f"{path.name} is not a recording that can be read; save it again."
        raise AudioError(message)
    words = content.decode().split()
    return Recording(
        name=path.name,
        sha256=hashlib.sha256(content).hexdigest(),
        duration_s=float(len(words)),
        words=tuple(Word(text=w, start_s=float(n), end_s=n + 0.5, probability=0.9) for n, w in enumerate(words)),
        notices=() if words else ("No speech was heard.",),
        minable=bool(words),
    )


def fake_walkaround(recordings: Sequence[Recording]) -> Walkaround:
    """A walkaround with one finding for each recording that has words."""
    findings = tuple(_finding(number, recording) for number, recording in enumerate(recordings, 1) if recording.words)
    return Walkaround(
        made_by=MadeBy(program="test", lexicon="sha256:0", settings="sha256:0"),
        recordings=tuple(recordings),
        findings=findings,
        review_order=tuple(finding.id for finding in findings),
    )


class FakeProcess:
    """Takes the place of `process_recordings`; keeps the names it was called with and what else it was given."""

    def __init__(self, *, wait_s: float = 0.0, before: Callable[[Path], None] | None = None) -> None:
        self.names: list[tuple[str, ...]] = []
        self.given: list[dict[str, Any]] = []
        self._wait_s = wait_s
        self._before = before

    def __call__(self, paths: Sequence[Path], **given: Any) -> Walkaround:
        self.names.append(tuple(path.name for path in paths))
        self.given.append(given)
        progress = given.get("progress")
        for path in paths:
            if self._before:
                self._before(path)
            if progress:
                progress(1.0, 2.0)
            time.sleep(self._wait_s)
        return fake_walkaround([fake_recording(path) for path in paths])


def _finding(number: int, recording: Recording) -> Finding:
    said = " ".join(word.text for word in recording.words)
    last = len(recording.words) - 1
    return Finding(
        id=f"f{number}",
        component=Component(id="brake_pad", name="brake pad", system="brakes", heard="pads"),
        locations=("front left", "front right"),
        status="fault",
        conditions=(Condition(id="worn", name="worn", said="worn"),),
        recommendation=Recommendation(action="replace"),
        evidence=(
            Evidence(recording=recording.id, first_word=0, last_word=last, start_s=0.0, end_s=last + 0.5, said=said),
        ),
        confidence=Confidence(overall=0.9, component=0.9, location=0.9, condition=0.9, recommendation=0.9),
    )
