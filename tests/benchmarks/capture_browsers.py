"""The page Record in other browsers than the tests': nothing lost, live words, the microphone check.

    python tests/benchmarks/capture_browsers.py firefox [--program firefox-esr]
    python tests/benchmarks/capture_browsers.py webkit --browser /usr/lib/…/webkit2gtk-4.1/MiniBrowser

It begins a recording, ends the shop's server and starts it again, loads the page anew, closes the tab and opens
another, ends the recording, and compares every piece with what the browser's own recorder gave, byte for byte. The
microphone is the one the machine's sound server gives; `--microphone` makes one there (PulseAudio's tools) that hears
a sample recording. A screen is needed for WebKit (a virtual one will do). docs/capture.md tells what came of it.
"""

import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import wave
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import click

sys.path.append(str(Path(__file__).parents[1] / "browser"))

from browser_shop import SAMPLES, Shop, until
from capture_phone import CHECKED, ROWS, played
from fake_microphone import RATE, speech
from other_engines import Engine, Firefox, WebKit

from narrate.store.captures import read_capture
from narrate.store.jobs import read_job
from narrate.store.recordings import recording_file

CUT_S = 12
LISTENED_S = 25
OVERHEARD = """
window.gave = [];
const Recorder = MediaRecorder;
window.MediaRecorder = class extends Recorder {
  static isTypeSupported(kind) {
    return (!wanted || kind === wanted) && Recorder.isTypeSupported(kind);
  }
  constructor(...given) {
    super(...given);
    const run = [];
    window.gave.push(run);
    this.addEventListener("dataavailable", ({ data }) => {
      if (!data.size) return;
      const place = run.push(null) - 1;
      data.arrayBuffer().then((bytes) => crypto.subtle.digest("SHA-256", bytes)).then((digest) => {
        run[place] = [...new Uint8Array(digest)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
      });
    });
  }
};
"""
STATE = "return document.getElementById('state').textContent"
TEXT = "return document.getElementById('{id}')?.innerText ?? ''"
BUTTON = """
const found = [...document.querySelectorAll("button")].find((each) => each.textContent === name && each.offsetParent);
if (!found) return null;
found.scrollIntoView({ block: "center" });
const { left, top, width, height } = found.getBoundingClientRect();
return [left + width / 2, top + height / 2];
"""


class Pocket:
    """A browser on the page Record of one shop."""

    def __init__(self, engine: Engine, shop: Shop, kind: str) -> None:
        self.engine = engine
        self.shop = shop
        self.kind = kind
        self.gave: list[list[str]] = []

    def open(self) -> None:
        self.engine.go(f"{self.shop.url}/capture")
        until(lambda: self.engine.run(STATE) != "Opening")
        self.engine.run(f"window.wanted = {json.dumps(self.kind)};{OVERHEARD}")

    def leave(self) -> None:
        """Remember what the recorders of this page gave, before it goes."""
        self.gave += [run for run in self.engine.run("return window.gave") if run]

    def touch(self, name: str) -> None:
        place: list[float] = []

        def shown() -> bool:
            place[:] = self.engine.run(f"const name = {json.dumps(name)};{BUTTON}") or []
            return bool(place)

        until(shown)
        self.engine.touch(*place)

    def is_in(self, state: str, *, within_s: float = 40) -> None:
        until(lambda: self.engine.run(STATE) == state, within_s=within_s)

    def text(self, place: str) -> str:
        return str(self.engine.run(TEXT.format(id=place)))

    def safe_s(self) -> int:
        minutes, seconds = self.text("safe").split(":")
        return 60 * int(minutes) + int(seconds)

    def until_safe(self, seconds: int) -> None:
        until(lambda: self.safe_s() >= seconds, within_s=60)

    def rows(self, table: str) -> list[dict[str, Any]]:
        rows: list[dict[str, Any]] = self.engine.run(f"return ({ROWS})({json.dumps(table)})")
        return rows


def nothing_lost(pocket: Pocket) -> list[str]:
    """Record through a dead server, a reload and a closed tab; sentences on what was seen. A loss is an error."""
    shop, port = pocket.shop, pocket.shop.port
    pocket.touch("Start")
    pocket.is_in("Recording")
    pocket.until_safe(3)
    shop.kill()
    time.sleep(CUT_S)
    waited = len(pocket.rows("pieces"))
    assert waited > CUT_S / 2, waited
    shop.start(port)
    pocket.until_safe(CUT_S)
    pocket.is_in("Recording")

    shop.kill()
    time.sleep(2)
    pocket.leave()
    pocket.open()
    pocket.is_in("Paused")
    pocket.touch("Go on")
    pocket.is_in("Recording")
    shop.start(port)
    pocket.until_safe(CUT_S + 4)

    pocket.leave()
    pocket.engine.another_tab()
    pocket.open()
    pocket.is_in("Paused")
    pocket.touch("Go on")
    pocket.is_in("Recording")
    time.sleep(3)
    pocket.touch("Done")
    pocket.is_in("All safe")
    pocket.leave()
    return [f"{waited} pieces waited while nobody answered", *arrived(pocket)]


def arrived(pocket: Pocket) -> list[str]:
    """Compare what lies in the store with what the recorders gave."""
    [row] = pocket.rows("captures")
    store = pocket.shop.store
    until(lambda: read_capture(store, row["key"]).job_id is not None)
    capture = read_capture(store, row["key"])
    assert [run.run for run in capture.runs] == list(range(len(pocket.gave))), capture.runs
    last = len(pocket.gave) - 1
    for run, given in zip(capture.runs, pocket.gave, strict=True):
        # The shop's computer takes a piece only if its bytes have the digest that comes with it.
        there = [run.pieces[number].sha256 for number in sorted(run.pieces)]
        assert sorted(run.pieces) == list(range(len(there))), run
        # The last piece of a page that went away may have been on its way anywhere.
        assert abs(len(there) - len(given)) <= (run.run < last), (len(there), len(given))
        count = min(len(there), len(given))
        assert there[:count] == given[:count]
    files = [recording_file(store, sha256) for sha256 in read_job(store, capture.job_id or 0).recordings]
    play_s = sum(played(file) for file in files)
    recorded_s = sum(run.seconds for run in capture.runs)
    assert abs(play_s - recorded_s) < 2, (play_s, recorded_s)
    gaps = sum(len(told["gaps"]) for told in capture.told["recordings"])
    kinds = ", ".join(sorted({run.mime for run in capture.runs}))
    pieces = sum(len(run.pieces) for run in capture.runs)
    return [
        f"{pieces} pieces in {len(capture.runs)} runs ({kinds}): each once, byte for byte and in order",
        f"joined to {', '.join(file.suffix for file in files)}: {play_s:.1f} s of {recorded_s:.1f} s recorded",
        f"{gaps} gaps told",
    ]


def live_words(pocket: Pocket) -> list[str]:
    """Record a while with live words; sentences on what was seen."""
    pocket.touch("Next recording")
    pocket.is_in("Ready")
    pocket.touch("Start")
    pocket.is_in("Recording")
    heard: set[str] = set()
    end = time.monotonic() + LISTENED_S
    while time.monotonic() < end:
        heard.add(pocket.text("words"))
        time.sleep(0.5)
    findings = pocket.text("findings")
    last = max(heard, key=len)
    pocket.touch("Done")
    pocket.is_in("All safe")
    return [f"live words: {last!r}", f"findings: {findings!r}", f"said of it: {pocket.text('live-state')!r}"]


def microphone_check(pocket: Pocket) -> list[str]:
    pocket.touch("Check the microphone")
    until(lambda: pocket.text("told") and "Listening" not in pocket.text("told"))
    until(lambda: "udging" not in pocket.text("told"))
    return [f"microphone check: {pocket.text('told')} {pocket.text('checked')!r}"]


def told_by(pocket: Pocket, steps: list[Callable[[Pocket], list[str]]]) -> Iterator[str]:
    pocket.open()
    yield from microphone_check(pocket)
    pocket.engine.run(CHECKED)
    pocket.open()
    for step in steps:
        yield from step(pocket)


@contextmanager
def microphone() -> Iterator[None]:
    """A microphone of the sound server that hears a sample recording over and over, taken away afterwards."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "heard.wav"
        with wave.open(str(file), "wb") as writer:
            writer.setparams((1, 2, RATE, 0, "NONE", ""))
            writer.writeframes(speech(SAMPLES / "compact_brakes_tires.ogg").tobytes())
        sink = ["module-null-sink", "sink_name=narrate_bay"]
        source = ["module-remap-source", "master=narrate_bay.monitor", "source_name=narrate_microphone"]
        modules = [pactl("load-module", *each) for each in (sink, source)]
        pactl("set-default-source", "narrate_microphone")
        again = f"while paplay --device=narrate_bay {file}; do :; done"
        player = subprocess.Popen(["bash", "-c", again], start_new_session=True)
        try:
            yield
        finally:
            os.killpg(player.pid, signal.SIGTERM)
            player.wait()
            for module in reversed(modules):
                pactl("unload-module", module)


def pactl(*words: str) -> str:
    return subprocess.run(["pactl", *words], check=True, capture_output=True, text=True).stdout.strip()


@click.command()
@click.argument("engine", type=click.Choice(["firefox", "webkit"]))
@click.option("--program", help="Its program: firefox-esr, or WebKitWebDriver.")
@click.option("--browser", help="WebKit's browser: MiniBrowser, or another that its driver can drive.")
@click.option("--kind", default="", help="Let it record only this kind, such as audio/mp4.")
@click.option("--microphone", "made", is_flag=True, help="Make a microphone that hears a sample recording.")
@click.option("--port", default=9333, show_default=True)
@click.option("--picture", type=click.Path(dir_okay=False, path_type=Path), help="A picture of the page at the end.")
def main(
    engine: str, program: str | None, browser: str | None, kind: str, made: bool, port: int, picture: Path | None
) -> None:
    """Try the page Record in another browser."""
    if engine == "firefox":
        opened: Engine = Firefox(program or shutil.which("firefox-esr") or "firefox", port)
    else:
        opened = WebKit(program or "WebKitWebDriver", browser or "MiniBrowser", port)
    with tempfile.TemporaryDirectory() as folder:
        shop = Shop(Path(folder) / "data", "--no-worker").start()
        pocket = Pocket(opened, shop, kind)
        try:
            click.echo(opened.name)
            with microphone() if made else _as_it_is():
                for sentence in told_by(pocket, [nothing_lost, live_words]):
                    click.echo(f"- {sentence}")
        finally:
            if picture:
                opened.picture(picture)
            opened.end()
            shop.stop()


@contextmanager
def _as_it_is() -> Iterator[None]:
    yield


if __name__ == "__main__":
    main()
