"""The review page in a real browser, every key and click counted, and the served store read beside it."""

import shutil
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import unquote

from effort_plan import Keys
from playwright.sync_api import Page, sync_playwright

from narrate.judge.unsettled import Unsettled, what_blocks
from narrate.records.walkaround import Walkaround
from narrate.store.engine import Store
from narrate.store.walkarounds import read_walkaround

FLAGS = ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-sync"]
QUIET_MS = 50
"""The page has taken a key in when it asked the server for nothing so long."""
OPENS = ("c", "w", "r", "t", "i")
"""Keys that open a picker, in which a digit takes what is offered."""
PICKER_MS = 120
"""A picker asks for names so long after the last letter."""
WATCH_FETCH = """
window.waiting = 0;
const asked = window.fetch;
window.fetch = (...given) => { window.waiting += 1; return asked(...given).finally(() => { window.waiting -= 1; }); };
"""
SETTLE = """async (quiet) => {
  let since = performance.now();
  while (performance.now() - since < quiet) {
    await new Promise((done) => setTimeout(done, 8));
    if (window.waiting) since = performance.now();
  }
}"""
UNITS_READ = """async () => {
  const { parseNumbers } = await import("/static/numbers.js");
  const units = await (await fetch("/api/units")).json();
  const read = {};
  for (const [symbol, words] of Object.entries(units)) {
    read[symbol] = [symbol, symbol.toLowerCase(), ...words, '"', "%"].filter((word) => {
      try { return parseNumbers(`1${word}`, units)[0].unit === symbol; } catch { return false; }
    });
  }
  return read;
}"""


class Hands:
    """Someone at the page of one walk-round: what they press, and what it was pressed for."""

    def __init__(self, page: Page, store: Store, address: str, id_: str) -> None:
        self.page, self.store, self.id = page, store, id_
        self.actions: Counter[str] = Counter()
        self.fields: Counter[str] = Counter()
        """The same by field, of what is corrected."""
        self.clicks = 0
        self.moved = False
        page.goto(f"{address}walkarounds/{id_}")
        page.wait_for_selector("#list ol.list, #hand h2")
        self._settle()
        waiting = what_blocks(self.walkaround)
        self.first = (waiting[0].kind, waiting[0].about) if waiting else None
        """What the page begins with; the address does not tell it."""

    @property
    def walkaround(self) -> Walkaround:
        """The list as it is kept now."""
        return read_walkaround(self.store, self.id).walkaround

    @property
    def hand(self) -> tuple[str, str] | None:
        """Kind and id of what the page has in hand."""
        kind, _, id_ = unquote(self.page.evaluate("location.hash")[1:]).partition(" ")
        if id_ or self.moved:
            return (kind, id_) if id_ else None
        return self.first

    @property
    def editing(self) -> bool:
        """Whether an editor has the keys."""
        return bool(self.page.evaluate("Boolean(document.activeElement?.closest('.editor'))"))

    def press(self, keys: Keys, kind: str, field: str = "") -> None:
        """Press keys one after the other, as fast as the page takes them in."""
        for place, key in enumerate(keys):
            self.actions[kind] += 1
            self.fields[f"{kind} {field}".strip()] += 1
            if key.startswith("click "):
                self._click(key.removeprefix("click "))
                continue
            picking = key in ("Enter", "Shift+Enter", "ArrowDown") and place and len(keys[place - 1]) == 1
            if picking:
                self._settle(PICKER_MS)
            self.page.keyboard.press("Space" if key == " " else key)
            offered = key[-1].isdigit() and place and keys[place - 1] in OPENS
            if len(key) > 1 or offered or not self.page.evaluate("document.activeElement?.tagName === 'INPUT'"):
                self._settle()

    def take(self, kind: str, id_: str, why: str) -> None:
        """Have something of the list in hand: one click, none where it is."""
        if self.hand == (kind, id_):
            return
        now = self.walkaround
        if kind == "finding":
            rows = self.page.locator("#list > ol.list button.item")
            ids = [each.id for each in now.findings if each.review.state != "dropped"]
        else:
            name = {"concern": "Concerns", "contradiction": "Contradictions", "unplaced": "Not understood"}[kind]
            rows = self.page.locator("#list section", has_text=f"{name}:").locator("button.item")
            ids = {
                "concern": [each.id for each in now.concerns],
                "contradiction": ["+".join(each.between) for each in now.contradictions],
                "unplaced": [each.id for each in now.unplaced],
            }[kind]
        self.actions[why] += 1
        self.fields[f"{why} go to"] += 1
        self.clicks += 1
        rows.nth(ids.index(id_)).click()
        self.moved = True
        self._settle()

    def take_block(self, blocks: tuple[Unsettled, ...]) -> Unsettled:
        """What of these is in hand; the first of them, by a click, where none is."""
        here = next((each for each in blocks if (each.kind, each.about) == self.hand), None)
        if here is None:
            here = blocks[0]
            self.take(here.kind, here.about, "move")
        return here

    def _click(self, name: str) -> None:
        self.clicks += 1
        if name == "list":
            self.page.locator("#list [aria-current]").click()
        else:
            self.page.locator("#hand .field > button", has=self.page.locator(".label", has_text=name)).first.click()
        self._settle()

    def _settle(self, quiet_ms: int = QUIET_MS) -> None:
        self.page.evaluate(SETTLE, quiet_ms)
        self.moved = self.moved or "#" in self.page.url


@contextmanager
def served(data: Path) -> Iterator[str]:
    """The address at which `narrate review` serves a data folder, in a process of its own."""
    command = "from narrate.cli.main import main; main()"
    asked = ["review", "--data", str(data), "--port", "0", "--no-browser", "--no-worker"]
    server = subprocess.Popen([sys.executable, "-c", command, *asked], stderr=subprocess.PIPE, text=True)
    try:
        assert server.stderr is not None
        for line in server.stderr:
            if "http://" in line:
                yield next(word for word in line.split() if word.startswith("http://"))
                break
        else:
            message = "The page did not start."
            raise RuntimeError(message)
    finally:
        server.terminate()
        server.wait()


@contextmanager
def browser_page() -> Iterator[Page]:
    """A page of an installed Chromium."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), headless=True, args=FLAGS)
        page = browser.new_page(viewport={"width": 1400, "height": 1200})
        page.add_init_script(WATCH_FETCH)
        page.set_default_timeout(60_000)
        yield page
        browser.close()


def shortest_units(page: Page, address: str) -> dict[str, str]:
    """Each unit's shortest word that the page reads as it."""
    page.goto(address)
    read: dict[str, Any] = page.evaluate(UNITS_READ)
    return {symbol: min(words, key=len) for symbol, words in read.items() if words}
