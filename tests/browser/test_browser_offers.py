"""What was heard close by is offered under a number, and one key takes it; by touch as well."""

from collections.abc import Callable

import pytest
from browser_desk import Hands
from browser_shop import Shop
from playwright.sync_api import expect

from narrate.judge.unsettled import what_blocks

SPOKEN = (
    "Front brake pads are at three millimeters, the left rear shock is missing a bit, monitor it. "
    "Upper control arms are okay. The crack bar bushing is cracked, replace it. "
    "Battery tested good at 12.6 volts. The blimey hose whistles. Wiper blades are torn, replace them. "
    "The doohickey is wobbling around."
)
"""Misheard: misting for missing, a track bar bushing for a crack bar, and a hose that is none."""
TABLET = {"has_touch": True, "is_mobile": True, "viewport": {"width": 820, "height": 1180}}


@pytest.fixture
def own(hands: Callable[..., Hands], shop: Shop) -> Hands:
    return hands(shop.add(SPOKEN))


def of(desk: Hands, part: str) -> str:
    """The finding about a part."""
    return next(each.id for each in desk.shop.walkaround(desk.id).findings if each.component.id == part)


def offered(desk: Hands, name: str) -> str:
    """The number under which a name is offered."""
    row = desk.page.locator("#hand .matches li", has_text=name).first
    expect(row.locator("kbd")).to_be_visible()
    return row.locator("kbd").inner_text()


def test_a_part_that_sounds_like_it(own: Hands, shop: Shop):
    id_ = of(own, "sway_bar_bushing")
    own.open(f"finding {id_}").press("c")
    own.keep(offered(own, "track bar bushing"))
    assert shop.finding(own.id, id_).component.id == "track_bar_bushing"


def test_a_number_pressed_before_the_offers_are_there(own: Hands, shop: Shop):
    own.open(f"finding {of(own, 'sway_bar_bushing')}")
    own.keep("c", "1")
    assert shop.whats(own.id)[-1] == "component"


def test_a_digit_is_a_letter_where_nothing_is_offered(own: Hands):
    own.open("unplaced u1")
    own.press("i")
    own.page.keyboard.type("9")
    own.page.keyboard.type("x")
    expect(own.page.locator("#hand .editor input")).to_have_value("9x")


def test_what_is_wrong_and_what_to_do(own: Hands, shop: Shop):
    id_ = of(own, "shock_absorber")
    own.open(f"finding {id_}").press("w")
    own.keep(offered(own, "seeping"))
    assert [each.id for each in shop.finding(own.id, id_).conditions] == ["seeping"], "in place of what was taken"
    own.press("r")
    own.keep(offered(own, "replace"))
    assert shop.finding(own.id, id_).recommendation.action == "replace"


def test_the_other_side_by_one_letter(own: Hands, shop: Shop):
    id_ = of(own, "shock_absorber")
    own.open(f"finding {id_}")
    own.press("p", "0", "1")
    own.keep("Enter")
    own.press("p")
    own.keep("a")
    assert shop.finding(own.id, id_).locations == ("rear right",)
    own.press("p")
    own.keep("b")
    assert shop.finding(own.id, id_).locations == ("front right",)


def test_a_number_that_was_heard(own: Hands, shop: Shop):
    id_ = of(own, "shock_absorber")
    own.open(f"finding {id_}").press("n", "ArrowDown")
    expect(own.page.locator("#hand .editor input")).to_have_value("3 mm")
    own.keep("Enter")
    assert [(str(each.value), each.unit) for each in shop.finding(own.id, id_).measurements] == [("3", "mm")]


def test_words_not_understood_come_with_what_they_tell(own: Hands, shop: Shop):
    own.open("unplaced u1").press("t")
    own.keep(offered(own, "radiator hose"))
    made = shop.walkaround(own.id).findings[-1]
    assert (made.component.id, [each.id for each in made.conditions]) == ("radiator_hose", ["whistling"])
    assert made.evidence[0].said == "The blimey hose whistles."
    assert own.held == f"finding {made.id}"
    assert own.page.locator("#hand .editor").count() == 0, "nothing is asked that was told"


def test_a_part_that_was_named_and_is_in_no_finding(own: Hands, shop: Shop):
    own.press("i")
    own.keep(offered(own, "radiator hose"))
    made = shop.walkaround(own.id).findings[-1]
    assert made.evidence[0].said == "The blimey hose whistles."
    assert [each.id for each in made.conditions] == ["whistling"]


def test_nothing_in_the_rest(own: Hands, shop: Shop):
    own.open("unplaced u1")
    hand = own.page.locator("#hand")
    expect(hand).to_contain_text("Not understood either")
    expect(hand).to_contain_text("The doohickey is wobbling around.")
    own.keep("Shift+O")
    kept = shop.walkaround(own.id)
    assert [(each.about, each.decided) for each in kept.decisions] == [
        ("u1", "nothing_in_it"),
        ("u2", "nothing_in_it"),
    ]
    assert "unplaced" not in {each.kind for each in what_blocks(kept)}
    own.keep("u")
    assert shop.walkaround(own.id).decisions == (), "one key takes it all back"


def test_offers_by_touch(hands: Callable[..., Hands], shop: Shop):
    desk = hands(shop.add(SPOKEN), **TABLET)
    id_ = of(desk, "sway_bar_bushing")
    desk.open(f"finding {id_}")
    hand = desk.page.locator("#hand")

    def tap(label: str, offer: str) -> None:
        hand.locator(".field > button", has=desk.page.locator(f'.label:text-is("{label}")')).tap()
        with desk.page.expect_response(lambda answer: answer.request.method == "POST"):
            hand.locator(".editor .matches li, .editor button", has_text=offer).first.tap()
        desk.shown()

    tap("Component", "track bar bushing")
    tap("What is wrong", "leaking")
    tap("Place", "front")
    kept = shop.finding(desk.id, id_)
    assert (kept.component.id, [each.id for each in kept.conditions]) == ("track_bar_bushing", ["leaking"])
    assert kept.locations


def test_shift_keeps_and_goes_on(own: Hands, shop: Shop):
    """Which one comes next depends on what is doubtful after the change: each time it is another finding."""
    first = shop.walkaround(own.id).review_order[0]
    own.open(f"finding {first}")
    own.keep("s", "Shift+U")
    assert shop.finding(own.id, first).status == "unclear"
    second = own.held.removeprefix("finding ")
    assert second in shop.walkaround(own.id).review_order
    own.press("p", "0", "9")
    own.keep("Shift+Enter")
    assert shop.finding(own.id, second).locations == ("front right",)
    third = own.held.removeprefix("finding ")
    assert third in shop.walkaround(own.id).review_order
    own.press("w")
    expect(own.page.locator("#hand .matches li").first).to_be_visible()
    own.keep("Shift+Digit1")
    assert shop.finding(own.id, third).review.state == "corrected"
    assert len({first, second, third, own.held.removeprefix("finding ")}) == 4


def test_no_place_and_one_place_alone_by_a_letter(own: Hands, shop: Shop):
    id_ = of(own, "control_arm")
    own.open(f"finding {id_}")
    own.press("p", "0", "7", "9")
    own.keep("Enter")
    own.press("p")
    with own.page.expect_response(lambda answer: answer.request.method == "POST"):
        own.page.locator("#hand .places > .row").get_by_role("button", name="front left").first.click()
    own.shown()
    assert shop.finding(own.id, id_).locations == ("front left",)
    own.press("p")
    with own.page.expect_response(lambda answer: answer.request.method == "POST"):
        own.page.get_by_role("button", name="no place at all").click()
    own.shown()
    assert shop.finding(own.id, id_).locations == ()


def test_with_something_wrong_it_is_a_fault(own: Hands, shop: Shop):
    id_ = of(own, "battery")
    own.open(f"finding {id_}").press("w")
    own.pick("corroded", "corroded")
    own.press("Enter")
    own.keep("Enter")
    kept = shop.finding(own.id, id_)
    assert (kept.status, [each.id for each in kept.conditions]) == ("fault", ["corroded"])
