"""Every page: nothing that axe finds fault with, nothing that scrolls sideways, nothing too small to touch."""

from fractions import Fraction
from pathlib import Path

import av
import axe_playwright_python
import numpy as np
import pytest
from browser_desk import Hands
from browser_shop import Shop, order
from playwright.sync_api import Page, expect

from narrate.store.capture_ends import become_job
from narrate.store.capture_marks import keep_photo
from narrate.store.captures import begin, begin_run, keep_piece
from narrate.store.jobs import claim, finish
from narrate.store.people import add_person
from narrate.store.walkarounds import read_walkaround

AXE = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text("utf-8")
PAGES = {
    "home": ("/", "Find"),
    "walkaround": ("/walkarounds/{id}", "Right, next"),
    "about": ("/walkarounds/{id}/about", "Keep"),
    "uploads": ("/uploads", "Send"),
    "capture": ("/capture", "Check the microphone"),
    "captures": ("/captures", None),
    "orders": ("/orders", None),
    "order": ("/orders/{order}", None),
    "shop": ("/shop", None),
    "refused": ("/walkarounds/w999", "To the walk-rounds"),
}
TOUCHED = "button, .button, summary, select, input:not([type=checkbox], [type=radio], [type=hidden])"
TOO_SMALL = f"""() => [...document.querySelectorAll("{TOUCHED}")]
  .filter((each) => each.checkVisibility() && each.getBoundingClientRect().height < 43.9)
  .map((each) => each.outerHTML.slice(0, 120))"""
WIDER = "document.documentElement.scrollWidth - document.documentElement.clientWidth"


@pytest.fixture(scope="module")
def places(shop: Shop) -> dict[str, str]:
    """Return the ids that addresses are made with."""
    asked = order("P-1", concerns=("grinding from the front", "smells of fuel"))
    keep_captures(shop)
    return {"id": shop.add(order=asked), "order": str(shop.add_order(order("P-2", plate="8XYZ987")))}


def keep_captures(shop: Shop) -> None:
    """A recording that a phone never ended, and one whose photo belongs to no finding."""
    store, at = shop.store, "2026-11-27T09:00:00.000Z"
    for key in ("a" * 32, "b" * 32):
        begin(store, key, visit_id=None, device="a phone", started_at=at, who="Ana")
        begin_run(store, key, 0, mime="audio/webm", started_at=at)
        keep_piece(store, key, 0, 0, b"a piece", from_s=0.0, to_s=30.0, sha256=None)
    keep_photo(store, key, "p1", picture(), run=0, at_s=5.0)
    made = read_walkaround(store, shop.add_spoken()).walkaround
    told = {"recordings": [{"places": [], "gaps": []}], "kept": [[0, 3, 9]]}
    sound = made.recordings[0].sha256
    become_job(store, key, [sound], name="spoken", total_s=30.0, pieces=1, told=told, who="Ana")
    job = claim(store, "bench")
    finish(store, job, made, "Ana")


def picture() -> bytes:
    """A gray photo."""
    codec = av.CodecContext.create("mjpeg", "w")
    codec.width, codec.height, codec.pix_fmt, codec.time_base = 64, 48, "yuvj420p", Fraction(1)
    frame = av.VideoFrame.from_ndarray(np.full((48, 64, 3), 90, np.uint8), format="rgb24")
    return b"".join(bytes(each) for each in (*codec.encode(frame.reformat(format="yuvj420p")), *codec.encode(None)))


def go(page: Page, shop: Shop, places: dict[str, str], name: str) -> None:
    page.goto(shop.url + PAGES[name][0].format(**places))
    if name == "walkaround":
        page.wait_for_selector("#hand[data-revision]")


def faults(page: Page) -> list[str]:
    """Return what axe finds fault with, as rule and element."""
    page.evaluate(AXE)
    found = page.evaluate("axe.run({resultTypes: ['violations']})")
    return [f"{each['id']}: {node['html'][:160]}" for each in found["violations"] for node in each["nodes"]]


def test_axe_is_awake(visits):
    page = visits.usual(bypass_csp=True)
    page.set_content("<html><body><img src='data:,'><button></button></body></html>")
    assert {each.split(":")[0] for each in faults(page)} >= {"image-alt", "button-name", "document-title"}


@pytest.mark.parametrize("name", PAGES)
def test_axe_finds_nothing(visits, shop: Shop, places, name):
    if name == "refused":
        visits.expect("404")
    page = visits.usual(bypass_csp=True)
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        go(page, shop, places, name)
        assert faults(page) == []


@pytest.mark.parametrize("keys", ["c", "p", "w", "r", "n", "y", "e", "g", "m", "v", "i", "?"])
def test_axe_finds_nothing_with_an_editor_open(visits, shop: Shop, places, keys):
    desk = Hands(visits.usual(bypass_csp=True), shop, places["id"]).open("finding f1")
    desk.press(keys)
    if keys == "c":
        desk.pick("caliper", "caliper")
    assert faults(desk.page) == []


@pytest.mark.parametrize("about", ["concern c1", "unplaced u1", "suggestion s1"])
def test_axe_finds_nothing_with_other_things_in_hand(visits, shop: Shop, places, about):
    desk = Hands(visits.usual(bypass_csp=True), shop, places["id"]).open(about)
    assert desk.held == about
    assert faults(desk.page) == []


@pytest.mark.parametrize("name", PAGES)
def test_every_width(visits, shop: Shop, places, name):
    if name == "refused":
        visits.expect("404")
    page = visits.usual()
    for width in (390, 820, 1400):
        page.set_viewport_size({"width": width, "height": 900})
        go(page, shop, places, name)
        assert page.evaluate(WIDER) == 0, width
        assert page.evaluate(TOO_SMALL) == [], width
        if (text := PAGES[name][1]) and width >= 820:
            button = page.locator("main").locator("button, a.button").filter(has_text=text).first
            expect(button).to_be_in_viewport(ratio=1)


def test_scripts_and_styles_come_from_the_page_itself(visits, shop: Shop, places):
    page = visits.page()
    asked: list[tuple[str, str]] = []
    page.on("request", lambda request: asked.append((request.resource_type, request.url)))
    visits.expect("404")
    for name in PAGES:
        go(page, shop, places, name)
        assert page.locator("script:not([src]), style, [style], [onclick]").count() == 0, name
    assert asked
    assert {url for _, url in asked if not url.startswith(f"{shop.url}/")} == set()
    assert {url for kind, url in asked if kind in ("script", "stylesheet") and "/static/" not in url} == set()


def test_sign_in_with_people(visits, tmp_path: Path):
    shop = Shop(tmp_path / "data", "--no-worker")
    add_person(shop.store, name="Robin", role="owner", who="Test", pin="482913")
    shop.start()
    try:
        page = visits.page(bypass_csp=True)
        page.goto(shop.url)
        expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
        assert faults(page) == []
        for width in (390, 820, 1400):
            page.set_viewport_size({"width": width, "height": 900})
            assert (page.evaluate(WIDER), page.evaluate(TOO_SMALL)) == (0, []), width
            expect(page.locator("main button")).to_be_in_viewport(ratio=1)
        page.get_by_label("Your PIN").focus()
        page.keyboard.type("482913")
        page.keyboard.press("Enter")
        expect(page.get_by_role("heading", name="Walk-rounds")).to_be_visible()
    finally:
        shop.stop()
