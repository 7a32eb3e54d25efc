"""Corrections made and kept: judged as the shop says, with the order and the visit before; words found anew."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from corrected import SAID, found, of, word
from whole_page import Page

from narrate.errors import ConflictError, MissingError, UsageError
from narrate.records.order import Order, OrderVehicle
from narrate.records.walkaround import Walkaround
from narrate.review import changing
from narrate.review.changing import TRIES, finding, judging, make_change
from narrate.review.corrections.asked import parse
from narrate.store.orders import add_order, attach
from narrate.store.shop import change_shop
from narrate.store.vehicles import link_vehicle, new_vehicle
from narrate.store.walkarounds import change_walkaround, history, read_walkaround


@pytest.fixture
def page(tmp_path: Path) -> Iterator[Page]:
    page = Page(tmp_path)
    yield page
    page.close()


def edit(page: Page, id_: str, said: str, text: str) -> None:
    at = word(read_walkaround(page.store, id_).walkaround, said)
    asked = parse({"do": "edit", "recording": "r1", "first_word": at, "last_word": at, "text": text})
    make_change(page.desk, id_, asked, who="Ann")


def test_a_change_is_one_event_that_says_who_what_why_and_about(page: Page) -> None:
    id_ = page.add()
    held = make_change(page.desk, id_, parse({"do": "drop", "finding": "f2", "why": "of the car before"}), who="Ann")
    *_, event = history(page.store, id_)
    assert (event.what, event.who, event.why, event.about) == ("drop", "Ann", "of the car before", "f2")
    assert event.number == held.revision
    assert len(history(page.store, id_)) == 2


def test_what_is_so_already_is_no_event(page: Page) -> None:
    id_ = page.add()
    asked = parse({"do": "locations", "finding": "f2", "to": ["rear left"], "seen": ["rear left"]})
    make_change(page.desk, id_, asked, who="Ann")
    assert len(history(page.store, id_)) == 1


def test_what_is_missing_is_missing(page: Page) -> None:
    with pytest.raises(MissingError):
        make_change(page.desk, "w9", parse({"do": "sign"}), who="Ann")


def test_numbers_are_judged_again_by_the_shops_own_choice(page: Page) -> None:
    id_ = page.add()
    quantity = of(found(SAID), "brake_pad").measurements[0].quantity
    asked = parse(
        {
            "do": "measurements",
            "finding": "f1",
            "to": [{"value": "0.5", "unit": "mm", "quantity": quantity, "location": "front left"}],
            "seen": ["3", "4"],
        }
    )
    held = make_change(page.desk, id_, asked, who="Ann")
    [measurement] = of(held.walkaround, "brake_pad").measurements
    assert measurement.verdict is not None
    assert measurement.verdict.result == "below"
    change_shop(page.store, {"rule_set": "gb"}, who="Ann")
    settings = judging(page.desk, held).keywords["settings"]
    assert settings.rule_set == "gb"
    assert settings.market == held.walkaround.market


def test_the_visit_before_is_compared_with_unless_it_is_alone(page: Page) -> None:
    vehicle = new_vehicle(page.store, OrderVehicle(plate="7ABC123"), who="Ann")
    earlier, id_ = page.add(), page.add()
    for each in (earlier, id_):
        link_vehicle(page.store, each, vehicle, who="Ann")
    held = page.held(id_)
    assert judging(page.desk, held).keywords["previous"].id == earlier
    assert judging(page.desk, held, alone=True).keywords["previous"] is None
    assert judging(page.desk, page.held(earlier)).keywords["previous"] is None


def test_the_orders_concerns_are_heard_for_unless_it_is_alone(page: Page) -> None:
    id_ = page.add()
    visit = add_order(page.store, Order(number="R-7", concerns=("the heater smells",)), who="Ann")
    attach(page.store, id_, visit, who="Ann")
    held = page.held(id_)
    assert judging(page.desk, held).keywords["order"].number == "R-7"
    assert finding(page.desk, held).keywords["order"].concerns == ("the heater smells",)
    assert finding(page.desk, held, alone=True).keywords["order"].concerns == ()
    found_again = finding(page.desk, held)(held.walkaround.recordings)
    assert "the heater smells" in [concern.text for concern in found_again.concerns]


def test_words_corrected_stay_as_heard_and_are_found_anew(page: Page) -> None:
    id_ = page.add()
    edit(page, id_, "leaking", "broken,")
    walkaround = page.held(id_).walkaround
    assert walkaround.recordings == found(SAID).recordings
    assert walkaround.edits[0].text == "broken,"
    shock = of(walkaround, "shock_absorber")
    assert [each.id for each in shock.conditions] == ["broken"]


def test_a_change_made_meanwhile_is_not_lost(page: Page, monkeypatch: pytest.MonkeyPatch) -> None:
    id_ = page.add()
    real = changing.apply
    calls = []

    def slow(walkaround: Walkaround, *args: object, **keys: object) -> Walkaround:
        calls.append(walkaround)
        after = real(walkaround, *args, **keys)  # type: ignore[arg-type]
        if len(calls) == 1:
            change_walkaround(page.store, id_, who="Bob", what="head", make=_technician("Sam"))
        return after

    monkeypatch.setattr(changing, "apply", slow)
    edit(page, id_, "leaking", "broken,")
    assert len(calls) == 2, "found anew on what the list had become"
    walkaround = page.held(id_).walkaround
    assert walkaround.technician == "Sam"
    assert [each.id for each in of(walkaround, "shock_absorber").conditions] == ["broken"]
    assert [event.who for event in history(page.store, id_)] == ["Ana", "Bob", "Ann"]


def test_it_gives_up_where_others_never_stop(page: Page, monkeypatch: pytest.MonkeyPatch) -> None:
    id_ = page.add()
    calls = []

    def disturbed(walkaround: Walkaround, *args: object, **keys: object) -> Walkaround:
        calls.append(walkaround)
        change_walkaround(page.store, id_, who="Bob", what="head", make=_technician(f"Sam {len(calls)}"))
        return walkaround.model_copy(update={"technician": "Ann's"})

    monkeypatch.setattr(changing, "apply", disturbed)
    with pytest.raises(ConflictError, match="try again in a moment"):
        edit(page, id_, "leaking", "broken,")
    assert len(calls) == TRIES
    assert page.held(id_).walkaround.technician == f"Sam {TRIES}"


def test_a_refused_change_leaves_no_event(page: Page) -> None:
    id_ = page.add()
    with pytest.raises(UsageError, match="cannot be signed yet"):
        make_change(page.desk, id_, parse({"do": "sign"}), who="Ann")
    assert len(history(page.store, id_)) == 1


def _technician(name: str):
    return lambda walkaround: walkaround.model_copy(update={"technician": name})


def signed(page: Page, text: str, **head: str) -> str:
    """A walk-round of one sure finding, checked and signed."""
    id_ = page.add(text, **head)
    walkaround = page.held(id_).walkaround
    make_change(page.desk, id_, parse({"do": "confirm", "findings": [f.id for f in walkaround.findings]}), who="Ann")
    make_change(page.desk, id_, parse({"do": "sign"}), who="Ann")
    return id_


def test_a_signed_vehicle_is_known_when_it_comes_back(page: Page) -> None:
    """A plate heard without an order makes a row at signing; the second visit with it is a person's to settle."""
    first = signed(page, "air filter is dirty, replace it", plate="7ABC 123")
    vehicle = page.held(first).vehicle_id
    assert vehicle is not None
    second = signed(page, "wiper blades are torn, replace them", plate="7abc-123")
    assert page.held(second).vehicle_id is None
    assert "that was here before" in page.text(f"/walkarounds/{second}")


def test_a_vehicle_is_the_same_by_its_vin(page: Page) -> None:
    first = signed(page, "air filter is dirty, replace it", vin="1M8GDM9AXKP042788")
    second = signed(page, "wiper blades are torn, replace them", vin="1M8GDM9AXKP042788")
    assert page.held(first).vehicle_id == page.held(second).vehicle_id is not None


def test_a_vehicle_nobody_named_gets_no_row(page: Page) -> None:
    assert page.held(signed(page, "air filter is dirty, replace it")).vehicle_id is None
