"""The connection for live words: what a phone sends reaches a helper, and comes back; what ends is begun anew."""

import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import live_echo
import numpy as np
import pytest
from starlette.testclient import TestClient
from starlette.websockets import WebSocketDisconnect

from narrate.hear.audio import RATE, decode
from narrate.hear.weights import list_models
from narrate.records.order import Order
from narrate.review import live_connection
from narrate.review.app import make_app
from narrate.review.desk import make_desk
from narrate.review.live_connection import ALL_BUSY, ENDED, GIVEN_UP, MOST_BYTES, MOST_STARTS
from narrate.review.live_desk import KEPT_TALKS, LiveDesk
from narrate.settings import Settings, project_folder
from narrate.store.engine import Store, open_store
from narrate.store.orders import add_order
from narrate.store.people import add_person
from narrate.work.live_helper import Helper, Helpers

KEY = "0123456789abcdef0123456789abcdef"
LIVE = f"ws://127.0.0.1:8000/api/captures/{KEY}/live"
OTHER = LIVE.replace(KEY, KEY[::-1])
BEGIN = {"type": "begin", "run": 0, "at_s": 0.0, "visit": None, "read_back": "asked"}
FRAME = bytes(3200)
needs_tiny = pytest.mark.skipif(
    "tiny.en" not in {state.name for state in list_models() if state.installed}, reason="tiny.en is not installed"
)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = open_store(tmp_path / "data")
    yield opened
    opened.close()


@pytest.fixture
def page(store: Store, monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[..., TestClient]]:
    """Return a maker of a page whose helpers are fakes, `most` of them; they end with the test."""
    # How long a helper takes to start says how busy the machine is; one test is about that.
    monkeypatch.setattr(live_connection, "UNSENT_S", 3600.0)
    open_: list[TestClient] = []

    def make(most: int = 1) -> TestClient:
        app = make_app(make_desk(store, Settings()))
        live = LiveDesk(Helpers(lambda: Helper(store.folder, Settings(), serve=live_echo.echo), most))
        app.app.state.live = live  # type: ignore[attr-defined]
        open_.append(TestClient(app, base_url="http://127.0.0.1:8000").__enter__())
        return open_[-1]

    yield make
    for client in open_:
        client.__exit__(None, None, None)


def until(socket: Any, kind: str) -> dict[str, Any]:
    """Take messages until one of a kind comes."""
    while (message := socket.receive_json())["type"] != kind:
        pass
    found: dict[str, Any] = message
    return found


def test_sound_and_requests_reach_a_helper(page: Callable[..., TestClient], store: Store):
    """With the seconds of the run, the order that was chosen, and the shop's own settings."""
    visit = add_order(store, Order(number="A-17", concerns=("Squeals",)), who="test")
    with page().websocket_connect(LIVE) as socket:
        socket.send_json({**BEGIN, "run": 2, "at_s": 7.5, "visit": visit, "read_back": "each"})
        assert socket.receive_json() == {"type": "ready"}
        began = socket.receive_json()
        assert (began["run"], began["at_s"], began["read_back"], began["order"]) == (2, 7.5, "each", "A-17")
        socket.send_bytes(FRAME)
        socket.send_bytes(FRAME)
        assert [until(socket, "fed")["at_s"] for _ in range(2)] == pytest.approx([7.5, 7.6])
        socket.send_json({"type": "command", "command": "take_back", "id": "t-1"})
        assert until(socket, "asked")["given"] == {"type": "command", "command": "take_back", "id": "t-1"}
        socket.send_json({**BEGIN, "run": 2, "at_s": 30.0})
        assert until(socket, "asked")["given"]["at_s"] == 30.0
        socket.send_bytes(FRAME)
        assert until(socket, "fed")["at_s"] == 30.0


def test_an_order_that_is_gone_holds_nothing_up(page: Callable[..., TestClient]):
    with page().websocket_connect(LIVE) as socket:
        socket.send_json({**BEGIN, "visit": 99})
        assert until(socket, "began")["order"] is None


def test_a_helper_that_ends_is_told_and_another_goes_on(page: Callable[..., TestClient]):
    """At the second where the sound is by then, with what was said so far."""
    with page().websocket_connect(LIVE) as socket:
        socket.send_json(BEGIN)
        until(socket, "began")
        socket.send_json({"type": "undo", "mark": "m-1"})
        until(socket, "asked")
        socket.send_bytes(FRAME)
        socket.send_bytes(live_echo.DIE)
        assert until(socket, "unavailable")["why"] == ENDED
        assert until(socket, "ready")
        began = socket.receive_json()
        assert began["at_s"] == pytest.approx(0.2)
        assert began["so_far"] == [{"asked": "undo"}]


def test_helpers_that_end_again_and_again_stay_away(page: Callable[..., TestClient]):
    """Nothing is begun for ever."""
    with page().websocket_connect(LIVE) as socket:
        socket.send_json(BEGIN)
        for _ in range(MOST_STARTS):
            until(socket, "ready")
            socket.send_bytes(live_echo.DIE)
            assert until(socket, "unavailable")["why"] == ENDED
        until(socket, "ready")
        socket.send_bytes(live_echo.DIE)
        assert until(socket, "unavailable")["why"] == GIVEN_UP


def test_a_phone_that_comes_back_finds_what_was_said(page: Callable[..., TestClient]):
    """The connection broke off; another recording gets nothing of it."""
    client = page()
    with client.websocket_connect(LIVE) as socket:
        socket.send_json(BEGIN)
        until(socket, "began")
        socket.send_json({"type": "undo", "mark": "m-1"})
        until(socket, "asked")
    for path, kept in ((LIVE, 1), (OTHER, 0)):
        with client.websocket_connect(path) as socket:
            socket.send_json(BEGIN)
            assert len(until(socket, "began")["so_far"]) == kept


def test_one_phone_too_many_waits_for_its_turn(page: Callable[..., TestClient], monkeypatch: pytest.MonkeyPatch):
    """It is told once, and gets a helper as soon as there is one; sound it did not send is not counted as sent."""
    client = page(most=1)
    monkeypatch.setattr(live_connection, "UNSENT_S", 0.5)
    with client.websocket_connect(OTHER) as waiting:
        with client.websocket_connect(LIVE) as socket:
            socket.send_json(BEGIN)
            until(socket, "began")
            began_at = time.monotonic()
            waiting.send_json(BEGIN)
            assert waiting.receive_json() == {"type": "unavailable", "why": ALL_BUSY}
            time.sleep(1.2)
        assert waiting.receive_json() == {"type": "ready"}
        until(waiting, "began")
        waiting.send_bytes(FRAME)
        assert 1.0 < until(waiting, "fed")["at_s"] < time.monotonic() - began_at


@pytest.mark.parametrize(
    "sent",
    [
        "no JSON",
        '{"type": "sing"}',
        '{"type": "begin", "run": -1, "at_s": 0}',
        '{"type": "begin", "run": 0, "at_s": 1e999}',
        '{"type": "command", "command": "explode"}',
        '{"type": "undo", "mark": "' + 65 * "x" + '"}',
        '{"type": "answer", "value": "' + 3000 * "x" + '"}',
        b"odd",
        bytes(MOST_BYTES + 2),
    ],
)
def test_what_cannot_be_read_ends_the_connection(page: Callable[..., TestClient], sent: str | bytes):
    client = page()
    with client.websocket_connect(LIVE) as socket:
        socket.send_json(BEGIN)
        until(socket, "began")
        socket.send_bytes(sent) if isinstance(sent, bytes) else socket.send_text(sent)
        with pytest.raises(WebSocketDisconnect) as ended:
            until(socket, "nothing more")
        assert ended.value.code == 1003
    with client.websocket_connect(LIVE) as socket:
        socket.send_json(BEGIN)
        assert until(socket, "began")


def test_only_people_of_the_shop_are_listened_to(page: Callable[..., TestClient], store: Store):
    """Once people have PINs, whoever is not signed in is refused; so is a key that is none."""
    client = page()
    with pytest.raises(WebSocketDisconnect), client.websocket_connect(LIVE.replace(KEY, "..%2Fx")):
        pass
    add_person(store, name="Ann", role="owner", pin="4711", who="test")
    with pytest.raises(WebSocketDisconnect) as refused, client.websocket_connect(LIVE):
        pass
    assert refused.value.code == 1008


def test_what_was_said_is_let_go_of_in_time():
    """The page's memory of talks is bounded."""
    desk = LiveDesk(Helpers(lambda: pytest.fail("no helper is needed"), 1))
    first = desk.talk("a")
    assert desk.talk("a") is first
    for number in range(KEPT_TALKS):
        desk.talk(f"k{number}")
    assert desk.talk("a") is not first


@needs_tiny
@pytest.mark.model
def test_speech_becomes_words_and_findings(store: Store):
    """A recording sent as a phone sends it, through a real helper: what is said about the brakes is listed."""
    path = project_folder("sample_audio") / "compact_brakes_tires.ogg"
    sound = decode(path, min_duration_s=0, max_duration_s=600).samples[12 * RATE : 33 * RATE]
    pcm = np.rint(np.concatenate((sound, np.zeros(RATE, np.float32))) * 32767).astype("<i2").tobytes()
    app = make_app(make_desk(store, Settings()))
    with TestClient(app, base_url="http://127.0.0.1:8000") as client, client.websocket_connect(LIVE) as socket:
        socket.send_json(BEGIN)
        until(socket, "ready")
        # Its seconds begin now, not when it asked.
        socket.send_json(BEGIN)
        for first in range(0, len(pcm), 3200):
            socket.send_bytes(pcm[first : first + 3200])
        findings: list[dict[str, Any]] = []
        while not any("rear" in each["line"] and "pads" in each["line"] for each in findings):
            findings = until(socket, "findings")["findings"]
        assert all(0 <= each["start_s"] < each["end_s"] <= 21.5 for each in findings)
