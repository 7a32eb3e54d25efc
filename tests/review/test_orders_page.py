"""The pages of orders: typed, imported, searched, changed, and asked about their vehicle."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from orders_app import small_client
from starlette.testclient import TestClient

from narrate.find.mining import text_recording
from narrate.pipeline import process_words
from narrate.records.order import Order, OrderVehicle
from narrate.records.reviewed import Signed
from narrate.settings import Settings
from narrate.store.engine import Store
from narrate.store.orders import add_order, list_orders, order_of, read_visit
from narrate.store.walkarounds import add_walkaround, change_walkaround, read_walkaround, undo
from narrate.words.load import load_lexicon
from narrate.work.order_csv import example_csv

Page = tuple[TestClient, Store]
TYPED = {
    "number": "1042",
    "customer": "Zoë <b>",
    "plate": "7ABC 123",
    "promised_day": "2026-11-27",
    "promised_time": "17:00",
    "inspection": "yes",
    "concerns": "grinds when braking\r\n\r\nsqueals",
}


@pytest.fixture
def page(tmp_path: Path) -> Iterator[Page]:
    client, store = small_client(tmp_path)
    yield client, store
    store.close()


def heard(store: Store, text: str, visit_id: int | None = None) -> str:
    found = process_words([text_recording(text)], settings=Settings(), lexicon=load_lexicon())
    return add_walkaround(store, found, who="Kev", visit_id=visit_id)


def edition(client: TestClient, visit_id: int) -> str:
    found = re.search('name="edition" value="([0-9a-f]+)"', client.get(f"/orders/{visit_id}").text)
    assert found
    return found[1]


def test_an_order_is_typed_and_shown(page: Page) -> None:
    client, store = page
    answer = client.post("/orders", data=TYPED)
    assert answer.status_code == 303
    shown = client.get(answer.headers["location"]).text
    assert "Zoë &lt;b&gt;" in shown
    assert "promised 2026-11-27 17:00" in shown
    assert "<li>squeals</li>" in shown
    (visit,) = list_orders(store)
    assert visit.order.concerns == ("grinds when braking", "squeals")
    assert visit.order.inspection
    listed = client.get("/orders").text
    assert "Order 1042" in listed
    assert 'aria-current="page"' in listed


def test_mistakes_are_told_beside_their_fields_and_nothing_typed_is_lost(page: Page) -> None:
    client, store = page
    add_order(store, Order(number="1042"), who="Ann")
    wrong = TYPED | {"year": "16", "promised_day": "", "vin": "IOQ"}
    answer = client.post("/orders", data=wrong)
    assert answer.status_code == 422
    assert "&#39;16&#39; is no model year" in answer.text
    assert 'aria-describedby="wrong-year"' in answer.text
    assert "is no day" in answer.text
    assert 'value="7ABC 123"' in answer.text
    assert len(list_orders(store)) == 1
    taken = client.post("/orders", data=TYPED)
    assert taken.status_code == 422
    assert "There is an order 1042 already" in taken.text


def test_the_list_can_be_searched(page: Page) -> None:
    client, store = page
    add_order(store, Order(number="A-1", vehicle=OrderVehicle(plate="7ABC123")), who="Ann")
    done = add_order(store, Order(number="B-2"), who="Ann")
    heard(store, "the horn is broken", done)
    waiting = client.get("/orders").text
    assert ("A-1" in waiting, "B-2" in waiting) == (True, False)
    everything = client.get("/orders?show=all").text
    assert "B-2" in everything
    assert '<a href="/walkarounds/w1">w1</a>' in everything
    found = client.get("/orders?show=all&q=7abc-123").text
    assert ("A-1" in found, "B-2" in found) == (True, False)
    assert "No order has “nobody”" in client.get("/orders?q=nobody").text


def test_a_csv_is_taken_over_or_refused_as_a_whole(page: Page) -> None:
    client, store = page
    assert client.get("/orders/example.csv").content == example_csv()
    answer = client.post("/orders/import", files={"file": ("orders.csv", example_csv())})
    assert (answer.status_code, answer.headers["location"]) == (303, "/orders?imported=1")
    assert "1 order taken over" in client.get(answer.headers["location"]).text
    again = client.post("/orders/import", files={"file": ("orders.csv", b"number,year\n7,2016\n1042,16\n")})
    assert again.status_code == 422
    assert "row 3, year" in again.text
    assert len(list_orders(store)) == 1
    taken = client.post("/orders/import", files={"file": ("orders.csv", b"number\n7\n1042\n")})
    assert "row 3, number: there is an order 1042 already" in taken.text
    assert len(list_orders(store)) == 1


def test_an_order_is_changed_unless_someone_else_did(page: Page) -> None:
    client, store = page
    visit_id = add_order(store, Order(number="1", market="gb"), who="Ann")
    shown = edition(client, visit_id)
    form = {"number": "1", "technician": "Kev", "edition": shown}
    assert client.post(f"/orders/{visit_id}", data=form).status_code == 303
    assert order_of(store, visit_id) == Order(number="1", market="gb", technician="Kev")
    late = client.post(f"/orders/{visit_id}", data=form | {"technician": "Lou"})
    assert late.status_code == 409
    assert "changed by someone else" in late.text
    wrong = client.post(f"/orders/{visit_id}", data={"edition": edition(client, visit_id)})
    assert wrong.status_code == 422
    assert "fill in one of them" in wrong.text
    assert order_of(store, visit_id).technician == "Kev"


@pytest.mark.parametrize("same", [True, False])
def test_a_known_plate_is_asked_about(page: Page, same: bool) -> None:
    client, store = page
    known = OrderVehicle(plate="7ABC123", make="Honda", model="Civic")
    first = read_visit(store, add_order(store, Order(number="1", vehicle=known), who="Ann")).vehicle_id
    second = add_order(store, Order(number="2", vehicle=OrderVehicle(plate="7abc 123")), who="Ann")
    question = "Is this the same vehicle as Honda Civic, plate 7ABC123?"
    assert question in client.get(f"/orders/{second}").text
    answer = client.post(f"/orders/{second}/vehicle", data={"same": str(first) if same else "no"})
    assert answer.status_code == 303
    assert question not in client.get(f"/orders/{second}").text
    assert (read_visit(store, second).vehicle_id == first) is same
    assert client.post(f"/orders/{second}/vehicle", data={"same": "no"}).status_code == 409


def test_a_walkaround_without_its_order_gets_it(page: Page) -> None:
    client, store = page
    order = Order(number="77", vehicle=OrderVehicle(plate="7ABC123", make="Honda"), concerns=("grinding noise",))
    visit_id = add_order(store, order, who="Ann")
    walkaround_id = heard(store, "the front brake rotors are worn and need replacing")
    assert f'<option value="{walkaround_id}">' in client.get(f"/orders/{visit_id}").text
    answer = client.post(f"/orders/{visit_id}/walkaround", data={"walkaround": walkaround_id})
    assert answer.status_code == 303
    held = read_walkaround(store, walkaround_id)
    assert (held.walkaround.order_number, held.walkaround.vehicle.plate) == ("77", "7ABC123")
    assert [(concern.text, concern.origin) for concern in held.walkaround.concerns] == [("grinding noise", "order")]
    assert held.walkaround.concerns[0].symptoms
    assert (held.visit_id, held.vehicle_id) == (visit_id, read_visit(store, visit_id).vehicle_id)
    assert read_visit(store, visit_id).walkarounds == (walkaround_id,)


def test_a_changed_order_changes_its_walkaround_and_no_id_comes_twice(page: Page) -> None:
    client, store = page
    visit_id = add_order(store, Order(number="77"), who="Ann")
    walkaround_id = heard(store, "the front brake rotors are worn and need replacing", visit_id)
    form = {"number": "77", "concerns": "grinding", "edition": edition(client, visit_id)}
    client.post(f"/orders/{visit_id}", data=form)
    undo(store, walkaround_id, who="Ann")
    assert read_walkaround(store, walkaround_id).walkaround.concerns == ()
    client.post(f"/orders/{visit_id}", data=form | {"concerns": "squeals", "edition": edition(client, visit_id)})
    assert [(c.id, c.text) for c in read_walkaround(store, walkaround_id).walkaround.concerns] == [("c2", "squeals")]


def test_a_signed_walkaround_stays_as_it_is(page: Page) -> None:
    client, store = page
    visit_id = add_order(store, Order(number="77"), who="Ann")
    walkaround_id = heard(store, "the horn is broken")
    signed = Signed(by="Ann", at="2026-11-27T09:50:00.123Z")
    change_walkaround(
        store, walkaround_id, who="Ann", what="sign", make=lambda w: w.model_copy(update={"signed": signed})
    )
    answer = client.post(f"/orders/{visit_id}/walkaround", data={"walkaround": walkaround_id})
    assert answer.status_code == 422
    assert "is signed; reopen it" in answer.text
    assert read_visit(store, visit_id).walkarounds == ()


def test_the_page_sends_recordings_with_their_order(page: Page) -> None:
    client, store = page
    visit_id = add_order(store, Order(number="77"), who="Ann")
    shown = client.get(f"/orders/{visit_id}").text
    form = re.search('<form method="post" action="/api/recordings".*?</form>', shown, re.DOTALL)
    assert form
    assert f'name="visit" value="{visit_id}"' in form[0]
    assert "multiple" in form[0]


@pytest.mark.parametrize("path", ["/orders/99", "/orders/99/vehicle", "/orders/99/walkaround"])
def test_an_order_that_is_not_there(page: Page, path: str) -> None:
    client, _ = page
    answer = client.get(path) if path == "/orders/99" else client.post(path, data={"same": "no", "walkaround": "w1"})
    assert answer.status_code == 404
