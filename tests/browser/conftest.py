"""One browser and one server for all these tests, and an ear for every complaint of a page."""

import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from browser_desk import Hands
from browser_shop import Shop
from capture_phone import PHONE, Phone
from fake_microphone import microphone_flags
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, expect, sync_playwright

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--autoplay-policy=no-user-gesture-required",
]
TIMEOUT_MS = 40_000
"""The first change after a start loads words and models, and other tests may keep the machine busy meanwhile."""
expect.set_options(timeout=TIMEOUT_MS)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Leave the browser to the end: while it is open its event loop runs, and other tests run loops of their own."""
    items.sort(key=lambda item: Path(__file__).parent in item.path.parents)


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """Return the system's Chromium, with a microphone that hears one of the sample recordings again and again."""
    path = shutil.which("chromium")
    if path is None:
        message = "The tests of the page need a browser: type 'sudo apt-get install chromium'."
        raise pytest.fail.Exception(message)
    flags = [*FLAGS, *microphone_flags(tmp_path_factory.mktemp("microphone") / "heard.wav")]
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=path, headless=True, args=flags)
        yield opened
        opened.close()


@pytest.fixture(scope="session")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """Return a server with an empty store, without a worker."""
    running = Shop(tmp_path_factory.mktemp("shop") / "data", "--no-worker").start()
    yield running
    running.stop()


class Visits:
    """Pages in contexts of their own, and everything that they complained of."""

    def __init__(self, browser: Browser) -> None:
        self.browser = browser
        self.contexts: list[BrowserContext] = []
        self.plain: dict[str, Page] = {}
        self.complaints: list[str] = []
        self.expected: list[str] = []

    def page(self, **options: Any) -> Page:
        """Return a page of a browser that has been nowhere yet; `options` as of new_context."""
        context = self.browser.new_context(**{"viewport": {"width": 1400, "height": 900}, **options})
        context.set_default_timeout(TIMEOUT_MS)
        self.contexts.append(context)
        page = context.new_page()
        page.on("console", self._heard)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        return page

    def usual(self, **options: Any) -> Page:
        """Return the one page of a file's tests with these options; it lasts, since a new one takes a second."""
        name = repr(options)
        if name not in self.plain:
            self.plain[name] = self.page(**options)
        return self.plain[name]

    def expect(self, pattern: str) -> None:
        """Let a complaint pass that belongs to the test, such as the browser's line about a refusal."""
        self.expected.append(pattern)

    def heard(self) -> list[str]:
        """Return what pages complained of since this was asked last, but for what was expected."""
        told = [text for text in self.complaints if not any(re.search(each, text) for each in self.expected)]
        self.complaints, self.expected = [], []
        return told

    def close(self) -> None:
        for context in self.contexts:
            context.close()

    def _heard(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning"):
            self.complaints.append(message.text)


@pytest.fixture(scope="module")
def all_visits(browser: Browser) -> Iterator[Visits]:
    made = Visits(browser)
    yield made
    made.close()


@pytest.fixture
def visits(all_visits: Visits) -> Iterator[Visits]:
    """Return a maker of pages; at the end of each test no page may have complained of anything unexpected."""
    yield all_visits
    assert all_visits.heard() == []


@pytest.fixture
def hands(visits: Visits, shop: Shop) -> Callable[..., Hands]:
    """Return an opener of the page of a walk-round."""

    def make(walkaround: str, about: str = "", **options: Any) -> Hands:
        return Hands(visits.usual(**options), shop, walkaround).open(about)

    return make


@pytest.fixture
def phones(visits: Visits, shop: Shop) -> Iterator[Callable[..., Phone]]:
    """Return a maker of phones that record; they are switched off after the test."""
    made: list[Phone] = []

    def make(*, shop: Shop = shop, live: Any = None, checked: bool = True, **options: Any) -> Phone:
        made.append(Phone(visits.page(**PHONE, **options), shop, live=live, checked=checked))
        return made[-1]

    yield make
    for phone in made:
        phone.context.close()
