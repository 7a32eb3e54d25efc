"""Vehicles: known again by VIN or plate, and what was found on them before."""

import pytest

from narrate.errors import MissingError, UsageError
from narrate.records.order import OrderVehicle
from narrate.records.reviewed import Signed
from narrate.records.walkaround import MadeBy, Vehicle, Walkaround
from narrate.store.engine import Store
from narrate.store.events import read_events
from narrate.store.vehicles import (
    Known,
    key_of,
    last_walkaround_of,
    link_vehicle,
    new_vehicle,
    previous_walkaround,
    read_vehicle,
    recognise,
    vehicle_of,
)
from narrate.store.walkarounds import add_walkaround, change_walkaround, set_aside

VIN = "1HGBH41JXMN109186"


def heard(technician: str, plate: str | None = None) -> Walkaround:
    return Walkaround(
        made_by=MadeBy(program="p", lexicon="l", settings="s"), technician=technician, vehicle=Vehicle(plate=plate)
    )


def test_the_same_vin_is_the_same_vehicle(store: Store) -> None:
    id_ = new_vehicle(store, OrderVehicle(vin=VIN.lower(), plate="7ABC 123"), who="Ann")
    assert recognise(store, f"{VIN[:3]} {VIN[3:]}", "other plate") == Known(vehicle_id=id_, sure=True)


def test_the_same_plate_is_a_question(store: Store) -> None:
    id_ = new_vehicle(store, OrderVehicle(plate="7abc-123"), who="Ann")
    assert recognise(store, None, "7ABC 123") == Known(vehicle_id=id_, sure=False)
    assert recognise(store, VIN, "7ABC 123") == Known(vehicle_id=id_, sure=False)
    assert recognise(store, None, "7ABC124") is None
    assert recognise(store, None, " - ") is None


def test_another_vin_is_another_vehicle_whatever_its_plate(store: Store) -> None:
    new_vehicle(store, OrderVehicle(vin=VIN, plate="7ABC123"), who="Ann")
    assert recognise(store, "1HGBH41JXMN109187", "7ABC123") is None


def test_of_two_with_one_plate_the_last_is_asked_for(store: Store) -> None:
    new_vehicle(store, OrderVehicle(plate="7ABC123", make="Honda"), who="Ann")
    second = new_vehicle(store, OrderVehicle(plate="7ABC123", make="Ford"), who="Ann")
    known = recognise(store, None, "7ABC123")
    assert known is not None
    assert known.vehicle_id == second
    assert read_vehicle(store, second).make == "Ford"


def test_one_vin_is_one_vehicle(store: Store) -> None:
    new_vehicle(store, OrderVehicle(vin=VIN), who="Ann")
    with pytest.raises(UsageError, match=f"a vehicle with the VIN {VIN} already"):
        new_vehicle(store, OrderVehicle(vin=VIN), who="Ben")


def test_linking_is_an_event_and_happens_once(store: Store) -> None:
    id_ = new_vehicle(store, OrderVehicle(plate="7ABC123"), who="Ann")
    walkaround_id = add_walkaround(store, heard("Kev"), who="Kev")
    assert vehicle_of(store, walkaround_id) is None
    for _ in range(2):
        link_vehicle(store, walkaround_id, id_, who="Ben")
    assert vehicle_of(store, walkaround_id) == id_
    events = read_events(store, f"vehicle/{id_}")
    assert [(event.what, event.who) for event in events] == [("added", "Ann"), ("linked", "Ben")]
    assert (events[1].about, events[1].changes[0].after) == (walkaround_id, id_)


def test_what_is_not_there_cannot_be_linked(store: Store) -> None:
    id_ = new_vehicle(store, OrderVehicle(plate="7ABC123"), who="Ann")
    walkaround_id = add_walkaround(store, heard("Kev"), who="Kev")
    for strange in ("w99", "99", "w1.5", "w" + "9" * 12, ""):
        with pytest.raises(MissingError):
            link_vehicle(store, strange, id_, who="Ann")
    with pytest.raises(MissingError, match="no vehicle 99"):
        link_vehicle(store, walkaround_id, 99, who="Ann")
    with pytest.raises(MissingError):
        read_vehicle(store, 99)


def test_a_signed_walkaround_is_the_previous_one(store: Store) -> None:
    id_ = new_vehicle(store, OrderVehicle(plate="7ABC123"), who="Ann")
    signed, unsigned, present, later = (
        add_walkaround(store, heard(name, plate="OLD1"), who="Kev", vehicle_id=id_)
        for name in ("signed", "unsigned", "present", "later")
    )
    change_walkaround(
        store, signed, who="Ann", what="sign", make=lambda w: w.model_copy(update={"signed": Signed(by="Ann", at="…")})
    )
    previous = previous_walkaround(store, present)
    assert previous is not None
    assert (previous.technician, previous.vehicle.plate) == ("signed", None)
    other = previous_walkaround(store, unsigned)
    assert other is not None
    assert other.id == signed
    assert previous_walkaround(store, signed) is None
    last = last_walkaround_of(store, id_)
    assert last is not None
    assert last.id == signed
    assert later != present


def test_any_earlier_walkaround_will_do_but_none_set_aside(store: Store) -> None:
    id_ = new_vehicle(store, OrderVehicle(plate="7ABC123"), who="Ann")
    first, second, third = (
        add_walkaround(store, heard(name), who="Kev", vehicle_id=id_) for name in ("first", "second", "third")
    )
    set_aside(store, second, who="Ann", why="joined with w1")
    previous = previous_walkaround(store, third)
    assert previous is not None
    assert previous.id == first
    unlinked = add_walkaround(store, heard("alone"), who="Kev")
    assert previous_walkaround(store, unlinked) is None


def test_keys_are_letters_and_digits() -> None:
    assert key_of("b-ÄÜ 12·3") == "BÄÜ123"
