"""Two people at one walk-round, and a page that is loaded anew in the middle of things."""

from collections.abc import Callable

import pytest
from browser_desk import Hands
from browser_shop import Shop
from playwright.sync_api import expect


@pytest.fixture
def walkaround(shop: Shop) -> str:
    return shop.add()


@pytest.fixture
def two(visits, shop: Shop, walkaround: str) -> tuple[Hands, Hands]:
    """Return two browsers that both have finding f1 in hand."""
    one, other = (Hands(visits.page(), shop, walkaround).open("finding f1") for _ in range(2))
    return one, other


def test_each_sees_what_the_other_does(two: tuple[Hands, Hands]):
    for one, other, key, shows in ((*two, "u", "not settled"), (*two[::-1], "o", "fine")):
        one.press("s")
        one.keep(key)
        expect(other.page.locator("#hand")).to_contain_text(shows, timeout=2000)
        assert "Changed by" in other.told()


def test_the_second_to_change_a_field_is_told(two: tuple[Hands, Hands], shop: Shop, visits):
    visits.expect("409")
    one, other = two
    one.press("n")
    other.press("n")
    one.type("4 mm")
    one.keep("Enter")
    other.type("2 mm")
    other.press("Enter")
    expect(other.page.locator("#told")).to_contain_text("look")
    assert str(shop.finding(one.id, "f1").measurements[0].value) == "4"
    expect(other.page.locator("#hand .editor")).to_have_count(0)
    other.shown()
    other.press("n")
    other.type("2 mm")
    other.keep("Enter")
    assert str(shop.finding(one.id, "f1").measurements[0].value) == "2"


def test_different_fields_both_stay(two: tuple[Hands, Hands], shop: Shop):
    one, other = two
    one.press("n")
    other.press("p", "0", "7")
    one.type("4 mm")
    one.keep("Enter")
    other.keep("Enter")
    kept = shop.finding(one.id, "f1")
    assert (str(kept.measurements[0].value), kept.locations) == ("4", ("front left",))


def test_typing_is_not_disturbed_by_the_other(two: tuple[Hands, Hands]):
    one, other = two
    other.press("n")
    other.type("3.2 m")
    one.press("s")
    one.keep("u")
    expect(other.page.locator("#told")).to_contain_text("Changed by")
    other.page.keyboard.type("m")
    assert other.page.locator("#hand .editor input").input_value() == "3.2 mm"
    other.keep("Enter")


def test_a_reload_keeps_what_is_in_hand(hands: Callable[..., Hands], shop: Shop, walkaround: str):
    desk = hands(walkaround, "finding f3")
    desk.press("ArrowDown")
    held, title, before = desk.held, desk.title, shop.revision(walkaround)
    desk.press("n")
    desk.type("9 m")
    desk.page.reload()
    desk.shown()
    assert (desk.held, desk.title) == (held, title)
    assert desk.page.locator("#hand .editor").count() == 0
    assert shop.revision(walkaround) == before
