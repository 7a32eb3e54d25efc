"""Live words beside a recording: handed on, begun anew where a helper ends, and given up without harm."""

import os
import queue
import signal
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import live_fakes
import pytest
from spoken_source import SpokenSource, spoken

from narrate.records.capture import Mark
from narrate.records.order import Order
from narrate.settings import Settings
from narrate.store.engine import Store, open_store
from narrate.work.listening import Listening
from narrate.work.listening_live import MOST_STARTS, LiveBeside
from narrate.work.live_helper import Helper

SECOND = bytes(32_000)


class Beside:
    """Live words with fake helpers, and what they told."""

    def __init__(self, data: Path, serve: Any = live_fakes.echo, **more: Any) -> None:
        self.told: queue.Queue[dict[str, Any]] = queue.Queue()
        self.marks: list[Mark] = []
        self.helpers: list[Helper] = []

        def make(folder: Path, settings: Settings) -> Helper:
            self.helpers.append(Helper(folder, settings, serve=serve))
            return self.helpers[-1]

        self.live = LiveBeside(data, Settings(), tell=self.told.put, mark=self.marks.append, make=make, **more)

    def next(self, kind: str) -> dict[str, Any]:
        while True:
            message = self.told.get(timeout=30)
            if message["type"] == kind:
                return message


@pytest.fixture
def beside(tmp_path: Path) -> Iterator[Any]:
    made: list[Beside] = []

    def make(serve: Any = live_fakes.echo, **more: Any) -> Beside:
        made.append(Beside(tmp_path, serve, **more))
        return made[-1]

    yield make
    for each in made:
        each.live.end()
        end = time.monotonic() + 30
        while not all(helper.gone for helper in each.helpers) and time.monotonic() < end:
            time.sleep(0.02)
        assert all(helper.gone for helper in each.helpers)


def test_sound_is_handed_on_with_the_order(beside: Any) -> None:
    words = beside(order=Order(number="4711"), read_back="each")
    begun = words.next("began")
    assert (begun["order"], begun["mode"], begun["at_s"], begun["run"]) == ("4711", "each", 0.0, 0)
    words.live.feed(SECOND, 3.0)
    assert words.next("fed") == {"type": "fed", "bytes": 32_000, "at_s": 3.0}


def test_a_killed_helper_is_followed_by_one_that_knows_what_was(beside: Any) -> None:
    words = beside()
    first = words.next("began")["pid"]
    words.live.feed(SECOND, 7.0)
    words.next("fed")
    words.helpers[0].ask({"type": "said", "text": "kept"})
    words.next("asked")
    os.kill(first, signal.SIGKILL)
    again = words.next("began")
    assert again["pid"] != first
    assert (again["at_s"], again["so_far"]) == (7.0, [{"type": "said", "text": "kept"}])


def test_helpers_that_end_at_once_are_given_up(beside: Any) -> None:
    words = beside(live_fakes.broken)
    assert words.next("unavailable") == {"type": "unavailable"}
    assert len(words.helpers) == MOST_STARTS
    words.live.feed(SECOND, 0.0)


def test_commands_and_answers_are_kept(beside: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    words = beside()
    words.next("began")
    told = {"id": "m1", "at_s": 4.0, "end_s": 4.8, "said": "mark this", "undone": False, "run": 0, "about": None}
    words.live._took({"type": "command", "command": "mark", **told})
    answer = {"id": "m2", "what": "answer", "at_s": 9.0, "field": "location", "value": "left", "run": 0}
    words.live._took({"type": "answered", "text": "left front", "mark": answer})
    assert words.marks == [
        Mark(id="m1", what="mark", at_s=4.0, end_s=4.8, said="mark this"),
        Mark(id="m2", what="answer", at_s=9.0, field="location", value="left"),
    ]
    assert words.next("command")["command"] == "mark"
    assert words.next("answered")["text"] == "left front"


@pytest.mark.model
def test_a_spoken_walk_round_is_heard_while_it_is_recorded(tmp_path: Path) -> None:
    """The real helper on a sample: words and a finding come, and the recording is whole all the same."""
    store: Store = open_store(tmp_path / "data")
    told: list[dict[str, Any]] = []
    until = time.monotonic() + 120

    def lines() -> list[str]:
        return [row["line"] for message in told if message["type"] == "findings" for row in message["findings"]]

    def found() -> bool:
        return any("brake pad" in line for line in lines()) or time.monotonic() > until

    source = SpokenSource(spoken(24), waits=found)
    recording = Listening(store=store, source=source, who="Ana", silence_s=1e9, tell=lambda _: None)
    live = LiveBeside(store.folder, Settings(), tell=told.append, mark=recording.mark)

    def feed(block: bytes, at_s: float) -> None:
        live.feed(block, at_s)
        if at_s > 25:
            time.sleep(0.1)

    recording.feed = feed
    done = recording.until(found)
    live.end()
    assert done.capture
    assert done.capture.state == "queued"
    assert any("brake pad" in line for line in lines()), lines()
    words = " ".join(message["text"] for message in told if message["type"] == "words" and message["final"])
    assert "brake pads" in words.casefold()
    store.close()
