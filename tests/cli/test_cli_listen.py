"""`narrate listen` as a command: what it prints, what it keeps, and how it ends."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from cli_fakes import Run

from narrate.cli import listen
from narrate.cli.listen_screen import NO_LIVE, Screen
from narrate.errors import AudioError
from narrate.hear.audio import RATE, decode
from narrate.records.order import Order
from narrate.settings import project_folder
from narrate.store.captures import captures_with
from narrate.store.engine import Store, open_store
from narrate.store.jobs import list_jobs
from narrate.store.orders import add_order


class Voice:
    """A microphone that gives the beginning of a sample recording, as fast as it is taken."""

    name = "Test microphone"

    def __init__(self, seconds: float, *, loud: float = 1.0) -> None:
        path = Path(project_folder("sample_audio")) / "compact_brakes_tires.ogg"
        sound = decode(path, min_duration_s=0, max_duration_s=600).samples[3 * RATE :][: int(seconds * RATE)]
        self.samples = np.rint(sound * loud * 32767).astype("<i2").tobytes()

    def blocks(self, stop: Callable[[], bool]) -> Iterator[bytes]:
        for at in range(0, len(self.samples), RATE // 5):
            if stop():
                return
            yield self.samples[at : at + RATE // 5]
        message = "Test microphone gives no more sound."
        raise AudioError(message)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = open_store(tmp_path / "data")
    yield opened
    opened.close()


@pytest.fixture
def voice(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Have a microphone that gives so many seconds."""

    def give(seconds: float, **more: Any) -> None:
        monkeypatch.setattr(listen, "open_microphone", lambda device: Voice(seconds, **more))

    return give


def test_a_recording_is_kept_and_waits(run: Run, store: Store, voice: Callable[..., None]) -> None:
    visit = add_order(store, Order(number="B-17"), who="Ana")
    voice(3.2)
    done = run("listen", "--no-live", "--order", "b-17", "--by", "Dana")
    assert done.exit_code == 0, done.stderr
    assert "Recording from Test microphone; Ctrl-C ends it." in done.stderr
    assert "Test microphone gives no more sound." in done.stderr
    (job,) = list_jobs(store)
    assert f"Recorded 0:03; it waits to be heard as job {job.id}." in done.stderr
    assert (job.visit_id, job.added_by, round(job.total_s or 0, 1)) == (visit, "Dana", 3.2)
    # Recording begins and ends with a sound.
    assert done.stderr.count("\a") == 2


def test_an_order_there_is_not_is_told_before_anything_is_recorded(
    run: Run, store: Store, voice: Callable[..., None]
) -> None:
    add_order(store, Order(number="B-17"), who="Ana")
    voice(3)
    done = run("listen", "--no-live", "--order", "17")
    assert (done.exit_code, "There is no order '17' in the store" in done.stderr) == (2, True)
    assert captures_with(store) == ()


def test_no_sound_at_all_is_a_failure(run: Run, voice: Callable[..., None]) -> None:
    voice(0)
    done = run("listen", "--no-live")
    assert done.exit_code == 1
    assert "gives no more sound" in done.stderr
    assert "Nothing was recorded." in done.stderr


@pytest.mark.parametrize(("loud", "code", "says"), [(1.0, 0, "Your voice is clear"), (0.01, 1, "very faint")])
def test_the_check_keeps_nothing(
    run: Run, store: Store, voice: Callable[..., None], loud: float, code: int, says: str
) -> None:
    voice(6, loud=loud)
    done = run("listen", "--check")
    assert (done.exit_code, says in done.stdout) == (code, True)
    assert captures_with(store) == ()


def test_ctrl_c_ends_it_like_anything_else(run: Run, store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    import os
    import signal

    class Interrupted(Voice):
        def blocks(self, stop: Callable[[], bool]) -> Iterator[bytes]:
            for number, block in enumerate(super().blocks(stop)):
                if number == 15:
                    os.kill(os.getpid(), signal.SIGINT)
                yield block

    monkeypatch.setattr(listen, "open_microphone", lambda device: Interrupted(6))
    done = run("listen", "--no-live")
    assert done.exit_code == 0, done.stderr
    (job,) = list_jobs(store)
    assert job.total_s == pytest.approx(1.6, abs=0.15)


def test_a_second_ctrl_c_ends_it_at_once_and_says_where_to_go_on(
    run: Run, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    import os
    import signal

    class Interrupted(Voice):
        def blocks(self, stop: Callable[[], bool]) -> Iterator[bytes]:
            for number, block in enumerate(super().blocks(lambda: False)):
                if number in (25, 26):
                    os.kill(os.getpid(), signal.SIGINT)
                yield block

    monkeypatch.setattr(listen, "open_microphone", lambda device: Interrupted(6))
    done = run("listen", "--no-live")
    assert done.exit_code == 130
    assert "What was recorded is kept: finish it on the page" in done.stderr
    (left,) = captures_with(store)
    assert left.safe_s >= 2


def shown(capsys: pytest.CaptureFixture[str], *messages: dict[str, Any]) -> tuple[Screen, list[str]]:
    screen = Screen()
    for message in messages:
        screen.show(message)
    screen.close()
    return screen, capsys.readouterr().out.splitlines()


def row(id_: str, line: str, *, taken_back: bool = False) -> dict[str, Any]:
    return {"id": id_, "line": line, "status": "fault", "taken_back": taken_back}


def test_the_screen_shows_what_is_new(capsys: pytest.CaptureFixture[str]) -> None:
    words = {"type": "words", "phrase": 1, "start_s": 61.0, "end_s": 62.0}
    _, lines = shown(
        capsys,
        {"type": "safe", "s": 1.0},
        words | {"text": "front brake", "final": False},
        words | {"text": "front brake pads are worn", "final": True},
        {"type": "findings", "findings": [row("f1", "front, brake pads, worn")], "concerns_open": []},
        {"type": "findings", "findings": [row("f1", "front, brake pads, worn"), row("f2", "tire, cut")]},
        {"type": "findings", "findings": [row("f1", "left front, brake pads, worn"), row("f2", "x", taken_back=True)]},
        {"type": "question", "finding": "f1", "text": "left or right?", "answers": []},
        {"type": "say", "text": "left or right?", "why": "question"},
        {"type": "say", "text": "nothing is left", "why": "left"},
        {"type": "answered", "text": "left front, brake pads"},
        {"type": "unavailable"},
    )
    assert lines == [
        " 1:01  front brake pads are worn",
        "      so far: front, brake pads, worn",
        "      so far: tire, cut",
        "      no more: tire, cut",
        "      so far: left front, brake pads, worn",
        "      “left or right?”",
        "      “nothing is left”",
        "      so far: left front, brake pads",
        f"      {NO_LIVE}",
    ]


def test_what_is_not_safe_is_told_once(capsys: pytest.CaptureFixture[str]) -> None:
    waiting = {"type": "waiting", "why": "The disk is full."}
    _, lines = shown(capsys, waiting, waiting, {"type": "safe", "s": 3.0}, waiting)
    assert lines == ["      Not safe yet: The disk is full."] * 2


def test_the_spoken_end_ends_it(capsys: pytest.CaptureFixture[str]) -> None:
    screen, lines = shown(capsys, {"type": "command", "command": "mark", "about": None})
    assert not screen.done_was_said
    screen, lines = shown(capsys, {"type": "command", "command": "done", "about": None})
    assert (screen.done_was_said, lines) == (True, ["      ended"])
