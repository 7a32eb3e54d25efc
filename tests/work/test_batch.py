"""The batch itself: failures of every kind, and progress by seconds of audio."""

import wave
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest

from narrate.errors import AudioError, ModelError
from narrate.hear.digests import sha256_of
from narrate.records.recording import Recording
from narrate.records.walkaround import MadeBy, Walkaround
from narrate.work.batch import Outcome, Work, plan, run_batch
from narrate.work.lengths import Meter, stated_length_s

Progress = Callable[[float, float], None]


def sound(path: Path, length_s: int) -> Path:
    """A silent recording; no two are the same length here."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, 8000, 0, "NONE", ""))
        file.writeframes(bytes(2 * 8000 * length_s))
    return path


def made(paths: Sequence[Path], *, progress: Progress | None = None) -> Walkaround:
    """A walkaround without findings, heard in two steps."""
    for path in paths:
        length_s = stated_length_s(path)
        if progress:
            progress(length_s / 2, length_s)
            progress(length_s, length_s)
    recordings = tuple(Recording(name=path.name, sha256=sha256_of(path)) for path in paths)
    return Walkaround(made_by=MadeBy(program="p", lexicon="l", settings="s"), recordings=recordings)


def failing_with(error: BaseException) -> Callable[..., Walkaround]:
    def process(paths: Sequence[Path], *, progress: Progress | None = None) -> Walkaround:
        if paths[0].stem == "a":
            raise error
        return made(paths)

    return process


def do(works: Sequence[Work], to: Path, process: Callable[..., Walkaround] = made) -> list[Outcome]:
    return list(run_batch(works, to=to, process=process, key="".join))


@pytest.mark.parametrize(
    ("error", "why"),
    [
        (AudioError("It is empty; record it again."), "It is empty; record it again."),
        (OSError(28, "No space left on device"), "No space left on device"),
        (ZeroDivisionError("division by zero"), "please report"),
    ],
)
def test_a_failure_stops_nothing(error: Exception, why: str, tmp_path: Path) -> None:
    """A bad file, a full disk and a fault of narrate's own are told, and the next recording is done."""
    works = plan([sound(tmp_path / "a.wav", 1), sound(tmp_path / "b.wav", 2)])
    first, second = do(works, tmp_path / "out", failing_with(error))
    assert ("failed", "done") == (first.state, second.state)
    assert why in first.why
    assert ["b"] == [path.name for path in (tmp_path / "out").iterdir()]


def test_without_a_model_nothing_is_tried(tmp_path: Path) -> None:
    """A missing model would fail every recording alike, so it ends the batch."""
    works = plan([sound(tmp_path / "a.wav", 1), sound(tmp_path / "b.wav", 2)])
    with pytest.raises(ModelError, match="install it"):
        do(works, tmp_path / "out", failing_with(ModelError("No model; install it.")))
    assert not (tmp_path / "out").exists()


def test_a_file_that_is_gone_is_a_failure_of_its_own(tmp_path: Path) -> None:
    """A recording removed since the folder was read is named with why."""
    (outcome,) = do(plan([tmp_path / "gone.wav"]), tmp_path / "out")
    assert "failed" == outcome.state
    assert "gone.wav cannot be read" in outcome.why


def test_a_folder_of_somebody_else_is_left_alone(tmp_path: Path) -> None:
    """A folder that happens to have the name keeps what it holds."""
    (tmp_path / "out/a").mkdir(parents=True)
    (tmp_path / "out/a/invoice.txt").write_text("mine")
    path = sound(tmp_path / "a.wav", 1)
    (outcome,) = do(plan([path]), tmp_path / "out")
    assert tmp_path / "out" / f"a-{sha256_of(path)[:8]}" == outcome.folder
    assert ["invoice.txt"] == [each.name for each in (tmp_path / "out/a").iterdir()]


def test_progress_counts_the_seconds_of_all_recordings(tmp_path: Path) -> None:
    """It goes up from nothing to all, over works of one recording and of several."""
    works = [
        Work(name="one", paths=(sound(tmp_path / "a.wav", 4),)),
        Work(name="two", paths=(sound(tmp_path / "b.wav", 2), sound(tmp_path / "c.wav", 6))),
    ]
    seen: list[tuple[str, float, float]] = []
    batch = run_batch(
        works,
        to=tmp_path / "out",
        process=made,
        key="".join,
        progress=lambda work, done_s, total_s: seen.append((work.name, done_s, total_s)),
    )
    assert 2 == len(list(batch))
    assert [0.0, 2.0, 4.0, 4.0, 5.0, 6.0, 9.0, 12.0] == [done_s for _, done_s, _ in seen]
    assert {12.0} == {total_s for _, _, total_s in seen}


def test_what_is_done_already_leaves_the_total(tmp_path: Path) -> None:
    """The time to come is that of the work to come."""
    meter = Meter(10.0)
    meter.skip(4.0)
    meter.step(3.0, 6.0)
    assert (3.0, 6.0) == meter.figures()


def test_what_is_no_recording_has_no_length(tmp_path: Path) -> None:
    """A bad file is told at its turn, not while lengths are asked."""
    (tmp_path / "bad.wav").write_bytes(b"nothing")
    assert 0.0 == stated_length_s(tmp_path / "bad.wav")
    assert 3.0 == stated_length_s(sound(tmp_path / "a.wav", 3))
