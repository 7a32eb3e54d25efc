"""The page of one walk-round, and every request it makes."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from corrected import AT, SAID, confirmed, found, of, word
from whole_page import Page, named, with_head

from narrate.records.order import OrderVehicle
from narrate.records.reviewed import Signed
from narrate.store.vehicles import new_vehicle, vehicle_of
from narrate.store.walkarounds import read_walkaround

TWO_CARS = (
    "Left front tire is worn, replace it. Wiper blades are torn. Next car. "
    "The battery is weak, replace the battery. Oil pan gasket is leaking."
)
POSTED = (
    ("/api/walkarounds/{}/changes", {"json": {"do": "sign"}}),
    ("/api/walkarounds/{}/undo", {}),
    ("/api/walkarounds/{}/redo", {}),
    ("/api/walkarounds/{}/split", {"json": {"recording": "r1", "first_word": 3}}),
    ("/walkarounds/{}/join", {"data": {"other": "w1"}}),
    ("/walkarounds/{}/vehicle", {"data": {"same": "no"}}),
    ("/walkarounds/{}/head", {"data": {"plate": "X"}}),
    ("/walkarounds/{}/order", {"data": {"visit": "1"}}),
)
SHOWN = (
    "/walkarounds/{}",
    "/walkarounds/{}/about",
    "/walkarounds/{}/files/findings.csv",
    "/api/walkarounds/{}",
    "/api/walkarounds/{}/words",
    "/api/walkarounds/{}/more",
    "/api/walkarounds/{}/live",
)


@pytest.fixture
def page(tmp_path: Path) -> Iterator[Page]:
    page = Page(tmp_path)
    yield page
    page.close()


def test_the_page_names_the_vehicle_and_what_is_known(page: Page) -> None:
    id_ = page.add(plate="7ABC123", make="Toyota", model="Corolla", technician="Sam", order_number="R-77")
    shown = page.text(f"/walkarounds/{id_}")
    assert "<h1>7ABC123 – Toyota Corolla</h1>" in shown
    assert f'data-walkaround="{id_}"' in shown
    assert "Technician: Sam" in shown
    assert "Order: R-77" in shown
    assert "<script>" not in shown, "no script stands in the page itself"


def test_one_without_a_plate_is_called_by_its_number(page: Page) -> None:
    id_ = page.add()
    assert f"<h1>Walk-round {id_}</h1>" in page.text(f"/walkarounds/{id_}")


def test_its_requests_tell_what_the_record_holds(page: Page) -> None:
    id_ = page.add()
    told = page.get(f"/api/walkarounds/{id_}")
    held = page.held(id_)
    assert told["view"]["revision"] == held.revision
    assert [each["id"] for each in told["view"]["findings"]] == [each.id for each in held.walkaround.findings]
    assert (told["undo"], told["redo"]) == (None, None)
    words = page.get(f"/api/walkarounds/{id_}/words")["recordings"]["r1"]
    assert " ".join(text for text, *_ in words) == SAID
    assert page.get(f"/api/walkarounds/{id_}/more") == {"kinds": {}, "videos": []}


def test_a_change_answers_with_what_is_shown_now(page: Page) -> None:
    id_ = page.add()
    told = page.change(id_, "confirm", findings=["f1"])
    finding = named(told["view"]["findings"], "f1")
    assert finding["review"] == {**finding["review"], "state": "confirmed", "by": "this computer"}
    assert told["undo"] == {"what": "found right", "who": "this computer", "about": None}
    assert told["view"] == page.get(f"/api/walkarounds/{id_}")["view"]
    assert "f1" not in [each["about"] for each in told["view"]["blocks"]]


def test_undo_and_redo_answer_what_comes_next(page: Page) -> None:
    id_ = page.add()
    before = page.get(f"/api/walkarounds/{id_}")["view"]
    page.change(id_, "confirm", findings=["f1"])
    changed = page.change(id_, "drop", finding="f2", why="another car")
    assert changed["undo"] == {"what": "dropped", "who": "this computer", "about": "f2"}
    undone = page.client.post(f"/api/walkarounds/{id_}/undo").json()
    assert undone["undo"]["what"] == "found right"
    assert undone["redo"]["about"] == "f2"
    undone = page.client.post(f"/api/walkarounds/{id_}/undo").json()
    assert undone["undo"] is None
    assert {**undone["view"], "revision": 0} == {**before, "revision": 0}
    page.client.post(f"/api/walkarounds/{id_}/redo")
    redone = page.client.post(f"/api/walkarounds/{id_}/redo").json()
    assert {**redone["view"], "revision": 0} == {**changed["view"], "revision": 0}
    assert redone["redo"] is None
    assert page.refused(f"/api/walkarounds/{id_}/redo", 422) == "There is nothing to do again."


def test_what_nobody_did_cannot_be_undone(page: Page) -> None:
    id_ = page.add()
    assert page.refused(f"/api/walkarounds/{id_}/undo", 422) == "There is nothing to undo."


@pytest.mark.parametrize("id_", ["w99", "7", "w", "wx", "w99999999999999999999", "W1", "w1%20"])
def test_what_is_not_there_is_missing_everywhere(page: Page, id_: str) -> None:
    page.add()
    for path in SHOWN:
        answer = page.client.get(path.format(id_), headers={"sec-fetch-dest": "empty"})
        assert answer.status_code == 404, path
        assert id_.removesuffix("%20") in answer.json()["detail"]
    for path, asked in POSTED:
        answer = page.client.post(path.format(id_), **asked)
        assert answer.status_code == 404, path


def test_what_someone_else_changed_is_a_conflict_that_names_them(page: Page) -> None:
    id_ = page.add()
    page.change(id_, "locations", finding="f2", to=["rear right"], seen=["rear left"])
    asked = {"do": "locations", "finding": "f2", "to": ["front left"], "seen": ["rear left"]}
    sentence = page.refused(f"/api/walkarounds/{id_}/changes", 409, json=asked)
    assert "this computer" in sentence
    assert "look at it again" in sentence
    assert page.held(id_).walkaround.findings[1].locations == ("rear right",)


@pytest.mark.parametrize(
    "asked",
    [
        {},
        {"do": "fly"},
        {"do": "confirm"},
        {"do": "confirm", "findings": []},
        {"do": "confirm", "findings": ["f99"]},
        {"do": "confirm", "findings": ["f1"], "also": 1},
        {"do": "component", "finding": "f1", "to": "flux_capacitor", "seen": "brake_pad"},
        {"do": "locations", "finding": "f2", "to": ["left rear"], "seen": ["rear left"]},
        {"do": "drop", "finding": "f1", "why": ""},
        {"do": "sign"},
        {"do": "head", "field": "year", "to": "soon", "seen": None},
        {"do": "edit", "recording": "r9", "first_word": 0, "last_word": 0, "text": "x"},
    ],
)
def test_a_change_that_cannot_be_is_refused_and_changes_nothing(page: Page, asked: dict[str, object]) -> None:
    id_ = page.add()
    before = page.held(id_)
    page.refused(f"/api/walkarounds/{id_}/changes", 422, json=asked)
    assert page.held(id_) == before


@pytest.mark.parametrize("body", [b"", b"{", b"[]", b"null", b'"confirm"', b'{"do": NaN}'])
def test_a_body_that_is_no_change_is_refused(page: Page, body: bytes) -> None:
    id_ = page.add()
    headers = {"content-type": "application/json"}
    page.refused(f"/api/walkarounds/{id_}/changes", 422, content=body, headers=headers)


def test_a_body_that_is_no_text_is_refused(page: Page) -> None:
    id_ = page.add()
    headers = {"content-type": "application/json"}
    sentence = page.refused(f"/api/walkarounds/{id_}/changes", 400, content=b"\xff", headers=headers)
    assert sentence.startswith("This request cannot be read")


def test_a_technician_may_look_but_not_change(page: Page) -> None:
    id_ = page.add()
    page.sign_in_as("technician")
    for path in SHOWN[:-1]:
        assert page.client.get(path.format(id_)).status_code == 200, path
    before = page.held(id_)
    for path, asked in POSTED:
        answer = page.client.post(path.format(id_), **asked)
        assert answer.status_code == 403, path
        assert "Some technician" in answer.text
    assert page.held(id_) == before


def test_an_advisor_may_change_and_is_named(page: Page) -> None:
    id_ = page.add()
    page.sign_in_as("advisor")
    told = page.change(id_, "confirm", findings=["f1"])
    assert told["undo"]["who"] == "Some advisor"


def test_who_is_not_signed_in_sees_nothing(page: Page) -> None:
    id_ = page.add()
    page.sign_in_as("technician")
    page.client.cookies.clear()
    assert page.client.get(f"/walkarounds/{id_}").headers["location"] == f"/sign-in?then=/walkarounds/{id_}"
    assert page.client.get(f"/api/walkarounds/{id_}").status_code == 401
    assert page.client.get(f"/api/walkarounds/{id_}/words").status_code == 401
    page.refused(f"/api/walkarounds/{id_}/changes", 401, json={"do": "sign"})


def test_a_signed_list_is_reopened_before_it_changes(page: Page) -> None:
    whole = confirmed(found("Left front tire is worn, replace it."))
    id_ = page.keep(whole.model_copy(update={"unplaced": (), "concerns": (), "contradictions": ()}))
    assert page.change(id_, "sign")["view"]["signed"]["by"] == "this computer"
    sentence = page.refused(f"/api/walkarounds/{id_}/changes", 422, json={"do": "drop", "finding": "f1", "why": "x"})
    assert "reopen" in sentence
    assert page.change(id_, "reopen")["view"]["signed"] is None
    page.change(id_, "drop", finding="f1", why="x")


def test_words_corrected_are_searched_again(page: Page) -> None:
    id_ = page.add()
    at = word(found(SAID), "serpentine")
    told = page.change(id_, "edit", recording="r1", first_word=at, last_word=at + 1, text="Radiator hose")
    parts = [each["component"]["id"] for each in told["view"]["findings"]]
    assert "radiator_hose" in parts or any("hose" in part for part in parts)
    [edit] = page.get(f"/api/walkarounds/{id_}/words")["edits"]
    assert edit["text"] == "Radiator hose"


def test_two_vehicles_in_one_recording_become_two_walkarounds(page: Page) -> None:
    id_ = page.add(TWO_CARS, plate="7ABC123")
    at = word(found(TWO_CARS), "next")
    answer = page.client.post(f"/api/walkarounds/{id_}/split", json={"recording": "r1", "first_word": at})
    assert answer.status_code == 200, answer.text
    other = answer.json()["other"]
    first = [each["component"]["id"] for each in answer.json()["view"]["findings"]]
    second = [each["component"]["id"] for each in page.get(f"/api/walkarounds/{other}")["view"]["findings"]]
    assert "tire" in first
    assert "battery" in second
    assert not set(first) & set(second)
    assert page.get(f"/api/walkarounds/{other}")["view"]["head"]["plate"] is None
    undone = page.client.post(f"/api/walkarounds/{id_}/undo").json()
    assert len(undone["view"]["findings"]) == len(first) + len(second)
    assert page.held(other).state == "set_aside"


@pytest.mark.parametrize("asked", [{"recording": "r1", "first_word": 10_000}, {"recording": "r9", "first_word": 3}])
def test_a_recording_splits_only_at_its_own_words(page: Page, asked: dict[str, object]) -> None:
    id_ = page.add()
    assert "mark a word within it" in page.refused(f"/api/walkarounds/{id_}/split", 422, json=asked)
    page.refused(f"/api/walkarounds/{id_}/split", 422, json={"recording": "r1", "first_word": 0})
    page.refused(f"/api/walkarounds/{id_}/split", 422, json={"recording": "r1"})


def test_two_recordings_of_one_vehicle_become_one_walkaround(page: Page) -> None:
    first = page.add("Left front tire is worn, replace it.")
    second = page.add("The battery is weak, replace the battery.")
    answer = page.client.post(f"/walkarounds/{first}/join", data={"other": second})
    assert (answer.status_code, answer.headers["location"]) == (303, f"/walkarounds/{first}")
    told = page.get(f"/api/walkarounds/{first}")["view"]
    assert [each["component"]["id"] for each in told["findings"]] == ["tire", "battery"]
    assert len(page.get(f"/api/walkarounds/{first}/words")["recordings"]) == 2
    assert page.held(second).state == "set_aside"


def test_none_is_joined_with_itself_or_nothing(page: Page) -> None:
    id_ = page.add()
    for other, status in ((id_, 422), ("w99", 404), ("", 422)):
        answer = page.client.post(f"/walkarounds/{id_}/join", data={"other": other})
        assert answer.status_code == status, other
        assert "That did not work" in answer.text


def test_a_vehicle_known_by_its_plate_is_asked_about(page: Page) -> None:
    known = new_vehicle(page.store, OrderVehicle(plate="7ABC123", make="Toyota"), who="Ann")
    id_ = page.add(plate="7abc 123")
    shown = page.text(f"/walkarounds/{id_}")
    assert "Is this the Toyota 7ABC123 that was here before" in shown
    assert vehicle_of(page.store, id_) is None, "a plate alone does not decide"
    answer = page.client.post(f"/walkarounds/{id_}/vehicle", data={"same": str(known)})
    assert answer.status_code == 303
    assert vehicle_of(page.store, id_) == known
    assert "that was here before" not in page.text(f"/walkarounds/{id_}")


def test_no_makes_it_a_vehicle_of_its_own(page: Page) -> None:
    known = new_vehicle(page.store, OrderVehicle(plate="7ABC123", make="Toyota"), who="Ann")
    id_ = page.add(plate="7ABC123", make="Honda")
    assert page.client.post(f"/walkarounds/{id_}/vehicle", data={"same": "no"}).status_code == 303
    assert vehicle_of(page.store, id_) not in (None, known)
    assert "that was here before" not in page.text(f"/walkarounds/{id_}")


@pytest.mark.parametrize(("same", "status"), [("", 422), ("perhaps", 422), ("-1", 422), ("9" * 30, 422), ("77", 404)])
def test_another_answer_is_none(page: Page, same: str, status: int) -> None:
    id_ = page.add(plate="7ABC123")
    answer = page.client.post(f"/walkarounds/{id_}/vehicle", data={"same": same})
    assert answer.status_code == status
    assert "That did not work" in answer.text
    assert vehicle_of(page.store, id_) is None


def test_what_was_said_and_typed_stands_as_text(page: Page) -> None:
    id_ = page.add(plate="<b>7</b>", make="<i>x</i>")
    shown = page.text(f"/walkarounds/{id_}")
    assert "<b>7" not in shown
    assert "<i>x" not in shown


def test_a_signed_one_is_shown_as_signed(page: Page) -> None:
    signed = with_head(found(SAID), plate="7ABC123").model_copy(update={"signed": Signed(by="Ann", at=AT)})
    id_ = page.keep(signed)
    told = page.get(f"/api/walkarounds/{id_}")["view"]
    assert told["signed"] == {"by": "Ann", "at": AT}
    assert told["state"] == "signed"
    assert read_walkaround(page.store, id_).walkaround.signed is not None
    assert of(page.held(id_).walkaround, "brake_pad").id == "f1"
