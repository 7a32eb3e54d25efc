"""Orders: added, changed, found again, with their customers and vehicles."""

from datetime import date, datetime

import pytest
from sqlalchemy import func, select

from narrate.errors import ConflictError, MissingError, UsageError
from narrate.records.order import Customer, Order, OrderVehicle
from narrate.records.walkaround import MadeBy, Walkaround
from narrate.store.engine import Store
from narrate.store.events import read_events
from narrate.store.orders import (
    add_order,
    add_orders,
    attach,
    change_order,
    list_orders,
    numbers_taken,
    order_of,
    read_visit,
    settle_vehicle,
)
from narrate.store.tables import customer
from narrate.store.vehicles import read_vehicle, vehicle_of
from narrate.store.walkarounds import add_walkaround, read_walkaround

VIN = "1HGBH41JXMN109186"
WALKAROUND = Walkaround(made_by=MadeBy(program="p", lexicon="l", settings="s"))


def ordered(number: str | None = "1042", **more: object) -> Order:
    return Order.model_validate({"number": number, **more})


def customers(store: Store) -> int:
    with store.reading() as connection:
        return connection.scalar(select(func.count()).select_from(customer)) or 0


def test_an_order_is_kept_as_it_was_written(store: Store) -> None:
    order = ordered(
        vehicle=OrderVehicle(plate="7ABC 123", year=2016),
        customer=Customer(name="Zoë", phone="555-0117"),
        promised=datetime(2026, 11, 27, 17, 0),
        concerns=("grinds | squeals", "pulls"),
        payer="insurer",
        inspection=True,
    )
    visit_id = add_order(store, order, who="Ann")
    assert order_of(store, visit_id) == order
    (event,) = read_events(store, f"order/{visit_id}")
    assert (event.who, event.what, event.changes[0].after["payer"]) == ("Ann", "added", "insurer")
    with pytest.raises(MissingError):
        order_of(store, visit_id + 1)


def test_a_number_is_given_once(store: Store) -> None:
    add_orders(store, [ordered("1"), ordered(None), ordered(None)], who="Ann")
    with pytest.raises(UsageError, match="an order 1 already"):
        add_orders(store, [ordered("2"), ordered("1")], who="Ann")
    assert numbers_taken(store) == {"1"}
    assert len(list_orders(store)) == 3


def test_a_change_is_an_event_and_sees_what_it_overwrites(store: Store) -> None:
    visit_id = add_order(store, ordered(), who="Ann")
    other = add_order(store, ordered("7"), who="Ann")
    shown = read_visit(store, visit_id).edition
    change_order(store, visit_id, ordered(technician="Kev"), who="Ben", seen=shown)
    change_order(store, visit_id, ordered(technician="Kev"), who="Ben")
    with pytest.raises(ConflictError, match="changed by someone else"):
        change_order(store, visit_id, ordered(technician="Lou"), who="Cid", seen=shown)
    with pytest.raises(UsageError, match="an order 7 already"):
        change_order(store, visit_id, ordered("7"), who="Cid")
    assert order_of(store, visit_id).technician == "Kev"
    assert [event.who for event in read_events(store, f"order/{visit_id}")] == ["Ann", "Ben"]
    assert order_of(store, other).number == "7"


def test_waiting_orders_come_by_promise(store: Store) -> None:
    promised = [None, datetime(2026, 11, 28, 9), date(2026, 11, 27), datetime(2026, 11, 27, 8)]
    ids = add_orders(store, [ordered(str(n), promised=when) for n, when in enumerate(promised)], who="Ann")
    assert [visit.order.number for visit in list_orders(store, waiting=True)] == ["2", "3", "1", "0"]
    walkaround_id = add_walkaround(store, WALKAROUND, who="Kev", visit_id=ids[2])
    assert [visit.order.number for visit in list_orders(store, waiting=True)] == ["3", "1", "0"]
    (done,) = list_orders(store, waiting=False)
    assert (done.id, done.walkarounds) == (ids[2], (walkaround_id,))


@pytest.mark.parametrize(
    ("query", "numbers"),
    [
        ("", ["B-2", "A-1"]),
        ("a-1", ["A-1"]),
        ("zoë", ["A-1"]),
        ("ZOË honda", ["A-1"]),
        ("zoë ford", []),
        ("7abc123", ["A-1"]),
        ("7abc-123", ["A-1"]),
        ("kev", ["B-2"]),
        ("-", ["B-2", "A-1"]),
        ("2016", ["A-1"]),
    ],
)
def test_every_word_must_be_found(store: Store, query: str, numbers: list[str]) -> None:
    first = ordered(
        "A-1", customer=Customer(name="Zoë"), vehicle=OrderVehicle(plate="7ABC 123", make="Honda", year=2016)
    )
    second = ordered("B-2", technician="Kev", vehicle=OrderVehicle(make="Ford"))
    add_orders(store, [first, second], who="Ann")
    assert [visit.order.number for visit in list_orders(store, query=query)] == numbers


def test_the_newest_are_listed_first_and_no_more_than_asked(store: Store) -> None:
    add_orders(store, [ordered(str(number)) for number in range(5)], who="Ann")
    assert [visit.order.number for visit in list_orders(store, limit=2)] == ["4", "3"]
    assert [visit.order.number for visit in list_orders(store, query="3", limit=1)] == ["3"]


def test_a_vin_is_known_again_and_its_plate_follows(store: Store) -> None:
    first = add_order(store, ordered("1", vehicle=OrderVehicle(vin=VIN, plate="OLD1", make="Honda")), who="Ann")
    second = add_order(store, ordered("2", vehicle=OrderVehicle(vin=VIN, plate="NEW2", year=2016)), who="Ann")
    vehicle_id = read_visit(store, first).vehicle_id
    assert vehicle_id is not None
    assert read_visit(store, second).vehicle_id == vehicle_id
    kept = read_vehicle(store, vehicle_id)
    assert (kept.plate, kept.year, kept.make) == ("NEW2", 2016, "Honda")


@pytest.mark.parametrize("same", [True, False])
def test_a_plate_is_asked_for(store: Store, same: bool) -> None:
    first = add_order(store, ordered("1", vehicle=OrderVehicle(plate="7ABC123")), who="Ann")
    known = read_visit(store, first).vehicle_id
    second = add_order(store, ordered("2", vehicle=OrderVehicle(plate="7abc 123", vin=VIN)), who="Ann")
    asked = read_visit(store, second)
    assert (asked.vehicle_id, asked.ask) == (None, known)
    walkaround_id = add_walkaround(store, WALKAROUND, who="Kev", visit_id=second)
    settled = settle_vehicle(store, second, known if same else None, who="Ben")
    assert (settled == known) is same
    after = read_visit(store, second)
    assert (after.vehicle_id, after.ask) == (settled, None)
    assert vehicle_of(store, walkaround_id) == settled
    assert read_vehicle(store, settled).vin == VIN
    assert read_events(store, f"order/{second}")[-1].what == "vehicle"


def test_a_mistyped_plate_is_corrected_and_not_a_second_vehicle(store: Store) -> None:
    visit_id = add_order(store, ordered(vehicle=OrderVehicle(plate="7ABC132")), who="Ann")
    vehicle_id = read_visit(store, visit_id).vehicle_id
    assert vehicle_id is not None
    change_order(store, visit_id, ordered(vehicle=OrderVehicle(plate="7ABC123", vin=VIN)), who="Ann")
    assert read_visit(store, visit_id).vehicle_id == vehicle_id
    kept = read_vehicle(store, vehicle_id)
    assert (kept.plate, kept.vin) == ("7ABC123", VIN)


def test_a_vehicle_that_other_orders_share_is_not_turned_into_another(store: Store) -> None:
    first = add_order(store, ordered("1", vehicle=OrderVehicle(vin=VIN, plate="7ABC123")), who="Ann")
    second = add_order(store, ordered("2", vehicle=OrderVehicle(vin=VIN)), who="Ann")
    other = VIN[:-1] + "7"
    change_order(store, second, ordered("2", vehicle=OrderVehicle(vin=other, plate="8XYZ")), who="Ann")
    shared = read_visit(store, first).vehicle_id
    changed = read_visit(store, second).vehicle_id
    assert shared is not None
    assert changed not in (None, shared)
    assert read_vehicle(store, shared).vin == VIN


def test_an_order_without_a_vehicle_makes_none(store: Store) -> None:
    visit_id = add_order(store, ordered(vehicle=OrderVehicle(make="Ford")), who="Ann")
    visit = read_visit(store, visit_id)
    assert (visit.vehicle_id, visit.ask) == (None, None)


@pytest.mark.parametrize(
    ("first", "second", "same"),
    [
        ({"name": "Dana Ruiz", "phone": "555-0117"}, {"name": "dana ruiz", "phone": "(555) 0117"}, True),
        ({"name": "Dana Ruiz", "phone": "555-0117"}, {"phone": "5550117"}, True),
        ({"name": "Dana Ruiz", "phone": "555-0117"}, {"name": "Leo Ruiz", "phone": "555-0117"}, False),
        ({"name": "Dana", "email": "D@example.com"}, {"email": "d@EXAMPLE.com", "phone": "1"}, True),
        ({"name": "Dana Ruiz"}, {"name": "Dana Ruiz", "phone": "555-0117"}, True),
        ({"name": "Dana Ruiz", "phone": "1"}, {"name": "Dana Ruiz", "phone": "2"}, False),
        ({"name": "Dana Ruiz"}, {"name": "Dana"}, False),
        ({"phone": "1"}, {"email": "d@example.com"}, False),
    ],
)
def test_customers_are_known_again(store: Store, first: dict[str, str], second: dict[str, str], same: bool) -> None:
    visits = add_orders(
        store, [ordered("1", customer=Customer(**first)), ordered("2", customer=Customer(**second))], who="Ann"
    )
    one, other = (read_visit(store, visit_id).customer_id for visit_id in visits)
    assert one is not None
    assert (one == other) is same
    assert customers(store) == 2 - same


def test_attaching_a_walkaround_ends_the_waiting(store: Store) -> None:
    visit_id = add_order(store, ordered(vehicle=OrderVehicle(plate="7ABC123")), who="Ann")
    walkaround_id = add_walkaround(store, WALKAROUND, who="Kev")
    before = read_walkaround(store, walkaround_id)
    for _ in range(2):
        attach(store, walkaround_id, visit_id, who="Ben")
    visit = read_visit(store, visit_id)
    assert visit.walkarounds == (walkaround_id,)
    assert vehicle_of(store, walkaround_id) == visit.vehicle_id
    assert read_walkaround(store, walkaround_id).walkaround == before.walkaround
    assert [event.what for event in read_events(store, f"order/{visit_id}")] == ["added", "attached"]
    with pytest.raises(MissingError):
        attach(store, walkaround_id, visit_id + 1, who="Ben")
