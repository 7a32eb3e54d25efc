"""Remakes the pictures of docs/review.md: the real page, in a real browser, over a sample recording.

python tests/benchmarks/review_pictures.py
"""

import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from narrate.pipeline import process_recordings
from narrate.settings import Settings
from narrate.store.engine import open_store
from narrate.words.load import load_lexicon
from narrate.work.into_store import keep_walkaround

ROOT = Path(__file__).parents[2]
SOUND = ROOT / "sample_audio" / "compact_brakes_tires.ogg"
TO = ROOT / "docs" / "review"


def main() -> None:
    """Hear the sample, serve it, and take the pictures."""
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder) / "data"
        walkaround = process_recordings([SOUND], settings=Settings(), lexicon=load_lexicon())
        id_ = keep_walkaround(open_store(data), walkaround, [SOUND])
        program = str(Path(sys.executable).with_name("narrate"))
        options = ["review", "--data", str(data), "--port", "0", "--no-browser", "--no-worker"]
        with subprocess.Popen([program, *options], stderr=subprocess.PIPE, text=True) as server:
            assert server.stderr is not None
            address = re.search(r"http://\S+", server.stderr.readline())
            assert address, "the page did not start"
            take_all(f"{address[0].rstrip('/')}/walkarounds/{id_}")
            server.terminate()


def take_all(url: str) -> None:
    """A finding in hand, its places, and the page on a phone."""
    TO.mkdir(exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": 1200, "height": 760})
        page.goto(url)
        page.wait_for_selector(".fields")
        # Somewhere in the middle: some checked, some not.
        for _ in range(3):
            seen = page.locator("#left").inner_text()
            page.keyboard.press("Enter")
            page.wait_for_function("seen => document.querySelector('#left').innerText !== seen", arg=seen)
        page.screenshot(path=TO / "finding.png")
        page.keyboard.press("p")
        page.wait_for_selector(".places")
        page.locator(".places").screenshot(path=TO / "places.png")
        take_phone(browser.new_page(viewport={"width": 390, "height": 760}, has_touch=True), url)
        browser.close()


def take_phone(page: Page, url: str) -> None:
    """The same on a narrow screen."""
    page.goto(url)
    page.wait_for_selector(".fields")
    page.screenshot(path=TO / "phone.png")


if __name__ == "__main__":
    main()
