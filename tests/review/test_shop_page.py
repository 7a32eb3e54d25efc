"""The Shop page: what is set, who works here, the own words, and what is corrected most."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from argon2 import PasswordHasher
from orders_app import small_app, small_client
from starlette.testclient import TestClient

from narrate.find.mining import text_recording
from narrate.pipeline import process_words
from narrate.records.reviewed import Review
from narrate.records.walkaround import Component, Walkaround
from narrate.settings import Settings
from narrate.store import people
from narrate.store.corrected import Corrected, what_is_corrected
from narrate.store.engine import Store
from narrate.store.people import add_person, list_people, set_pin
from narrate.store.shop import Retention, Shop, read_shop
from narrate.store.walkarounds import add_walkaround, change_walkaround, redo, undo
from narrate.words.load import load_lexicon
from narrate.words.shop import own_words_csv, read_own_words

Page = tuple[TestClient, Store]


@pytest.fixture
def page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Page]:
    quick = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    monkeypatch.setattr(people, "PasswordHasher", lambda: quick)
    client, store = small_client(tmp_path)
    yield client, store
    store.close()


def test_details_are_set_and_shown(page: Page) -> None:
    client, store = page
    assert "Nothing was corrected yet" in client.get("/shop").text
    answer = client.post(
        "/shop/details",
        data={"name": "Corner <Garage>", "address": "1 Main St\r\nSpringfield", "labor_rate": "135.00", "email": ""},
    )
    assert (answer.status_code, answer.headers["location"]) == (303, "/shop#details")
    shop = read_shop(store)
    assert (shop.name, shop.address, str(shop.labor_rate)) == ("Corner <Garage>", "1 Main St\nSpringfield", "135.00")
    shown = client.get("/shop").text
    assert 'value="Corner &lt;Garage&gt;"' in shown
    assert "1 Main St\nSpringfield" in shown
    client.post("/shop/details", data={"name": ""})
    assert read_shop(store) == Shop()


def test_a_wrong_detail_is_told_and_nothing_typed_is_lost(page: Page) -> None:
    client, store = page
    answer = client.post("/shop/details", data={"name": "Corner", "labor_rate": "135,00"})
    assert answer.status_code == 422
    assert "labor rate: " in answer.text
    assert 'value="135,00"' in answer.text
    assert 'value="Corner"' in answer.text
    assert read_shop(store) == Shop()


def test_what_work_is_done_with_is_chosen_from_what_there_is(page: Page) -> None:
    client, store = page
    chosen = {"market": "gb", "drive_side": "", "rule_set": "gb", "model": "tiny.en"}
    shown = client.get("/shop").text
    assert "United States (as the settings file says)" in shown
    assert "left, usual in the market" in shown
    rule_set = next(part.split('"')[0] for part in shown.split('<option value="') if ">Great Britain<" in part)
    assert rule_set
    for wrong in ({"model": "/etc"}, {"rule_set": "mars"}, {"market": "mars"}):
        assert client.post("/shop/work", data=chosen | wrong).status_code == 422
    assert read_shop(store) == Shop()
    sets = [part.split('"')[0] for part in shown.split('name="rule_set"')[1].split("</select>")[0].split('value="')[2:]]
    assert client.post("/shop/work", data=chosen | {"rule_set": sets[0]}).status_code == 303
    shop = read_shop(store)
    assert (shop.market, shop.drive_side, shop.rule_set, shop.model) == ("gb", None, sets[0], "tiny.en")
    assert "right, usual in the market" in client.get("/shop").text


def test_an_environment_variable_is_told(page: Page, monkeypatch: pytest.MonkeyPatch) -> None:
    client, _ = page
    assert "NARRATE_MODEL" not in client.get("/shop").text
    monkeypatch.setenv("NARRATE_MODEL", "base")
    assert "NARRATE_MODEL settles it" in client.get("/shop").text


def test_people_are_added_and_changed(page: Page) -> None:
    client, store = page
    assert client.post("/shop/people", data={"name": "Kev", "role": "technician"}).status_code == 303
    (kev,) = list_people(store)
    assert client.post(f"/shop/people/{kev.id}", data={"name": "Kevin", "role": "advisor"}).status_code == 303
    (kevin,) = list_people(store)
    assert (kevin.name, kevin.role, kevin.active) == ("Kevin", "advisor", False)
    shown = client.get("/shop").text
    assert "Kevin – advisor, no longer here, without a PIN" in shown
    for wrong in ({"name": "", "role": "owner"}, {"name": "Lou", "role": "king"}, {"name": "kevin", "role": "owner"}):
        assert client.post("/shop/people", data=wrong).status_code == 422
    assert len(list_people(store)) == 1


def test_the_first_pin_is_an_owners_and_then_everybody_signs_in(page: Page) -> None:
    client, store = page
    kev = add_person(store, name="Kev", role="technician", who="Ann")
    ann = add_person(store, name="Ann", role="owner", who="Ann")
    refused = client.post(f"/shop/people/{kev}/pin", data={"pin": "4829"})
    assert refused.status_code == 422
    assert "give an owner a PIN first" in refused.text
    assert client.post(f"/shop/people/{ann}/pin", data={"pin": "12"}).status_code == 422
    assert client.post(f"/shop/people/{ann}/pin", data={"pin": "482915"}).status_code == 303
    answer = client.get("/shop")
    assert (answer.status_code, answer.headers["location"][:8]) == (303, "/sign-in")
    assert client.post("/shop/details", data={"name": "Mine"}).status_code == 303
    assert read_shop(store) == Shop()


def test_an_empty_pin_takes_none_away(page: Page) -> None:
    client, store = page
    ann = add_person(store, name="Ann", role="owner", who="Ann")
    assert client.post(f"/shop/people/{ann}/pin", data={"pin": ""}).status_code == 422
    assert client.post(f"/shop/people/{ann}/pin", data={"take": "yes"}).status_code == 303
    assert [each.has_pin for each in list_people(store)] == [False]


@pytest.mark.parametrize("path", ["/shop", "/shop/words.csv"])
def test_only_an_owner_sees_it(page: Page, path: str) -> None:
    _, store = page
    ann = add_person(store, name="Ann", role="owner", who="Ann")
    set_pin(store, ann, "482915", who="Ann")
    stranger = TestClient(small_app(store, local=False), base_url="http://shop.test", follow_redirects=False)
    assert stranger.get(path).status_code == 303


def test_own_words_are_added_by_id_or_name_and_taken_off(page: Page) -> None:
    client, store = page
    answer = client.post("/shop/words", data={"words": "Wiggle-Stick", "means": "Sway bar link", "note": "Kev"})
    assert answer.status_code == 200
    assert "“wiggle stick” now means sway_bar_link." in answer.text
    (own,) = read_own_words(store.folder)
    assert (own.words, own.means, own.kind, own.note) == ("wiggle stick", "sway_bar_link", "alias", "Kev")
    assert own_words_csv((own,)) == client.get("/shop/words.csv").content
    client.post("/shop/words/hide", data={"words": "wiggle stick", "means": "sway_bar_link"})
    assert read_own_words(store.folder) == ()


def test_narrates_own_words_are_hidden_and_shown_again(page: Page) -> None:
    client, store = page
    answer = client.post("/shop/words/hide", data={"words": "brake disc", "means": "brake_rotor"})
    assert "“brake disc” no longer means brake_rotor." in answer.text
    assert "Show again" in answer.text
    client.post("/shop/words", data={"words": "brake disc", "means": "brake_rotor"})
    assert read_own_words(store.folder) == ()


@pytest.mark.parametrize(
    ("words", "means", "why"),
    [
        ("brake rotor", "strut", "means brake_rotor already"),
        ("thing", "strut", "everyday word"),
        ("flummox", "strutt", "did you mean"),
    ],
)
def test_own_words_that_cannot_be_are_told(page: Page, words: str, means: str, why: str) -> None:
    client, store = page
    answer = client.post("/shop/words", data={"words": words, "means": means})
    assert answer.status_code == 422
    assert why in answer.text
    assert f'value="{words}"' in answer.text
    assert read_own_words(store.folder) == ()


def test_a_list_of_words_is_brought_back_or_refused_as_a_whole(page: Page) -> None:
    client, store = page
    good = b"words,component,kind\r\nwiggle stick,sway_bar_link,alias\r\n"
    assert client.post("/shop/words/import", files={"file": ("words.csv", good)}).status_code == 303
    answer = client.post("/shop/words/import", files={"file": ("words.csv", good + b"thing,strut,alias\r\n")})
    assert answer.status_code == 422
    assert "row 3" in answer.text
    assert [own.words for own in read_own_words(store.folder)] == ["wiggle stick"]


def corrected(store: Store, walkaround_id: str) -> None:
    """The first finding's part and side are corrected, as one change."""

    def make(walkaround: Walkaround) -> Walkaround:
        first, *rest = walkaround.findings
        part = Component(id="strut", name="strut", system="suspension", heard=first.component.heard)
        update = {"component": part, "locations": ("rear left",), "review": Review(state="corrected")}
        return walkaround.model_copy(update={"findings": (first.model_copy(update=update), *rest)})

    change_walkaround(store, walkaround_id, who="Ann", what="component", make=make)


def test_what_is_corrected_is_counted_without_what_was_undone(page: Page) -> None:
    client, store = page
    ids = []
    for _ in range(3):
        said = text_recording("the front brake rotors are worn")
        found = process_words([said], settings=Settings(), lexicon=load_lexicon())
        ids.append(add_walkaround(store, found, who="Kev"))
        corrected(store, ids[-1])
    undo(store, ids[0], who="Ann")
    undo(store, ids[1], who="Ann")
    redo(store, ids[1], who="Ann")
    assert what_is_corrected(store) == (
        Corrected(field="component", component="brake_rotor", times=2),
        Corrected(field="locations", component="brake_rotor", times=2),
    )
    shown = client.get("/shop").text
    assert '<td>brake rotor</td><td>which part it is</td><td class="number">2</td>' in shown


def test_what_is_dropped_or_added_counts_and_what_is_confirmed_does_not(page: Page) -> None:
    _, store = page
    said = text_recording("the front brake rotors are worn. the horn is broken.")
    found = process_words([said], settings=Settings(), lexicon=load_lexicon())
    assert len(found.findings) == 2
    walkaround_id = add_walkaround(store, found, who="Kev")
    states = {"brake_rotor": "dropped", "horn": "confirmed"}

    def make(walkaround: Walkaround) -> Walkaround:
        decided = tuple(
            f.model_copy(update={"review": Review.model_validate({"state": states[f.component.id]})})
            for f in walkaround.findings
        )
        added = decided[1].model_copy(update={"id": "f9", "review": Review(state="added")})
        return walkaround.model_copy(update={"findings": (*decided, added)})

    change_walkaround(store, walkaround_id, who="Ann", what="drop", make=make)
    assert {(each.field, each.component) for each in what_is_corrected(store)} == {
        ("dropped", "brake_rotor"),
        ("added", "horn"),
    }


def test_how_long_things_are_kept_is_set_and_shown(page: Page) -> None:
    client, store = page
    answer = client.post("/shop/keeping", data={"audio": "90", "words": " 730 ", "estimates": ""})
    assert (answer.status_code, answer.headers["location"]) == (303, "/shop#keeping")
    assert read_shop(store).retention == Retention(audio=90, words=730)
    shown = client.get("/shop").text
    assert 'id="keep-audio" name="audio" inputmode="numeric" value="90"' in shown
    assert 'name="estimates" inputmode="numeric" value=""' in shown
    client.post("/shop/keeping", data={"audio": "", "words": ""})
    assert read_shop(store).retention is None


@pytest.mark.parametrize(("typed", "said"), [("ninety", "“ninety” is no number of days"), ("0", "retention audio: ")])
def test_a_rule_that_is_none_is_told_and_stays_typed(typed: str, said: str, page: Page) -> None:
    client, store = page
    answer = client.post("/shop/keeping", data={"audio": typed, "words": "730"})
    assert answer.status_code == 422
    assert said in answer.text
    assert f'name="audio" inputmode="numeric" value="{typed}"' in answer.text
    assert 'value="730"' in answer.text
    assert read_shop(store) == Shop()
