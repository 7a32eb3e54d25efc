"""How soon the page of a long walk-round can be used, how soon a key is answered, and how both grow with the store.

    python tests/benchmarks/page_speed.py [--most 10000]

A real server (`narrate review`) and a real browser (chromium), over stores filled by copies.
"""

import os
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any

import click
import httpx2
from full_store import FINDINGS, fill, long_walkaround, ordinary_walkaround, plate
from playwright.sync_api import Page, sync_playwright
from tables import table, write_result

from narrate.records.walkaround import Walkaround
from narrate.store.engine import open_store
from narrate.store.walkarounds import add_walkaround
from narrate.words.load import load_lexicon

MANY = 500
"""Walkarounds in the store while keys are pressed."""
SIZES = (10, 100, 1000, 10_000)
TIMES = 9
KEYS = FINDINGS - 2
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"]
PANEL = "#hand[data-revision]"
WATCH = """() => {
  const hand = document.querySelector("#hand");
  window.answered = new Promise((done) => {
    let pressed = null;
    document.addEventListener("keydown", () => { pressed = performance.now(); }, { capture: true, once: true });
    const [revision, place] = [hand.dataset.revision, location.hash];
    const seen = new MutationObserver(() => {
      if (hand.dataset.revision === revision || location.hash === place) return;
      seen.disconnect();
      requestAnimationFrame(() => done(performance.now() - pressed));
    });
    seen.observe(hand, { attributes: true });
  });
}"""
"""From the key to the frame in which the panel shows the next finding, milliseconds."""


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """The page over a data folder, in a process of its own; its address."""
    command = [sys.executable, "-c", "from narrate.cli.main import main; main()", "review", "--data", str(folder)]
    command += ["--port", "0", "--no-browser", "--no-worker"]
    server = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    try:
        line = server.stdout.readline() if server.stdout else ""
        yield re.findall(r"http://\S+", line)[0].rstrip("/")
    finally:
        server.terminate()
        server.wait()


def spread(seconds: Sequence[float]) -> dict[str, float]:
    """Median and the 95th of a hundred, milliseconds."""
    ordered = sorted(seconds)
    late = ordered[min(len(ordered) - 1, round(0.95 * len(ordered)))]
    return {"median_ms": round(statistics.median(ordered) * 1000, 1), "p95_ms": round(late * 1000, 1)}


def timed(ask: Callable[[], httpx2.Response], times: int = TIMES) -> dict[str, float]:
    """How soon the server answers; the first answer, which reads templates and the like, does not count."""
    ask().raise_for_status()
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        ask().raise_for_status()
        taken.append(time.perf_counter() - start)
    return spread(taken)


def answers(address: str, id_: str, findings: Sequence[str]) -> dict[str, dict[str, float]]:
    """The server's answers alone: those that opening needs, and a change."""
    with httpx2.Client(base_url=address, timeout=60) as client:
        paths = {
            "page": f"/walkarounds/{id_}",
            "findings": f"/api/walkarounds/{id_}",
            "words": f"/api/walkarounds/{id_}/words",
            "units": "/api/units",
            "more": f"/api/walkarounds/{id_}/more",
        }
        result = {name: timed(partial(client.get, path)) for name, path in paths.items()}
        waiting = iter(findings)
        change = f"/api/walkarounds/{id_}/changes"
        result["confirm"] = timed(lambda: client.post(change, json={"do": "confirm", "findings": [next(waiting)]}))
        result["undo"] = timed(lambda: client.post(f"/api/walkarounds/{id_}/undo"))
        return result


def opened(page: Page, address: str) -> tuple[float, float]:
    """Seconds from asking for a page until its panel is filled, and until it has answered a key."""
    page.goto("about:blank")
    start = time.perf_counter()
    page.goto(address, wait_until="commit")
    page.wait_for_selector(PANEL)
    filled = time.perf_counter() - start
    before = page.evaluate("location.hash")
    page.keyboard.press("ArrowDown")
    page.wait_for_function("(before) => location.hash !== before", arg=before)
    return filled, time.perf_counter() - start


def in_browser(address: str, id_: str) -> dict[str, Any]:
    """Opening the page several times, and then Enter for one finding after the other."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        page = browser.new_page()
        first = opened(page, f"{address}/walkarounds/{id_}")
        times = [opened(page, f"{address}/walkarounds/{id_}") for _ in range(TIMES)]
        page.goto(f"{address}/walkarounds/{id_}")
        page.wait_for_selector(PANEL)
        pressed = []
        for _ in range(KEYS):
            page.evaluate(WATCH)
            page.keyboard.press("Enter")
            pressed.append(page.evaluate("window.answered") / 1000)
        browser.close()
    return {
        "opened_first_ms": round(first[1] * 1000),
        "panel": spread([filled for filled, _ in times]),
        "usable": spread([usable for _, usable in times]),
        "enter": spread(pressed),
    }


def long_one(walkaround: Walkaround, like: Walkaround) -> dict[str, Any]:
    """A long walk-round among many."""
    with tempfile.TemporaryDirectory() as folder:
        store = open_store(Path(folder))
        fill(store, like, MANY)
        id_ = add_walkaround(store, walkaround, who="Ana")
        other = add_walkaround(store, walkaround, who="Ana")
        store.close()
        with served(Path(folder)) as address:
            # The first change in a process makes the rules and the lexicon ready.
            server = answers(address, other, [finding.id for finding in walkaround.findings])
            return {"in_store": MANY, "server": server, "browser": in_browser(address, id_)}


def grown(size: int, like: Walkaround) -> dict[str, Any]:
    """The list, a search, opening and a change with so many walkarounds in the store."""
    with tempfile.TemporaryDirectory() as folder:
        store = open_store(Path(folder))
        fill(store, like, size - 1)
        id_ = add_walkaround(store, like, who="Ana")
        store.close()
        waiting = iter(finding.id for finding in like.findings)
        asked = plate(size // 2)
        with served(Path(folder)) as address, httpx2.Client(base_url=address, timeout=60) as client:
            change = f"/api/walkarounds/{id_}/changes"
            return {
                "walkarounds": size,
                "list": timed(lambda: client.get("/")),
                "search": timed(lambda: client.get("/", params={"q": asked})),
                "open": timed(lambda: client.get(f"/api/walkarounds/{id_}")),
                "change": timed(
                    lambda: client.post(change, json={"do": "confirm", "findings": [next(waiting)]}), TIMES
                ),
            }


@click.command()
@click.option("--most", default=SIZES[-1], show_default=True, help="Walkarounds in the largest store.")
def main(most: int) -> None:
    """Measure the page."""
    load = [round(os.getloadavg()[0], 1)]
    lexicon = load_lexicon()
    walkaround, like = long_walkaround(lexicon), ordinary_walkaround(lexicon)
    words = len(walkaround.recordings[0].words)
    click.echo(f"{len(walkaround.findings)} findings, {words} words; {MANY} walkarounds in the store", err=True)
    one = long_one(walkaround, like)
    server = [[name, *each.values()] for name, each in one["server"].items()]
    browser = [[name, *one["browser"][name].values()] for name in ("panel", "usable", "enter")]
    click.echo(table(("the server's answer", "median ms", "95 % ms"), server))
    click.echo(table(("in the browser", "median ms", "95 % ms"), browser))
    click.echo(f"opened for the first time: {one['browser']['opened_first_ms']} ms")
    rows = [grown(size, like) for size in SIZES if size <= most]
    names = ("list", "search", "open", "change")
    click.echo(
        table(
            ("walkarounds", *(f"{name}, median ms" for name in names)),
            [[row["walkarounds"], *(row[name]["median_ms"] for name in names)] for row in rows],
        )
    )
    load.append(round(os.getloadavg()[0], 1))
    click.echo(f"processes that ran or waited to, a minute's mean at begin and end: {load}")
    long = {"findings": len(walkaround.findings), "words": words, **one}
    click.echo(f"wrote {write_result('page_speed', {'load': load, 'long_walkaround': long, 'growth': rows})}", err=True)


if __name__ == "__main__":
    main()
