"""The server dies in the middle of things; what it had acknowledged is there when it is back."""

import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from browser_desk import Hands
from browser_shop import Shop
from playwright.sync_api import expect


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    """Return a server of this test's own."""
    running = Shop(tmp_path / "data", "--no-worker").start()
    yield running
    running.stop()


def test_a_killed_server_has_lost_nothing(hands: Callable[..., Hands], shop: Shop, visits):
    visits.expect("ERR_CONNECTION_REFUSED|ERR_INCOMPLETE_CHUNKED|ERR_CONNECTION_RESET|ERR_EMPTY_RESPONSE")
    desk = hands(shop.add(), "finding f1")
    desk.keep("Enter")
    desk.open("finding f2")
    desk.press("s")
    desk.keep("u")
    known, port = shop.walkaround(desk.id), shop.port
    desk.press("w")
    desk.pick("crack", "crack")
    shop.kill()
    desk.press("Enter", "Enter")
    expect(desk.page.locator("#told")).to_contain_text("does not answer")
    shop.start(port)
    assert shop.walkaround(desk.id) == known
    # What was about to be kept is still in the editor, and is kept now.
    desk.page.locator("#hand .editor input").focus()
    desk.keep("Enter")
    assert "cracked" in [each.id for each in shop.finding(desk.id, "f2").conditions]
    desk.page.reload()
    desk.shown()
    assert desk.held == "finding f2"
    desk.keep("x")
    program = Path(sys.executable).with_name("narrate")
    done = subprocess.run(
        [program, "doctor", "--data", shop.data], check=False, capture_output=True, text=True, timeout=60
    )
    assert done.returncode == 0, done.stdout + done.stderr
