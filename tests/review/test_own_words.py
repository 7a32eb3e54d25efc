"""What a review teaches: words offered, taken, and a walkaround written as a case."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from orders_app import small_client
from starlette.testclient import TestClient

from narrate.errors import UsageError
from narrate.find.mining import text_recording
from narrate.pipeline import process_words
from narrate.records.reviewed import Decision, Review
from narrate.records.walkaround import Component, Finding, Walkaround
from narrate.review.learning import Offer
from narrate.review.own_words import heard_otherwise, take_words
from narrate.score.cases import read_case_file
from narrate.settings import Settings
from narrate.store.engine import Store
from narrate.store.events import read_events
from narrate.store.own_words import change_own_words
from narrate.store.walkarounds import add_walkaround, change_walkaround, read_walkaround
from narrate.words.load import load_lexicon
from narrate.words.meanings import OwnWord
from narrate.words.overlay import add, hide
from narrate.words.shop import read_own_words, shop_lexicon


@pytest.fixture
def page(tmp_path: Path) -> Iterator[tuple[TestClient, Store]]:
    client, store = small_client(tmp_path)
    yield client, store
    store.close()


def heard(store: Store, text: str) -> str:
    found = process_words([text_recording(text)], settings=Settings(), lexicon=load_lexicon())
    return add_walkaround(store, found, who="Kev")


def review(store: Store, walkaround_id: str, state: str, component: str | None = None) -> None:
    """Decide on every finding, and what its part is."""

    def decided(finding: Finding) -> Finding:
        entry = finding.component
        if component:
            entry = Component(
                id=component, name=load_lexicon().components[component].name, system="…", heard=entry.heard
            )
        doubts = () if state == "corrected" else finding.doubts
        return finding.model_copy(
            update={"component": entry, "doubts": doubts, "review": Review.model_validate({"state": state})}
        )

    def make(walkaround: Walkaround) -> Walkaround:
        return walkaround.model_copy(update={"findings": tuple(map(decided, walkaround.findings))})

    change_walkaround(store, walkaround_id, who="Ann", what="component", make=make)


def only(offers: tuple[Offer, ...]) -> tuple[str, str, str, bool]:
    (offer,) = offers
    return offer.words, offer.means, offer.kind, offer.needs_context


def test_a_confirmed_guess_teaches_how_the_part_is_heard(page: tuple[TestClient, Store]) -> None:
    _, store = page
    walkaround_id = heard(store, "the sway far lynk is worn out")
    assert heard_otherwise(store, walkaround_id) == ()
    review(store, walkaround_id, "confirmed")
    assert only(heard_otherwise(store, walkaround_id)) == ("sway far lynk", "sway_bar_link", "heard", False)


def test_a_corrected_part_teaches_what_it_is_called_here(page: tuple[TestClient, Store]) -> None:
    _, store = page
    walkaround_id = heard(store, "we need to replace the doohickey clip it is broken")
    assert read_walkaround(store, walkaround_id).walkaround.findings[0].component.id == "hose_clamp"
    review(store, walkaround_id, "corrected", "bumper_clip")
    assert only(heard_otherwise(store, walkaround_id)) == ("doohickey clip", "bumper_clip", "alias", False)


def test_an_added_finding_teaches_the_words_that_were_not_understood(page: tuple[TestClient, Store]) -> None:
    _, store = page
    walkaround_id = heard(store, "the will baring on the left front is making noise")
    template = heard(store, "the horn is broken")
    part = read_walkaround(store, template).walkaround.findings[0]

    def make(walkaround: Walkaround) -> Walkaround:
        (stretch,) = walkaround.unplaced
        component = Component(id="wheel_bearing", name="wheel bearing", system="wheels", heard="")
        added = part.model_copy(
            update={
                "id": "f9",
                "component": component,
                "evidence": stretch.evidence,
                "doubts": (),
                "review": Review(state="added"),
            }
        )
        decision = Decision(about=stretch.id, decided="taken_up", why="added as f9")
        return walkaround.model_copy(
            update={"findings": (*walkaround.findings, added), "decisions": (*walkaround.decisions, decision)}
        )

    change_walkaround(store, walkaround_id, who="Ann", what="add", make=make)
    assert only(heard_otherwise(store, walkaround_id)) == ("will baring", "wheel_bearing", "heard", True)


@pytest.mark.parametrize(
    ("text", "component"),
    [
        # The words are another part's name: who said it misspoke, and it stays what it means.
        ("the front brake rotors are worn", "brake_drum"),
        # One everyday word.
        ("the boot is torn", "bumper_clip"),
    ],
)
def test_words_that_mean_something_are_not_offered(page: tuple[TestClient, Store], text: str, component: str) -> None:
    _, store = page
    walkaround_id = heard(store, text)
    review(store, walkaround_id, "corrected", component)
    assert read_walkaround(store, walkaround_id).walkaround.findings[0].component.id == component
    assert heard_otherwise(store, walkaround_id) == ()


def test_a_plain_confirmation_teaches_nothing(page: tuple[TestClient, Store]) -> None:
    _, store = page
    walkaround_id = heard(store, "the front brake rotors are worn, the struts are leaking")
    review(store, walkaround_id, "confirmed")
    assert heard_otherwise(store, walkaround_id) == ()


def test_what_the_shop_has_hidden_or_taken_is_not_offered_again(page: tuple[TestClient, Store]) -> None:
    _, store = page
    lexicon = load_lexicon()
    walkaround_id = heard(store, "we need to replace the doohickey clip it is broken")
    review(store, walkaround_id, "corrected", "bumper_clip")
    (offer,) = heard_otherwise(store, walkaround_id)
    own = OwnWord(words=offer.words, means=offer.means)
    change_own_words(store, lambda words: add(lexicon, words, own), who="Ann", what="added")
    assert heard_otherwise(store, walkaround_id) == ()
    change_own_words(store, lambda words: hide(lexicon, words, own), who="Ann", what="hidden")
    assert heard_otherwise(store, walkaround_id) == (offer,)


def test_taken_words_are_kept_with_where_they_came_from(page: tuple[TestClient, Store]) -> None:
    client, store = page
    walkaround_id = heard(store, "the sway far lynk is worn out")
    review(store, walkaround_id, "confirmed")
    path = f"/api/walkarounds/{walkaround_id}/own-words"
    (offer,) = client.get(path).json()["offers"]
    asked = {key: offer[key] for key in ("words", "means", "kind", "needs_context")}
    answer = client.post(path, json={"accept": [asked]})
    assert (answer.status_code, answer.json()["taken"]) == (200, 1)
    (own,) = read_own_words(store.folder)
    assert (own.words, own.means, own.kind) == ("sway far lynk", "sway_bar_link", "heard")
    assert own.note.startswith(f"{walkaround_id}, 20")
    (event,) = read_events(store, "own_words")
    assert (event.who, event.changes[0].after["words"]) == ("this computer", "sway far lynk")
    assert client.get(path).json()["offers"] == []


def test_taken_words_count_from_the_next_recording_on(page: tuple[TestClient, Store]) -> None:
    _, store = page
    said = "we need to replace the doohickey clip it is broken"
    take_words(store, (OwnWord(words="doohickey clip", means="bumper_clip"),), who="Ann")
    found = process_words([text_recording(said)], settings=Settings(), lexicon=shop_lexicon(store.folder))
    assert [finding.component.id for finding in found.findings] == ["bumper_clip"]


@pytest.mark.parametrize(
    ("asked", "why"),
    [
        ({"words": "brake rotor", "means": "strut"}, "means brake_rotor already"),
        ({"words": "thing", "means": "strut"}, "everyday word"),
        ({"words": "flummox", "means": "strutt"}, "did you mean"),
        ({"words": "flummox!", "means": "strut"}, "not as people say it"),
    ],
)
def test_words_that_cannot_be_taken_leave_everything(
    page: tuple[TestClient, Store], asked: dict[str, str], why: str
) -> None:
    client, store = page
    walkaround_id = heard(store, "the strut is leaking")
    good = {"words": "flibberty", "means": "strut"}
    answer = client.post(f"/api/walkarounds/{walkaround_id}/own-words", json={"accept": [good, asked]})
    assert answer.status_code == 422
    assert why in answer.json()["detail"]
    assert read_own_words(store.folder) == ()
    assert read_events(store, "own_words") == ()


def test_nothing_is_taken_for_a_walkaround_that_is_not_there(page: tuple[TestClient, Store]) -> None:
    client, _ = page
    answer = client.post("/api/walkarounds/w99/own-words", json={"accept": [{"words": "a", "means": "strut"}]})
    assert answer.status_code == 404
    assert client.get("/api/walkarounds/w99/own-words").status_code == 404


def test_words_that_sound_like_another_part_are_taken_with_a_remark(page: tuple[TestClient, Store]) -> None:
    _, store = page
    remarks = take_words(store, (OwnWord(words="brake rotors kit", means="strut"),), who="Ann")
    assert isinstance(remarks, tuple)
    with pytest.raises(UsageError, match="already"):
        take_words(store, (OwnWord(words="brake rotors kit", means="strut"),), who="Ann")


def test_a_reviewed_walkaround_is_a_case(page: tuple[TestClient, Store], tmp_path: Path) -> None:
    client, store = page
    walkaround_id = heard(store, "the front brake rotors are worn and need replacing")
    path = f"/walkarounds/{walkaround_id}/case.toml"
    refused = client.get(path)
    assert refused.status_code == 422
    assert "not reviewed yet" in refused.json()["detail"]
    review(store, walkaround_id, "confirmed")
    answer = client.get(path)
    assert answer.headers["content-disposition"] == f'attachment; filename="{walkaround_id}.toml"'
    file = tmp_path / "case.toml"
    file.write_text(answer.text, "utf-8")
    (read,) = read_case_file(file)
    assert read.case.finding[0].component == ("brake rotor",)
    assert read.case.finding[0].actions == ("replace",)
