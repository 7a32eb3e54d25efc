"""Every key of the key sheet does what the sheet says, and everything can be taken back."""

from collections.abc import Callable
from itertools import pairwise

import pytest
from browser_desk import Hands, tab_to
from browser_shop import TEXT, Shop, order, until
from playwright.sync_api import expect

from narrate.judge.unsettled import what_blocks


@pytest.fixture
def desk(hands: Callable[..., Hands], shop: Shop) -> Hands:
    """Return the page of a walk-round of its own, with the first open thing in hand."""
    return hands(shop.add(order=None))


def states(desk: Hands) -> dict[str, str]:
    return {each.id: each.review.state for each in desk.shop.walkaround(desk.id).findings}


def test_the_sheet_lists_every_key(desk: Hands):
    desk.press("?")
    sheet = desk.page.locator("dialog")
    expect(sheet).to_be_visible()
    keys = sheet.locator("kbd").all_inner_texts()
    assert set("cpswrnamxydgitojevu") <= set(keys)
    assert len(keys) == len(set(keys))
    desk.press("Escape")
    expect(sheet).to_be_hidden()
    assert desk.held.startswith("finding") or desk.held == ""


def test_enter_confirms_and_goes_on(desk: Hands, shop: Shop):
    first = shop.walkaround(desk.id).review_order[0]
    desk.keep("Enter")
    assert states(desk)[first] == "confirmed"
    assert desk.held == f"finding {shop.walkaround(desk.id).review_order[1]}"


def test_enter_pressed_fast_skips_nothing(desk: Hands):
    desk.press("Enter", "Enter", "Enter", "Enter")
    until(lambda: list(states(desk).values()).count("confirmed") == 4)
    desk.shown()
    assert desk.shop.whats(desk.id).count("confirm") == 4


def test_all_sure_ones_are_confirmed_at_once(desk: Hands):
    desk.keep("Shift+Enter")
    now = states(desk)
    assert "confirmed" in now.values()
    assert now["f1"] == "unreviewed"


def test_arrows_go_through_all_that_is_open(desk: Hands):
    seen = [desk.held]
    for _ in range(3):
        desk.press("ArrowDown")
        seen.append(desk.held)
    assert all(one != other for one, other in pairwise(seen))
    desk.press("ArrowUp")
    assert desk.held == seen[-2]


def test_drop_and_take_back_in(desk: Hands, shop: Shop):
    id_ = desk.open("finding f4").id
    desk.keep("x")
    assert shop.finding(id_, "f4").review.why == "not said so"
    assert "u takes it back" in desk.told()
    desk.keep("u")
    desk.open("finding f4").press("y")
    desk.type("said of another car")
    desk.keep("Enter")
    assert shop.finding(id_, "f4").review.why == "said of another car"
    desk.open("finding f4")
    assert "dropped" in desk.page.locator("#hand").inner_text()
    desk.keep("x")
    assert states(desk)["f4"] == "unreviewed"


def test_divide_by_place(desk: Hands, shop: Shop):
    desk.open("finding f5")
    desk.keep("d")
    assert [each.locations for each in shop.walkaround(desk.id).findings if each.component.id == "ball_joint"] == [
        ("front left lower",),
        ("front right lower",),
    ]


def test_same_as_another(desk: Hands, shop: Shop):
    desk.open("finding f5")
    desk.keep("d")
    twin = next(each for each in shop.walkaround(desk.id).findings if each.id not in {f"f{n}" for n in range(1, 8)})
    desk.open(f"finding {twin.id}")
    desk.press("g")
    assert "ball joint" in desk.page.locator("#hand .editor button").first.inner_text()
    desk.keep("1")
    assert states(desk)[twin.id] == "dropped"
    assert shop.finding(desk.id, twin.id).review.why == "merged into f5"
    assert desk.held == "finding f5"


def test_add_from_the_list(desk: Hands, shop: Shop):
    desk.press("i")
    desk.pick("exhaust muffler", "muffler")
    desk.keep("Enter")
    desk.press("2")
    desk.keep("Enter")
    desk.pick("leak", "leak")
    desk.press("Enter")
    desk.keep("Enter")
    desk.pick("replace", "replace")
    desk.keep("Enter")
    added = shop.walkaround(desk.id).findings[-1]
    assert "muffler" in added.component.name
    assert added.locations == ("rear",)
    assert len(added.conditions) == 1
    assert (added.recommendation.action, added.review.state, desk.held) == ("replace", "added", f"finding {added.id}")


def test_who_leaves_an_addition_is_back_where_they_were(desk: Hands, shop: Shop):
    desk.open("finding f3")
    before, title = shop.revision(desk.id), desk.title
    desk.press("i", "Escape")
    assert desk.title == title
    assert shop.revision(desk.id) == before


def test_add_while_a_concern_is_in_hand(hands: Callable[..., Hands], shop: Shop):
    desk = hands(shop.add("Air filter looks okay.", order=order("R-C1", concerns=("squeals when cold",))), "concern c1")
    desk.press("i")
    desk.pick("serpentine belt", "belt")
    desk.keep("Enter")
    assert shop.walkaround(desk.id).findings[-1].component.id.endswith("belt")


def test_a_stretch_of_words_becomes_a_finding(desk: Hands, shop: Shop):
    desk.press("v")
    expect(desk.page.locator(".transcript")).to_be_focused()
    at = TEXT.split().index("thingamajig")
    desk.press(*["ArrowRight"] * (at - 1), *["Shift+ArrowRight"] * 4, "Enter")
    assert "thingamajig is wobbling around" in desk.page.locator("#hand .editor").inner_text()
    desk.pick("heat shield", "heat shield")
    desk.keep("Enter")
    added = shop.walkaround(desk.id).findings[-1]
    assert added.evidence[0].said == "The thingamajig is wobbling around."


def test_v_closes_what_it_opened(desk: Hands):
    desk.press("v")
    expect(desk.page.locator(".transcript")).to_be_focused()
    desk.press("v")
    expect(desk.page.locator(".transcript")).to_be_hidden()
    assert desk.page.evaluate("document.activeElement.id") == "hand"


def test_words_not_understood_are_taken_up(desk: Hands, shop: Shop):
    desk.open("unplaced u1")
    desk.press("t")
    desk.pick("heat shield", "heat shield")
    desk.keep("Enter")
    kept = shop.walkaround(desk.id)
    assert kept.findings[-1].evidence[0].said.startswith("The thingamajig")
    assert "u1" not in {each.about for each in what_blocks(kept)}


def test_nothing_in_it(desk: Hands, shop: Shop):
    desk.open("unplaced u1")
    desk.keep("o")
    assert [(each.about, each.decided) for each in shop.walkaround(desk.id).decisions] == [("u1", "nothing_in_it")]


def test_a_suggestion_is_taken_up_or_put_away(desk: Hands, shop: Shop):
    desk.open("suggestion s1")
    desk.keep("o")
    assert shop.walkaround(desk.id).decisions[0].about == "s1"
    desk.open("suggestion s2")
    desk.press("t")
    desk.pick("wear sensor", "sensor")
    desk.keep("Enter")
    assert "sensor" in shop.walkaround(desk.id).findings[-1].component.name


@pytest.mark.parametrize(("key", "decided"), [("j", "settled"), ("o", "not_looked_at")])
def test_a_concern_is_decided(hands: Callable[..., Hands], shop: Shop, key, decided):
    desk = hands(shop.add("Air filter looks okay.", order=order(f"R-{key}", concerns=("vibrates at speed",))))
    desk.open("concern c1")
    desk.keep(key)
    kept = shop.walkaround(desk.id).decisions[0]
    assert (kept.about, kept.decided, kept.why) == ("c1", decided, None)


@pytest.mark.parametrize(("press", "decided"), [("Enter", "settled"), ("Not looked at", "not_looked_at")])
def test_a_concern_is_decided_with_a_reason(hands: Callable[..., Hands], shop: Shop, press, decided):
    desk = hands(shop.add("Air filter looks okay.", order=order(f"R-y{press}", concerns=("vibrates at speed",))))
    desk.open("concern c1")
    desk.press("y")
    desk.type("asked again by phone")
    if press == "Enter":
        desk.keep("Enter")
    else:
        tab_to(desk.page, press)
        desk.keep("Enter")
    kept = shop.walkaround(desk.id).decisions[0]
    assert (kept.about, kept.decided, kept.why) == ("c1", decided, "asked again by phone")


def test_a_concern_is_answered_by_a_finding(hands: Callable[..., Hands], shop: Shop):
    desk = hands(shop.add(order=order("R-A", concerns=("smells of fuel",))), "concern c1")
    desk.keep("1")
    kept = shop.walkaround(desk.id)
    assert [each.answers[0].link for each in kept.findings if each.answers] == ["stated"]


def test_words_are_corrected(desk: Hands, shop: Shop):
    desk.open("finding f4")
    desk.press("e")
    desk.type("Cabin filter looks okay.")
    desk.keep("Enter")
    kept = shop.walkaround(desk.id)
    assert [each.text for each in kept.edits] == ["Cabin"]
    assert "cabin" in " ".join(each.component.name for each in kept.findings)
    assert kept.recordings[0].words[24].text == "Air", "what was heard stays"


def test_undo_back_to_the_start_and_all_again(desk: Hands, shop: Shop):
    start = shop.walkaround(desk.id)
    desk.open("finding f1")
    desk.keep("Enter")
    desk.open("finding f2")
    desk.press("s")
    desk.keep("u")
    desk.keep("x")
    end = shop.walkaround(desk.id)
    for _ in range(3):
        desk.keep("u")
    assert shop.walkaround(desk.id) == start.model_copy(update={"ids_used": end.ids_used})
    assert desk.page.get_by_role("button", name="Undo").is_disabled()
    for key in ("Shift+U", "Control+Shift+z", "Shift+U"):
        desk.keep(key)
    assert shop.walkaround(desk.id) == end
    desk.keep("Control+z")


def test_nothing_to_undo_is_said(desk: Hands, visits):
    visits.expect("422")
    desk.press("u")
    assert "nothing to undo" in desk.told()


def test_sign_and_open_again(desk: Hands, shop: Shop, visits):
    visits.expect("status of 4")
    desk.press("Shift+S")
    assert desk.told()
    assert shop.walkaround(desk.id).signed is None
    while shop.walkaround(desk.id).signed is None:
        desk.keep("o" if desk.held.startswith("unplaced") else "Enter")
    assert "Signed by" in desk.title
    tab_to(desk.page, "Open it again")
    desk.keep("Enter")
    assert shop.walkaround(desk.id).signed is None


def test_slash_leads_to_the_search(desk: Hands):
    desk.press("/")
    expect(desk.page.locator("#find")).to_be_focused()
    desk.page.keyboard.type("no such plate")
    desk.press("Enter")
    expect(desk.page.locator("main")).to_contain_text("Nothing matches")
