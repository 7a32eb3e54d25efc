"""The page of the price book, what was offered by month as a drawing, and what was declined before."""

import xml.etree.ElementTree as ET
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest
from estimate_desk import BOOK, SAID, Shop

from narrate.price.book_file import book_bytes
from narrate.records.order import OrderVehicle
from narrate.review.offers_picture import Month, offers_picture
from narrate.store.books import has_book, read_book
from narrate.store.vehicles import link_vehicle, new_vehicle

SVG = "{http://www.w3.org/2000/svg}"
D = Decimal


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    made = Shop(tmp_path)
    yield made
    made.close()


def upload(shop: Shop, content: bytes, name: str = "book.csv"):
    return shop.client.post("/prices/import", files={"file": (name, content)})


@pytest.mark.parametrize("name", ["book.csv", "book.xlsx"])
def test_a_book_goes_out_and_comes_in_again(shop: Shop, name: str):
    content = shop.client.get(f"/prices/{name}").content
    assert upload(shop, content, name).status_code == 303
    assert read_book(shop.store).operations == BOOK.operations
    assert read_book(shop.store).parts == BOOK.parts
    assert "1 operation, 2 parts" in shop.text("/prices?taken=1")


def test_all_mistakes_are_told_and_nothing_is_changed(shop: Shop):
    before = read_book(shop.store)
    good = book_bytes(BOOK).decode()
    bad = good.replace("brake_pad", "break_pad").replace("1.2", "-1.2")
    answer = upload(shop, bad.encode())
    assert answer.status_code == 422
    assert answer.text.count("<div>") >= 3
    assert "break_pad" in answer.text
    assert "Nothing was changed" in answer.text
    assert read_book(shop.store) == before


@pytest.mark.parametrize("content", [b"", b"\xff\xfe\x00\x01", b"PK\x03\x04 no zip", b"a;b\n1;2\n"])
def test_what_is_no_book(shop: Shop, content: bytes):
    assert upload(shop, content).status_code == 422


def test_an_advisor_sees_the_book_and_an_owner_changes_it(shop: Shop):
    shop.sign_in_as("advisor")
    assert "Bring in a book" not in shop.text("/prices")
    assert upload(shop, b"x").status_code == 403


def test_a_shop_without_a_book(tmp_path: Path):
    shop = Shop(tmp_path, book=None)
    try:
        assert "There is no price book yet" in shop.text("/prices")
        assert shop.client.get("/prices/book.csv").status_code == 404
        assert not has_book(shop.store)
    finally:
        shop.close()


def test_months_are_drawn_with_patterns_and_told_in_numbers(shop: Shop):
    shop.estimate()
    shop.ask("e1", "price", thing="p1", hours="1", rate="100")
    shop.say("e1", {"j1": {"state": "authorized"}, "j2": {"state": "declined"}})
    page = shop.text("/offers")
    assert "$155.00" in page
    assert "<svg" in page
    assert "1 of 2" in page
    assert "No estimate was offered" in shop.text("/offers?since=2020-01-01&until=2020-12-31")
    for wrong in ("since=2027-01-01&until=2026-01-01", "since=1900-01-01", "since=yesterday"):
        assert shop.client.get(f"/offers?{wrong}").status_code == 422


def test_bars_are_as_high_as_their_sums():
    months = [
        Month(name="2026-10", authorized=D("100"), declined=D("50"), waiting=D("50")),
        Month(name="2026-11"),
        Month(name="2026-12", authorized=D("400")),
    ]
    drawn = ET.fromstring(offers_picture(months, "USD"))
    heights = [int(bar.get("height", "")) for bar in drawn.iter(f"{SVG}rect")]
    assert heights == [65, 33, 32, 260]
    fills = [bar.get("fill") for bar in drawn.iter(f"{SVG}rect")]
    assert fills == ["currentColor", "url(#hatched)", "none", "currentColor"]
    told = drawn.findtext(f"{SVG}desc") or ""
    assert "2026-10: offered $200.00, authorized $100.00, declined $50.00" in told


def test_nothing_offered_draws_an_empty_scale():
    drawn = ET.fromstring(offers_picture([Month(name="2026-10")], "JPY"))
    assert not list(drawn.iter(f"{SVG}rect"))


def test_what_was_declined_is_told_at_the_next_visit(shop: Shop):
    first = shop.signed("Front pads are at three millimeters, replace them.")
    vehicle = new_vehicle(shop.store, OrderVehicle(plate="7ABC123"), who="Ana")
    link_vehicle(shop.store, first, vehicle, who="Ana")
    estimate = shop.estimate(first)
    shop.say(estimate, {"j1": {"state": "declined"}})
    second = shop.add(SAID)
    link_vehicle(shop.store, second, vehicle, who="Ana")
    page = shop.text(f"/walkarounds/{second}")
    assert "1 declined or to be watched at an earlier visit" in page
    assert "measured then: 3 mm" in page
    assert f"/walkarounds/{second}#finding%20f1" in page
    [told] = shop.get(f"/api/estimates/{shop.estimate(second)}")["before"]
    assert "declined on" in told["text"]
