"""Recordings and orders: sure is what leaves one answer, all else is offered."""

from pathlib import PurePosixPath

import pytest

from narrate.records.order import Order, OrderVehicle
from narrate.records.walkaround import MadeBy, Vehicle, Walkaround
from narrate.store.open_orders import OpenOrder
from narrate.store.vehicles import key_of
from narrate.work.day_ties import NONE, keys_in, named_tie, said_tie


def order(visit_id: int, number: str | None, plate: str | None = None) -> OpenOrder:
    made = Order(number=number, vehicle=OrderVehicle(plate=plate))
    return OpenOrder(
        visit_id=visit_id,
        number=number or "",
        number_key=key_of(number),
        plate_key=key_of(plate),
        order=made,
        vehicle_id=None,
    )


ORDERS = (
    order(1, "1042", "7ABC-123"),
    order(2, "RO-2026", "AB12 CDE"),
    order(3, "27"),
    order(4, None, "8XYZ456"),
    order(5, "1050", "8XYZ 456"),
)


def heard(number: str | None = None, plate: str | None = None) -> Walkaround:
    made_by = MadeBy(program="p", lexicon="l", settings="s")
    return Walkaround(made_by=made_by, order_number=number, vehicle=Vehicle(plate=plate))


@pytest.mark.parametrize(
    ("name", "visit"),
    [
        ("1042.m4a", 1),
        ("kev 1042 brakes.m4a", 1),
        ("order_1042_2.m4a", 1),
        ("7abc123.m4a", 1),
        ("AB12-CDE rear.mp4", 2),
        ("ro 2026.m4a", 2),
        ("1042/part one.m4a", 1),
        ("27 Nov/1042 silver civic/REC001.m4a", 1),
        ("kev/7ABC 123/voice 3.m4a", 1),
    ],
)
def test_a_name_tells_the_order(name: str, visit: int) -> None:
    assert named_tie(PurePosixPath(name), ORDERS).visit_id == visit


@pytest.mark.parametrize(
    "name",
    [
        "2026-11-27 10.42.m4a",
        "VID_20261127_104200.mp4",
        "2026-11-27/bay 27.m4a",
        "bay 2.m4a",
        "10425.m4a",
        "PXL_20261127_201042123.mp4",
        "civic brakes.m4a",
    ],
)
def test_dates_times_and_short_numbers_tell_nothing(name: str) -> None:
    assert named_tie(PurePosixPath(name), ORDERS) == NONE


@pytest.mark.parametrize("name", ["Recording 1042.m4a", "VID_1042.mp4", "20261127_1042.m4a", "2026-11-27 1042.m4a"])
def test_what_a_recorder_may_have_put_is_only_offered(name: str) -> None:
    tie = named_tie(PurePosixPath(name), ORDERS)
    assert (tie.visit_id, tie.offered) == (None, (1,))
    assert "the recorder put" in tie.why


def test_a_name_that_fits_two_orders_is_only_offered() -> None:
    tie = named_tie(PurePosixPath("1042 and 1050.m4a"), ORDERS)
    assert (tie.visit_id, tie.offered) == (None, (1, 5))
    tie = named_tie(PurePosixPath("8XYZ456.m4a"), ORDERS)
    assert (tie.visit_id, tie.offered) == (None, (4, 5))


def test_the_nearest_name_counts() -> None:
    assert named_tie(PurePosixPath("1050/1042.m4a"), ORDERS).visit_id == 1


def test_what_is_said_tells_the_order() -> None:
    assert said_tie(heard("1042"), ORDERS).visit_id == 1
    assert said_tie(heard("ro 2026"), ORDERS).visit_id == 2
    assert said_tie(heard(plate="7ABC123"), ORDERS).visit_id == 1
    assert said_tie(heard("27"), ORDERS).visit_id == 3
    # Misheard, but of no other order: the number counts.
    assert said_tie(heard("1042", "7ABC128"), ORDERS).visit_id == 1
    assert said_tie(heard(), ORDERS) == NONE


def test_what_is_said_of_two_orders_is_only_offered() -> None:
    tie = said_tie(heard("1042", "AB12CDE"), ORDERS)
    assert (tie.visit_id, tie.offered) == (None, (1, 2))
    tie = said_tie(heard(plate="8XYZ456"), ORDERS)
    assert (tie.visit_id, tie.offered) == (None, (4, 5))
    tie = said_tie(heard("999", "7ABC123"), ORDERS)
    assert (tie.visit_id, tie.offered) == (None, (1,))
    tie = said_tie(heard("999"), ORDERS)
    assert (tie.visit_id, tie.offered) == (None, ())
    assert "no such order" in tie.why


def test_pieces_in_a_row_make_a_number_or_a_plate() -> None:
    assert {"AB12CDE", "AB12", "CDE", "REAR"} <= keys_in("ab12-cde rear")
