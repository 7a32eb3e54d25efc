"""The list of walk-rounds and the search in it."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from corrected import AT, SAID, confirmed, found
from whole_page import Page, with_head

from narrate.records.order import Customer, Order, OrderVehicle
from narrate.records.reviewed import Signed
from narrate.review.home import AT_ONCE
from narrate.store.jobs import queue_job
from narrate.store.orders import add_order, attach
from narrate.store.recordings import keep_recording
from narrate.store.walkarounds import set_aside


@pytest.fixture
def page(tmp_path: Path) -> Iterator[Page]:
    page = Page(tmp_path)
    yield page
    page.close()


def test_an_empty_list_says_what_to_do(page: Page) -> None:
    shown = page.text("/")
    assert "Nothing waits." in shown
    assert 'href="/uploads"' in shown


def test_each_line_leads_to_its_walkaround(page: Page) -> None:
    id_ = page.add(plate="7ABC123", year=2015, make="Toyota", model="Corolla", order_number="R-77")
    shown = page.text("/")
    assert f'<a href="/walkarounds/{id_}">7ABC123</a>' in shown
    assert "2015 Toyota Corolla" in shown
    assert "R-77" in shown
    assert "To check" in shown
    assert "<h2>Signed</h2>" not in shown


def test_signed_ones_come_apart_and_those_set_aside_not_at_all(page: Page) -> None:
    page.keep(with_head(confirmed(found(SAID)), plate="SIGNED1").model_copy(update={"signed": Signed(by="Ann", at=AT)}))
    aside = page.add(plate="ASIDE1")
    set_aside(page.store, aside, who="Ann", why="twice")
    shown = page.text("/")
    assert "<h2>Signed</h2>" in shown
    assert "<h2>To check</h2>" not in shown
    assert "ASIDE1" not in shown


def test_search_finds_by_plate_name_and_order(page: Page) -> None:
    id_ = page.add(plate="7ABC123")
    page.add(plate="XYZ 9")
    order = Order(number="R-77", customer=Customer(name="Ida Ödegård"), vehicle=OrderVehicle(plate="7ABC123"))
    attach(page.store, id_, add_order(page.store, order, who="Ann"), who="Ann")
    for query in ("7abc 123", "7ABC-123", "ödegård", "r-77", id_):
        shown = page.text(f"/?q={query}")
        assert "7ABC123" in shown, query
        assert "XYZ 9" not in shown, query


def test_what_is_not_found_is_said_without_running_what_was_typed(page: Page) -> None:
    page.add(plate="7ABC123")
    shown = page.text("/?q=<script>alert(1)</script>")
    assert "Nothing matches" in shown
    assert "<script>alert" not in shown
    assert page.text("/?q=%25").count("7ABC123") == 0, "a percent sign is a percent sign"


def test_more_leads_on_through_all(page: Page) -> None:
    bare = found(SAID).model_copy(update={"findings": (), "concerns": (), "unplaced": (), "suggestions": ()})
    for number in range(AT_ONCE + 5):
        page.keep(with_head(bare, plate=f"P{number}"))
    first = page.text("/")
    assert first.count("/walkarounds/") == AT_ONCE
    link = first.split('href="/?q=&amp;before=')[1].split('"')[0]
    second = page.text(f"/?q=&before={link}")
    assert second.count("/walkarounds/") == 5


def test_recordings_being_heard_are_told_of(page: Page, tmp_path: Path) -> None:
    source = tmp_path / "bay.wav"
    source.write_bytes(b"a sound")
    sha256 = keep_recording(page.store, source, name="bay.wav", suffix=".wav", duration_s=2.0, video=False)
    queue_job(page.store, [sha256], name="bay.wav", who="Ann", total_s=2.0)
    assert "1 recording being heard" in page.text("/")


def test_a_list_cannot_go_on_behind_what_is_not_there(page: Page) -> None:
    answer = page.client.get("/?before=w999")
    assert answer.status_code == 404
    assert "That did not work" in answer.text
    assert "w999" in answer.text


def test_too_long_a_search_is_refused_with_a_page(page: Page) -> None:
    answer = page.client.get("/?q=" + "a" * 201)
    assert answer.status_code == 422
    assert "That did not work" in answer.text


def test_names_of_vehicles_are_text(page: Page) -> None:
    page.add(plate='"><b>bold</b>', make="<i>Make</i>")
    shown = page.text("/")
    assert "<b>bold" not in shown
    assert "<i>Make" not in shown
