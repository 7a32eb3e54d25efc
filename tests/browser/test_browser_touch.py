"""A tablet at the car: everything by finger."""

from collections.abc import Callable

import pytest
from browser_desk import Hands
from browser_shop import Shop
from playwright.sync_api import Locator, expect

TABLET = {"has_touch": True, "is_mobile": True, "viewport": {"width": 820, "height": 1180}}


@pytest.fixture
def tablet(hands: Callable[..., Hands], shop: Shop) -> Hands:
    return hands(shop.add(), "finding f3", **TABLET)


def tap(desk: Hands, place: Locator) -> None:
    """Tap on what changes the list, and wait until that is shown."""
    with desk.page.expect_response(lambda answer: answer.request.method == "POST") as told:
        place.tap()
    assert told.value.ok, told.value.text()
    desk.shown()


def test_a_place_is_tapped_on_the_car(tablet: Hands, shop: Shop):
    hand = tablet.page.locator("#hand")
    hand.locator(".field > button", has=tablet.page.locator('.label:text-is("Place")')).tap()
    car = hand.get_by_role("group", name="The car from above")
    car.get_by_role("button", name="rear left").tap()
    car.get_by_role("button", name="front right").tap()
    expect(car.get_by_role("button", name="front right")).to_have_attribute("aria-pressed", "true")
    tap(tablet, hand.get_by_role("button", name="Keep", exact=True))
    assert shop.finding(tablet.id, "f3").locations == ("front right",)
    assert tablet.field("Place") == "front right"


def test_a_finding_is_confirmed_and_taken_back_by_tap(tablet: Hands, shop: Shop):
    tap(tablet, tablet.page.get_by_role("button", name="Right, next"))
    assert shop.finding(tablet.id, "f3").review.state == "confirmed"
    tap(tablet, tablet.page.get_by_role("button", name="Undo"))
    assert shop.finding(tablet.id, "f3").review.state == "unreviewed"


def test_a_tap_in_the_list_brings_it_into_view(tablet: Hands):
    tablet.page.set_viewport_size({"width": 390, "height": 800})
    row = tablet.page.locator("#list .item").last
    row.scroll_into_view_if_needed()
    row.tap()
    expect(tablet.page.locator("#in-hand")).to_be_in_viewport()


def test_a_stretch_of_words_is_chosen_by_tap(tablet: Hands):
    tablet.page.locator("#spoken summary").tap()
    tablet.page.locator(".transcript [data-word='29']").tap()
    tablet.page.locator(".transcript [data-word='31']").tap()
    tablet.page.get_by_role("button", name="Make a finding of the marked words").tap()
    expect(tablet.page.locator("#hand .editor")).to_contain_text("“thingamajig is wobbling”")
