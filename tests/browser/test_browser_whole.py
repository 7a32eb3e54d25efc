"""The whole way: a recording dropped on the page becomes a reviewed and signed list, and the list becomes files."""

import base64
import csv
import io
import json
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from browser_desk import Hands, tab_to
from browser_shop import SOUND, Shop, until
from playwright.sync_api import Page, expect

DROP = """(sound) => {
  const bytes = Uint8Array.from(atob(sound), (letter) => letter.charCodeAt(0));
  const dataTransfer = new DataTransfer();
  dataTransfer.items.add(new File([bytes], "bay 2.ogg", { type: "audio/ogg" }));
  const dropped = new DragEvent("drop", { dataTransfer, bubbles: true, cancelable: true });
  document.querySelector("#send").dispatchEvent(dropped);
}"""
HEARD_WITHIN_MS = 240_000


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    """Return a server with its worker, as the shop has it."""
    running = Shop(tmp_path / "data").start()
    yield running
    running.stop(quickly=False)


@pytest.mark.model
def test_from_a_dropped_recording_to_files(visits, shop: Shop):
    page = visits.page(accept_downloads=True)
    page.goto(f"{shop.url}/uploads")
    page.evaluate(DROP, base64.b64encode(SOUND.read_bytes()).decode())
    expect(page.locator("#sending")).to_contain_text("bay 2.ogg")
    ready = page.locator("#jobs a[href^='/walkarounds/']")
    expect(ready).to_be_visible(timeout=HEARD_WITHIN_MS)
    # From here on nothing but keys.
    tab_to(page, ready.inner_text())
    page.keyboard.press("Enter")
    page.wait_for_url("**/walkarounds/w1**")
    desk = Hands(page, shop, "w1")
    desk.shown()
    listened(desk)
    review(desk)
    kept = shop.walkaround("w1")
    assert kept.signed
    assert {each.review.state for each in kept.findings} <= {"confirmed", "corrected", "dropped"}
    tab_to(page, "Vehicle, order, files, history")
    page.keyboard.press("Enter")
    page.wait_for_url("**/about")
    files = {name: taken(page, name) for name in ("CSV", "XLSX", "JSON", "Page to print or send", "Picture")}
    written = json.loads(files["JSON"])
    assert len(written["findings"]) == len(kept.findings)
    rows = list(csv.DictReader(io.StringIO(files["CSV"].decode("utf-8-sig"))))
    assert any("brake pad" in " ".join(row.values()) for row in rows)
    assert zipfile.is_zipfile(io.BytesIO(files["XLSX"]))
    assert b"<html" in files["Page to print or send"]
    assert b"<svg" in files["Picture"]


def listened(desk: Hands) -> None:
    """The first finding is played where it was spoken."""
    piece = desk.shop.finding("w1", desk.held.split()[1] if desk.held else first(desk)).evidence[0]
    desk.press("Space")
    until(lambda: desk.page.evaluate("document.querySelector('#sound').currentTime") > 0)
    assert desk.page.evaluate("document.querySelector('#sound').currentTime") >= piece.start_s - 0.5
    desk.press("Space")


def first(desk: Hands) -> str:
    return desk.shop.walkaround(desk.id).review_order[0]


def review(desk: Hands) -> None:
    """Confirm or settle all that stands in the way, correct one finding, and sign."""
    desk.press("n")
    desk.type("1 mm rear left")
    desk.keep("Enter")
    desk.press("ArrowUp")
    for _ in range(80):
        if desk.shop.walkaround(desk.id).signed:
            return
        about = desk.title
        settle(desk, desk.page.locator("#hand").inner_text())
        assert desk.title != about or desk.shop.walkaround(desk.id).signed
    pytest.fail("The review did not come to an end")


def settle(desk: Hands, shown: str) -> None:
    if "not understood" in shown:
        desk.keep("o")
    elif "cannot both be right" in shown or "concern has no answer" in shown:
        desk.keep("j")
    elif "were left open" in shown:
        desk.press("Enter")
    elif "Right, next" in shown or "Everything is decided" in shown:
        desk.keep("Enter")
    else:
        desk.press("Enter")


def taken(page: Page, name: str) -> bytes:
    """Download one of the files by Tab and Enter."""
    page.keyboard.press("Escape")
    tab_to(page, name)
    with page.expect_download() as download:
        page.keyboard.press("Enter")
    return Path(download.value.path()).read_bytes()
