"""Helpers: processes that serve one recording after the other, are few, and may end at any moment."""

import os
import queue
import signal
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import live_fakes
import pytest

from narrate.settings import Settings
from narrate.work import live_helper
from narrate.work.live_helper import MOST_WAITING_S, Helper, Helpers
from narrate.work.live_serving import AT_ONCE_S, Beginning, joined

SECOND = bytes(32_000)


class Listening:
    """Takes messages from a helper's thread."""

    def __init__(self) -> None:
        self.told: queue.Queue[dict[str, Any]] = queue.Queue()

    def next(self, kind: str) -> dict[str, Any]:
        """The next message of a kind, within half a minute."""
        while True:
            message = self.told.get(timeout=30)
            if message["type"] == kind:
                return message


@pytest.fixture
def start(tmp_path: Path) -> Iterator[Callable[..., Helper]]:
    helpers: list[Helper] = []

    def make(serve: Callable[..., None] = live_fakes.echo) -> Helper:
        helpers.append(Helper(tmp_path, Settings(), serve=serve))
        return helpers[-1]

    yield make
    for helper in helpers:
        helper.end()
    until(lambda: all(helper.gone for helper in helpers))


def until(true: Callable[[], bool]) -> None:
    """Wait for it, half a minute at the most."""
    end = time.monotonic() + 30
    while not true() and time.monotonic() < end:
        time.sleep(0.02)
    assert true()


def begun(helper: Helper, **how: Any) -> Listening:
    listening = Listening()
    helper.begin(Beginning(settings=Settings(), **how), listening.told.put)
    listening.next("ready")
    return listening


def test_sound_and_requests_go_in_and_messages_come_back(start: Callable[..., Helper]):
    helper = start()
    listening = begun(helper, run=2, at_s=7.0)
    assert listening.next("began")["run"] == 2
    assert helper.feed(SECOND, 7.0)
    assert listening.next("fed") == {"type": "fed", "bytes": len(SECOND), "at_s": 7.0}
    helper.ask({"type": "command", "command": "mark"})
    assert listening.next("asked")["given_command"] == "mark"
    assert helper.pid not in (0, os.getpid())


def test_one_that_is_killed_is_told(start: Callable[..., Helper]):
    """Whoever is served is told, and so is whoever begins with it afterwards."""
    helper = start()
    listening = begun(helper)
    os.kill(helper.pid, signal.SIGKILL)
    assert listening.next("gone") == {"type": "gone"}
    assert helper.gone
    late = Listening()
    helper.begin(Beginning(settings=Settings()), late.told.put)
    late.next("gone")
    helper.feed(SECOND, 0.0)


def test_nothing_of_one_recording_is_told_to_the_next(start: Callable[..., Helper]):
    """Not even what was still under way."""
    helper = start()
    first = begun(helper)
    for second in range(50):
        helper.feed(SECOND, float(second))
    helper.rest()
    second = begun(helper, at_s=100.0)
    helper.feed(SECOND, 100.0)
    assert second.next("fed")["at_s"] == 100.0
    assert all(message["type"] != "gone" for message in first.told.queue)


def test_one_that_hangs_holds_up_nobody(start: Callable[..., Helper], monkeypatch: pytest.MonkeyPatch):
    """Sound that waits is bounded, and after a while it is seen to be stuck."""
    monkeypatch.setattr(live_helper, "STUCK_S", 0.3)
    helper = start(live_fakes.deaf)
    until(lambda: helper.warm)
    listening = Listening()
    helper.begin(Beginning(settings=Settings()), listening.told.put)
    began = time.monotonic()
    taken = [helper.feed(SECOND, float(second)) for second in range(200)]
    assert time.monotonic() - began < 1.0
    assert MOST_WAITING_S <= sum(taken) <= MOST_WAITING_S + 1
    until(helper.stuck)
    helper.end()
    listening.next("gone")


def test_there_are_no_more_than_processors(start: Callable[..., Helper]):
    """One stays ready for the next; those that ended make room."""
    helpers = Helpers(start, most=2)
    helpers.warm_up()
    helpers.warm_up()
    first, second = helpers.take(), helpers.take()
    assert first
    assert second
    assert helpers.take() is None
    helpers.give_back(first)
    assert helpers.take() is first
    os.kill(second.pid, signal.SIGKILL)
    until(lambda: second.gone)
    third = helpers.take()
    assert third not in (None, second)
    helpers.give_back(first)
    helpers.give_back(third)
    until(lambda: third.gone)
    assert not first.gone
    helpers.close()
    until(lambda: first.gone)
    assert helpers.take() is None


def test_sound_that_waited_is_taken_in_one_piece():
    """As far as it is of one recording and without a hole, and no more than is heard at once."""
    items: queue.SimpleQueue[Any] = queue.SimpleQueue()
    for second in (0.0, 1.0, 2.0, 9.0):
        items.put((1, "feed", (SECOND, second)))
    items.put((1, "ask", {"type": "undo"}))
    for second in range(15):
        items.put((2, "feed", (SECOND, float(second))))
    taken = joined(items)
    pieces = [next(taken) for _ in range(5)]
    items.put(None)
    assert list(taken) == []
    whats = [
        (number, what, len(given[0]) // len(SECOND) if what == "feed" else 0) for (number, what, given), _ in pieces
    ]
    most = int(AT_ONCE_S)
    assert whats == [(1, "feed", 3), (1, "feed", 1), (1, "ask", 0), (2, "feed", most), (2, "feed", 15 - most)]
    assert [waits_s for _, waits_s in pieces] == [19.0, 16.0, 15.0, 15.0, 5.0]
