"""From a voice at the microphone to the list: nothing played, no part left out."""

import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from browser_shop import Shop
from capture_phone import Phone
from playwright.sync_api import expect

SLOWLY_MS = 120_000
"""Models are loaded, and other tests may keep the machine busy."""


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    """Return a server of this test's own, whose helpers end with it."""
    running = Shop(tmp_path / "data", "--no-worker").start()
    yield running
    running.stop(quickly=False)


@pytest.mark.model
def test_a_walk_round_is_spoken_and_becomes_a_list(phones: Callable[..., Phone], shop: Shop):
    phone = phones(live="real", checked=False).open()
    phone.touch("Check the microphone")
    expect(phone.page.locator("#checked")).to_contain_text("voice", timeout=SLOWLY_MS)
    phone.start()
    expect(phone.page.locator("#words")).not_to_be_empty(timeout=SLOWLY_MS)
    expect(phone.page.locator("#findings li").first).to_be_visible(timeout=SLOWLY_MS)
    phone.page.wait_for_timeout(5000)
    shown = phone.page.locator("#findings .line").all_inner_texts()
    phone.touch("Done")
    phone.is_in("All safe")
    program = Path(sys.executable).with_name("narrate")
    command = [program, "worker", "--once", "--data", shop.data]
    subprocess.run(command, check=True, capture_output=True, timeout=SLOWLY_MS / 1000)
    phone.is_in("List ready")
    link = phone.page.get_by_role("link", name="Open the list")
    expect(link).to_have_attribute("href", f"/walkarounds/{phone.capture().walkaround}")
    walkaround = shop.walkaround(str(phone.capture().walkaround))
    assert walkaround.findings
    assert shown
