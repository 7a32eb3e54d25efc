"""Space plays the very moment at which a finding was spoken."""

from collections.abc import Callable

import pytest
from browser_desk import Hands
from browser_shop import WORD_S, Shop, until
from playwright.sync_api import expect

PLAYS = "!document.querySelector('#sound').paused"
AT = "document.querySelector('#sound').currentTime"


def plays(desk: Hands) -> bool:
    """Whether sound is heard, and not only about to be."""
    return bool(desk.page.evaluate(f"{PLAYS} && {AT} > 0"))


def still(desk: Hands) -> bool:
    return not desk.page.evaluate(PLAYS)


@pytest.fixture
def tire(hands: Callable[..., Hands], shop: Shop) -> Hands:
    return hands(shop.add_spoken(), "finding f3")


def test_space_plays_the_evidence_and_stops(tire: Hands, shop: Shop):
    piece = shop.finding(tire.id, "f3").evidence[0]
    assert piece.start_s == pytest.approx(13 * WORD_S)
    tire.press("Space")
    until(lambda: plays(tire))
    assert piece.start_s - 0.5 <= tire.page.evaluate(AT) <= piece.end_s + 0.8
    tire.press("Space")
    until(lambda: still(tire))


def test_it_ends_where_the_words_end(tire: Hands, shop: Shop):
    piece = shop.finding(tire.id, "f4").evidence[0]
    tire.open("finding f4")
    tire.press("Space")
    until(lambda: plays(tire))
    until(lambda: still(tire))
    assert piece.end_s <= tire.page.evaluate(AT) <= piece.end_s + 1.2


def test_listening_keeps_the_focus_where_it_was(tire: Hands):
    button = tire.page.locator("#hand").get_by_role("button", name="Listen")
    button.focus()
    tire.press("Enter")
    stop = tire.page.locator("#hand").get_by_role("button", name="Stop")
    expect(stop).to_be_focused()
    tire.press("Enter")
    expect(button).to_be_focused()
    assert tire.held == "finding f3"


def test_from_the_words_on(tire: Hands):
    tire.press("v")
    expect(tire.page.locator(".transcript")).to_be_focused()
    tire.press(*["ArrowDown"] * 2, "Space")
    until(lambda: plays(tire))
    assert tire.page.evaluate(AT) >= 24 * WORD_S - 0.5
    tire.press("Escape")
