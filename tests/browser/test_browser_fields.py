"""Every field of a finding is changed by its key, and the store holds what was typed."""

from collections.abc import Callable

import pytest
from browser_desk import Hands
from browser_shop import Shop, order


@pytest.fixture(scope="module")
def walkaround(shop: Shop) -> str:
    return shop.add(order=order("R-1", concerns=("grinding from the front",)))


@pytest.fixture
def pads(hands: Callable[..., Hands], walkaround: str) -> Hands:
    return hands(walkaround, "finding f1")


def test_component(pads: Hands, shop: Shop):
    pads.press("c")
    pads.pick("caliper", "caliper")
    pads.keep("Enter")
    kept = shop.finding(pads.id, "f1")
    assert "caliper" in kept.component.name
    assert (kept.review.state, pads.field("Component")) == ("corrected", kept.component.name)
    pads.keep("u")
    assert shop.finding(pads.id, "f1").component.name == "brake pad"


def test_what_is_typed_fast_is_what_is_taken(pads: Hands, shop: Shop):
    pads.press("c")
    pads.page.keyboard.type("wiper blade")
    pads.keep("Enter")
    assert shop.finding(pads.id, "f1").component.name == "wiper blade"
    pads.keep("u")


def test_places_on_the_keypad(pads: Hands, shop: Shop):
    pads.press("p", "0", "7", "3", "i")
    pads.keep("Enter")
    assert shop.finding(pads.id, "f1").locations == ("front left inner", "rear right inner")
    pads.press("p", "5")
    pads.keep("Enter")
    assert shop.finding(pads.id, "f1").locations == tuple(
        f"{end} {side} inner" for end in ("front", "rear") for side in ("left", "right")
    )


def test_status(pads: Hands, shop: Shop):
    pads.press("s")
    pads.keep("u")
    assert shop.finding(pads.id, "f1").status == "unclear"
    pads.press("s")
    pads.keep("f")
    assert shop.finding(pads.id, "f1").status == "fault"


def test_what_is_wrong(pads: Hands, shop: Shop):
    pads.press("w")
    pads.pick("crack", "crack")
    pads.press("Enter")
    pads.keep("Enter")
    assert [each.id for each in shop.finding(pads.id, "f1").conditions] == ["worn", "cracked"]
    pads.press("w", "Backspace")
    pads.keep("Enter")
    assert [each.id for each in shop.finding(pads.id, "f1").conditions] == ["worn"]


def test_recommendation(pads: Hands, shop: Shop):
    pads.press("r")
    pads.pick("clean", "clean")
    pads.keep("Enter")
    assert shop.finding(pads.id, "f1").recommendation.action == "clean"
    pads.press("r")
    pads.keep("Backspace")
    assert shop.finding(pads.id, "f1").recommendation.action is None


def test_numbers(pads: Hands, shop: Shop):
    pads.press("n")
    pads.type("2.5 mm fl, about 3-4 mm front right")
    pads.keep("Enter")
    kept = shop.finding(pads.id, "f1").measurements
    assert [(str(each.value), each.high and str(each.high), each.unit, each.location, each.about) for each in kept] == [
        ("2.5", None, "mm", "front left", False),
        ("3", "4", "mm", "front right", True),
    ]


def test_a_number_without_a_unit_is_told(pads: Hands, shop: Shop):
    before = shop.revision(pads.id)
    pads.press("n")
    pads.type("3 furlongs")
    pads.press("Enter")
    assert "no unit that is known" in pads.page.locator("#hand [role=alert]").inner_text()
    pads.press("Escape")
    assert pads.page.locator("#hand .editor").count() == 0
    assert shop.revision(pads.id) == before


def test_which_concern_it_answers(pads: Hands, shop: Shop):
    pads.press("a", "1")
    pads.keep("Enter")
    assert [(each.concern, each.link) for each in shop.finding(pads.id, "f1").answers] == [("c1", "stated")]
    pads.press("a", "1")
    pads.keep("Enter")
    assert shop.finding(pads.id, "f1").answers == ()


@pytest.mark.parametrize(
    ("label", "typed", "read"),
    [
        ("Why", "noise when braking", lambda finding: finding.reason == "noise when braking"),
        ("What may follow", "worn rotors", lambda finding: finding.consequence == "worn rotors"),
        ("Which one", "outer pad", lambda finding: finding.position == "outer pad"),
        ("How it was tested", "gauge; by eye", lambda finding: finding.tests == ("gauge", "by eye")),
        ("Trouble codes", "C0035, P0300", lambda finding: finding.codes == ("C0035", "P0300")),
        ("Price said", "140 USD new", lambda finding: str(finding.quoted_prices[0].amount) == "140"),
    ],
)
def test_rarer_fields_are_behind_m(pads: Hands, shop: Shop, label, typed, read):
    pads.press("m")
    row = pads.page.locator("#hand .field > button", has=pads.page.locator(f'.label:text-is("{label}")'))
    row.focus()
    pads.press("Enter")
    pads.type(typed)
    pads.keep("Enter")
    assert read(shop.finding(pads.id, "f1"))


def test_how_soon(pads: Hands, shop: Shop):
    pads.press("m")
    pads.page.locator("#hand .field > button", has_text="How soon").focus()
    pads.press("Enter", "Home", "ArrowDown")
    pads.keep("Enter")
    kept = shop.finding(pads.id, "f1").urgency
    assert kept
    assert kept.when == "before_driving"


def test_part_options(pads: Hands, shop: Shop):
    pads.press("m")
    pads.page.locator("#hand .field > button", has=pads.page.locator('.label:text-is("Part")')).focus()
    pads.press("Enter", "Tab", "Space", "Tab", "Tab", "Space")
    pads.keep("Enter")
    assert shop.finding(pads.id, "f1").part_options == ("new", "rebuilt")


def test_leaving_an_editor_changes_nothing(pads: Hands, shop: Shop):
    before = shop.revision(pads.id)
    for key in "cpswrna":
        pads.press(key)
        assert pads.page.locator("#hand .editor").count() == 1
        pads.press("Escape")
        assert pads.page.locator("#hand .editor").count() == 0
        assert pads.page.evaluate("document.activeElement.id") == "hand"
    pads.press("p", "Tab", "Escape")
    assert pads.page.locator("#hand .editor").count() == 0
    assert shop.revision(pads.id) == before
