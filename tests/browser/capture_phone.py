"""A phone that records in a browser: what its recorder really gave, and what then lies in the store."""

import hashlib
import json
from collections import defaultdict
from collections.abc import Callable
from pathlib import Path
from typing import Any, Literal

import av
from browser_shop import Shop, until
from playwright.sync_api import BrowserContext, Page, WebSocketRoute, expect

from narrate.store.captures import Capture, piece_file, read_capture
from narrate.store.jobs import read_job
from narrate.store.recordings import recording_file

PHONE = {"viewport": {"width": 390, "height": 844}, "has_touch": True, "is_mobile": True}
OVERHEARD = """
const Recorder = MediaRecorder;
window.MediaRecorder = class extends Recorder {
  constructor(...given) {
    super(...given);
    let run = null;
    let number = 0;
    this.addEventListener("start", () => { run = Date.now(); });
    this.addEventListener("dataavailable", async ({ data }) => {
      if (!data.size) return;
      const told = [run, number];
      number += 1;
      const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", await data.arrayBuffer()));
      window.gave(...told, [...digest].map((byte) => byte.toString(16).padStart(2, "0")).join(""));
    });
  }
};
"""
"""Listens in on the recorder, apart from the page's own script, and tells the digest of each piece it gives."""
CHECKED = """localStorage.getItem("narrate-capture-settings")
  ?? localStorage.setItem("narrate-capture-settings", '{"checked": true}')"""
"""Its microphone was checked before."""
ROWS = """(table) => new Promise((done) => {
  indexedDB.open("narrate-capture").onsuccess = ({ target }) => {
    const asked = target.result.transaction(table).objectStore(table).getAll();
    asked.onsuccess = () => { target.result.close(); done(asked.result.map((row) => ({ ...row, bytes: null }))); };
  };
})"""


class Phone:
    """One phone (a browser context): tabs come and go, what it keeps stays."""

    def __init__(
        self,
        page: Page,
        shop: Shop,
        *,
        live: Callable[[WebSocketRoute], None] | Literal["real"] | None = None,
        checked: bool = True,
    ) -> None:
        self.page = page
        self.context: BrowserContext = page.context
        self.shop = shop
        self.gave: dict[int, dict[int, str]] = defaultdict(dict)
        self.context.expose_function("gave", lambda run, number, digest: self.gave[run].__setitem__(number, digest))
        self.context.add_init_script(OVERHEARD)
        # No helper processes for live words, unless a test plays one or asks for a real one.
        if live != "real":
            self.context.route_web_socket("**/live", live or (lambda socket: socket.close()))
        if checked:
            self.context.add_init_script(CHECKED)

    def until(self, true: Callable[[], object]) -> None:
        """Wait for something, while the browser's own messages come in."""
        until(lambda: self.page.wait_for_timeout(50) or true())

    def open(self, address: str = "/capture") -> "Phone":
        self.page.goto(self.shop.url + address)
        expect(self.page.locator("#state")).not_to_have_text("Opening")
        return self

    @property
    def state(self) -> str:
        return self.page.locator("#state").inner_text()

    def is_in(self, state: str) -> None:
        expect(self.page.locator("#state")).to_have_text(state)

    def touch(self, name: str) -> None:
        self.page.get_by_role("button", name=name, exact=True).click()

    def start(self) -> "Phone":
        self.touch("Start")
        self.is_in("Recording")
        return self

    def safe(self) -> int:
        """Seconds that the page calls safe."""
        minutes, seconds = self.page.locator("#safe").inner_text().split(":")
        return 60 * int(minutes) + int(seconds)

    def until_safe(self, seconds: int) -> None:
        self.page.wait_for_function(
            "(seconds) => { const [m, s] = document.getElementById('safe').textContent.split(':');"
            " return 60 * Number(m) + Number(s) >= seconds; }",
            arg=seconds,
        )

    def rows(self, table: str) -> list[dict[str, Any]]:
        """What the phone still keeps in one of its tables."""
        rows: list[dict[str, Any]] = self.page.evaluate(ROWS, table)
        return rows

    @property
    def key(self) -> str:
        """Key of the recording begun last."""
        return str(max(self.rows("captures"), key=lambda row: str(row["started_at"]))["key"])

    def capture(self, key: str | None = None) -> Capture:
        return read_capture(self.shop.store, key or self.key)

    def stored(self) -> list[list[str]]:
        """Digests of the pieces of each run, in order, as the store entered them; no number is left out."""
        runs = []
        for run in self.capture().runs:
            assert sorted(run.pieces) == list(range(len(run.pieces))), run
            runs.append([run.pieces[number].sha256 for number in sorted(run.pieces)])
        return runs

    def on_disk(self) -> list[list[str]]:
        """Digests of the bytes that lie there."""
        capture = self.capture()
        return [
            [
                hashlib.sha256(piece_file(self.shop.store, capture.key, run.run, number).read_bytes()).hexdigest()
                for number in sorted(run.pieces)
            ]
            for run in capture.runs
        ]

    def given(self) -> list[list[str]]:
        """Digests of what the recorder gave in each run, in order."""
        return [[run[number] for number in sorted(run)] for _, run in sorted(self.gave.items())]

    def all_sent(self) -> None:
        self.until(lambda: not self.rows("pieces"))

    def finished(self, key: str | None = None) -> list[Path]:
        """Files that a capture (the one begun last) became, once it is in line to be heard."""
        self.until(lambda: self.capture(key).job_id is not None)
        job = read_job(self.shop.store, self.capture(key).job_id or 0)
        return [recording_file(self.shop.store, sha256) for sha256 in job.recordings]


def played(file: Path) -> float:
    """Seconds of sound that a file gives when it is played from end to end."""
    with av.open(str(file)) as opened:
        return sum(frame.samples / frame.rate for frame in opened.decode(audio=0))


def told(message: Any) -> dict[str, Any]:
    """A message of the page to the live helper; sound counts as `sound`."""
    if isinstance(message, bytes):
        return {"type": "sound", "bytes": len(message), "silent": not any(message)}
    read: dict[str, Any] = json.loads(message)
    return read
