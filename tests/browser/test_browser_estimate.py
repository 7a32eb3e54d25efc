"""The estimate under someone's hands: made from a signed list, priced, edited, answered and sent, all by keyboard."""

import re
from collections.abc import Callable
from decimal import Decimal
from itertools import count
from pathlib import Path

import pytest
from browser_shop import Shop, order, words_known
from playwright.sync_api import Page, expect

from narrate.judge.unsettled import what_blocks
from narrate.price.book_file import read_book as book_from
from narrate.records.order import Customer
from narrate.review.changing import make_change
from narrate.review.corrections.asked import parse
from narrate.review.desk import make_desk
from narrate.settings import Settings
from narrate.store.books import keep_book, read_book
from narrate.store.estimates import HeldEstimate, documents_of, read_estimate

DEMO = Path(__file__).parents[2] / "lexicon" / "prices" / "demo_book.csv"
SAID = (
    "Front brake pads are worn out, replace them. Front wiper blades are torn, replace. Fuel door is bent, repair it."
)
NUMBERS = count(1)
CUSTOMER = Customer(name="Joan Doe", phone="555 0100", email="joan@example.org")


class Counter:
    """The page of one estimate, worked by keyboard."""

    def __init__(self, page: Page, shop: Shop, id_: str) -> None:
        self.page, self.shop, self.id = page, shop, id_

    def open(self, about: str = "") -> "Counter":
        self.page.goto("about:blank")
        self.page.goto(f"{self.shop.url}/estimates/{self.id}" + (f"#{about.replace(' ', '%20')}" if about else ""))
        self.page.wait_for_selector("#hand[data-revision]")
        return self

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)

    def type(self, text: str) -> None:
        self.page.keyboard.press("Control+a")
        self.page.keyboard.type(text)

    def keep(self, *keys: str) -> None:
        """Press keys of which the last changes the estimate, and wait for the answer."""
        with self.page.expect_response(lambda a: a.request.method == "POST" and "/would" not in a.url) as told:
            self.press(*keys)
        assert told.value.ok, told.value.text()
        self.page.wait_for_selector(f'#hand[data-revision="{self.kept.revision}"]')

    @property
    def title(self) -> str:
        return self.page.locator("#in-hand").inner_text()

    @property
    def total(self) -> str:
        return self.page.locator("#sums .whole td").first.inner_text()

    @property
    def kept(self) -> HeldEstimate:
        return read_estimate(self.shop.store, self.id)


def sign(shop: Shop, walkaround: str) -> None:
    """Confirm or settle all of a list, and sign it."""
    desk = make_desk(shop.store, Settings())
    while blocks := what_blocks(shop.walkaround(walkaround)):
        about = blocks[0].about
        asked = {"do": "decide", "about": about, "decided": "not_looked_at", "why": None}
        if blocks[0].kind == "finding":
            asked = {"do": "confirm", "findings": [about]}
        elif blocks[0].kind != "concern":
            asked["decided"] = "nothing_in_it" if blocks[0].kind == "unplaced" else "settled"
        make_change(desk, walkaround, parse(asked), who="Ann")
    make_change(desk, walkaround, parse({"do": "sign"}), who="Ann")


@pytest.fixture(scope="module")
def priced(shop: Shop) -> Shop:
    """The shop with the demo book of invented figures."""
    keep_book(shop.store, book_from(DEMO, words_known()), who="Test")
    return shop


@pytest.fixture
def signed(priced: Shop) -> Callable[[], str]:
    """A maker of signed walk-rounds."""

    def make() -> str:
        number = next(NUMBERS)
        told = order(f"estimate-{number}", plate=f"EST{number}").model_copy(update={"customer": CUSTOMER})
        walkaround = priced.add(SAID, order=told)
        sign(priced, walkaround)
        return walkaround

    return make


@pytest.fixture
def counter(visits, priced: Shop, signed: Callable[[], str]) -> Counter:
    """A fresh estimate, made by the button of a signed list."""
    page = visits.usual(accept_downloads=True)
    page.goto(f"{priced.url}/walkarounds/{signed()}")
    page.get_by_role("button", name="Make the estimate").click()
    page.wait_for_url("**/estimates/e*")
    page.wait_for_selector("#hand[data-revision]")
    return Counter(page, priced, re.findall(r"/estimates/(e\d+)", page.url)[0])


def test_what_has_no_price_comes_first_and_its_price_is_kept(counter: Counter):
    assert counter.title == "Repair fuel door"
    counter.press("p")
    counter.type("1.5")
    counter.keep("Enter")
    job = counter.kept.estimate.jobs[-1]
    assert job.title == "Repair fuel door"
    assert job.choices[0].lines[0].quantity == Decimal("1.5")
    expect(counter.page.locator("#told")).to_contain_text("The book has this price now")
    assert any(each.component == "fuel_door" for each in read_book(counter.shop.store).operations)


def test_hours_prices_and_words_by_keyboard_and_back(counter: Counter):
    counter.open("job j1")
    before = counter.total
    counter.press("q")
    counter.type("2")
    counter.keep("Enter")
    labor = counter.kept.estimate.jobs[0].choices[0].lines[0]
    assert labor.quantity == 2
    assert counter.total != before, "the total follows at once"
    counter.press("ArrowRight", "p")
    counter.type("$1,204.50")
    counter.keep("Enter")
    assert counter.kept.estimate.jobs[0].choices[0].lines[1].unit_price == Decimal("1204.50")
    counter.press("w")
    counter.type("Pads, the better ones")
    counter.keep("Enter")
    assert counter.kept.estimate.jobs[0].choices[0].lines[1].text == "Pads, the better ones"
    for _ in range(3):
        counter.keep("u")
    assert counter.total == before
    counter.keep("Shift+U")
    assert counter.total != before


def test_what_is_no_amount_is_told_and_stays_to_be_mended(counter: Counter):
    counter.open("job j1")
    counter.press("p")
    counter.type("a lot")
    counter.press("Enter")
    told = counter.page.locator("#hand .editor [role=alert]")
    expect(told).to_have_text("“a lot” is no price of an hour; type it as in 96.40.")
    counter.press("Escape")
    expect(counter.page.locator("#hand .editor")).to_have_count(0)


def test_ways_lines_jobs_and_terms(counter: Counter):
    counter.open("job j1")
    counter.keep("2")
    job = counter.kept.estimate.jobs[0]
    assert job.chosen == job.choices[1].id
    counter.press("a")
    counter.press("Tab")
    counter.type("Grease")
    counter.press("Tab", "Tab")
    counter.type("4.25")
    counter.keep("Enter")
    assert counter.kept.estimate.jobs[0].choices[1].lines[-1].unit_price == Decimal("4.25")
    counter.press("x")
    counter.keep("Enter")
    assert counter.kept.estimate.jobs[0].choices[1].lines[-1].unit_price != Decimal("4.25")
    counter.keep("]")
    assert [each.id for each in counter.kept.estimate.jobs[:2]] == ["j2", "j1"]
    counter.press("b", "ArrowDown", "ArrowDown", "Tab")
    counter.type("F-77")
    counter.keep("Enter")
    pads = next(each for each in counter.kept.estimate.jobs if each.id == "j1")
    assert (pads.payer, pads.payer_order) == ("fleet", "F-77")
    counter.press("d")
    counter.type("10")
    counter.press("Enter")
    expect(counter.page.locator("#hand .editor [role=alert]")).to_contain_text("Say why there is a discount")
    counter.press("Tab")
    counter.type("second visit")
    counter.keep("Enter")
    assert counter.kept.estimate.discount == 10


def test_the_customer_answers_by_telephone(counter: Counter):
    counter.press("c")
    expect(counter.page.locator("#in-hand")).to_have_text("What does the customer say?")
    first = counter.page.locator(".answers fieldset").first
    first.get_by_label("do it").check()
    counter.page.locator(".answers fieldset").nth(1).get_by_label("decide later").check()
    agreed = counter.page.locator(".agreed")
    expect(agreed).to_contain_text("1 to be done, 1 to be decided later")
    read_out = counter.page.locator(".agreed strong").inner_text()
    counter.page.get_by_label("Their words").fill("Do the brakes")
    counter.page.get_by_label("the work and the total were read back").check()
    counter.page.get_by_role("button", name="Keep the answer").focus()
    counter.keep("Enter")
    [consent] = counter.kept.estimate.consents
    assert (consent.who, consent.number, consent.words) == ("Joan Doe", "555 0100", "Do the brakes")
    assert consent.read_back
    assert f"{consent.total:,.2f}" in read_out
    assert consent.document in {each.sha256 for each in documents_of(counter.shop.store, counter.id)}
    assert [job.state for job in counter.kept.estimate.jobs[:2]] == ["authorized", "decide_by"]
    counter.open("job j1")
    counter.press("r")
    counter.keep("Enter")
    assert counter.kept.estimate.outcomes[0].what == "done"


def test_the_copy_is_looked_at_and_sent(counter: Counter):
    counter.open("done")
    with counter.page.context.expect_page() as opened:
        counter.press("l")
    paper = opened.value
    expect(paper.locator("h1")).to_contain_text("Estimate")
    assert paper.evaluate("getComputedStyle(document.querySelector('h1')).fontSize") != "", "its own style holds"
    paper.close()
    counter.page.get_by_role("button", name="Send it").click()
    with counter.page.expect_download() as taken:
        counter.page.get_by_role("link", name="Download one file").click()
    written = Path(taken.value.path()).read_text("utf-8")
    assert "<!DOCTYPE html>" in written
    [*_, last] = documents_of(counter.shop.store, counter.id)
    assert last.sha256 in written
    counter.page.get_by_role("button", name="Make a link").click()
    link = counter.page.get_by_label("The link", exact=True)
    expect(link).to_have_value(re.compile(f"^{re.escape(counter.shop.url)}/e/[-_A-Za-z0-9]{{22}}$"))
    counter.page.goto(link.input_value())
    expect(counter.page.locator("h1")).to_contain_text("Your estimate")
    counter.page.get_by_label("do it").first.check()
    counter.page.get_by_role("button", name="See what it comes to").click()
    expect(counter.page.locator(".agreed")).to_contain_text("You authorize work for $")
    counter.page.get_by_role("button", name="Yes, this is my answer").click()
    expect(counter.page.get_by_role("status")).to_contain_text("Thank you")
    assert counter.kept.estimate.consents[0].how == "link"


def test_two_at_one_estimate(visits, counter: Counter):
    other = Counter(visits.page(), counter.shop, counter.id).open("job j1")
    counter.open("job j1")
    counter.press("q")
    other.press("q")
    counter.type("3")
    counter.keep("Enter")
    visits.expect("409")
    other.type("4")
    other.press("Enter")
    expect(other.page.locator("#told")).to_contain_text("changed")
    assert counter.kept.estimate.jobs[0].choices[0].lines[0].quantity == 3


@pytest.mark.parametrize("width", [390, 820, 1400])
def test_nothing_reaches_beyond_the_page(visits, counter: Counter, width: int):
    page = visits.usual(viewport={"width": width, "height": 900})
    for path in (f"/estimates/{counter.id}", f"/estimates/{counter.id}#answer", "/estimates", "/prices", "/offers"):
        page.goto("about:blank")
        page.goto(counter.shop.url + path)
        page.wait_for_selector("#hand[data-revision]" if "estimates/" in path else "main h1")
        assert page.evaluate("document.documentElement.scrollWidth") <= width, path


def test_an_answer_on_paper_keeps_the_photographed_sheet(counter: Counter, tmp_path: Path):
    sheet = tmp_path / "sheet.png"
    counter.page.screenshot(path=str(sheet))
    counter.press("c")
    counter.page.locator("#hand .columns select").select_option("paper")
    counter.page.get_by_label("Photo of the signed sheet").set_input_files(str(sheet))
    counter.page.get_by_role("button", name="All: do it").click()
    expect(counter.page.locator(".agreed strong")).to_contain_text("$")
    counter.page.get_by_role("button", name="Keep the answer").click()
    expect(counter.page.locator("#hand")).to_contain_text("What the customer answered")
    [consent] = counter.kept.estimate.consents
    assert (consent.how, consent.number) == ("paper", None)
    assert consent.attachment
    expect(counter.page.locator("#hand")).to_contain_text("more may be charged unasked")
