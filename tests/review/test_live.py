"""A page is told of changes that another makes, over a real connection."""

import socket
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import httpx2
import pytest
import uvicorn
from whole_page import Page

from narrate.review.app import make_app
from narrate.store.walkarounds import change_walkaround

SOON_S = 10.0


@pytest.fixture
def page(tmp_path: Path) -> Iterator[Page]:
    page = Page(tmp_path)
    yield page
    page.close()


@pytest.fixture
def address(page: Page) -> Iterator[str]:
    """The page behind a real server."""
    listening = socket.create_server(("127.0.0.1", 0))
    config = uvicorn.Config(make_app(page.desk), log_level="warning", timeout_graceful_shutdown=1)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
    thread.start()
    while not server.started:
        time.sleep(0.01)
    yield f"http://127.0.0.1:{listening.getsockname()[1]}"
    server.should_exit = True
    thread.join(timeout=SOON_S)
    listening.close()
    assert not thread.is_alive(), "an open connection must not hold the server"


def test_a_change_by_another_is_told(page: Page, address: str) -> None:
    id_ = page.add()
    before = page.held(id_).revision
    with httpx2.stream("GET", f"{address}/api/walkarounds/{id_}/live", timeout=SOON_S) as answer:
        assert answer.headers["content-type"].startswith("text/event-stream")
        lines = (line for line in answer.iter_lines() if line.startswith("data: "))
        assert next(lines) == f"data: {before}", "the page is told at once how things stand"
        # As another process would: past the page's own requests.
        held = change_walkaround(
            page.store, id_, who="Bob", what="head", make=lambda w: w.model_copy(update={"technician": "Sam"})
        )
        assert next(lines) == f"data: {held.revision}"
        other = page.add("The battery is weak.")
        changed = httpx2.post(
            f"{address}/api/walkarounds/{id_}/changes", json={"do": "confirm", "findings": ["f1"]}, timeout=SOON_S
        ).json()
        assert next(lines) == f"data: {changed['view']['revision']}", "what happened to others is not told"
        assert page.held(other).revision < changed["view"]["revision"]


def test_several_pages_are_told_alike(page: Page, address: str) -> None:
    id_ = page.add()
    told: list[str] = []

    def listen() -> None:
        with httpx2.stream("GET", f"{address}/api/walkarounds/{id_}/live", timeout=SOON_S) as answer:
            lines = (line for line in answer.iter_lines() if line.startswith("data: "))
            next(lines)
            ready.wait()
            told.append(next(lines))

    ready = threading.Barrier(4)
    listeners = [threading.Thread(target=listen) for _ in range(3)]
    for listener in listeners:
        listener.start()
    ready.wait(timeout=SOON_S)
    held = change_walkaround(
        page.store, id_, who="Bob", what="head", make=lambda w: w.model_copy(update={"technician": "Sam"})
    )
    for listener in listeners:
        listener.join(timeout=SOON_S)
    assert told == [f"data: {held.revision}"] * 3


def test_nothing_is_told_of_what_is_not_there(address: str) -> None:
    answer = httpx2.get(f"{address}/api/walkarounds/w9/live", timeout=SOON_S)
    assert answer.status_code == 404
    assert "w9" in answer.json()["detail"]
