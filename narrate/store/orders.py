"""Orders: what is to be looked at, typed or imported before anyone speaks; each waits for its recordings."""

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from sqlalchemy import Connection, Row, Select, exists, select

from narrate.errors import ConflictError, MissingError, UsageError
from narrate.records.event import Change
from narrate.records.order import Order
from narrate.store import events
from narrate.store.clock import now
from narrate.store.customers import known_customer
from narrate.store.engine import Store
from narrate.store.tables import visit, walkaround
from narrate.store.vehicles import Known, add_vehicle, complete_vehicle, key_of, link, recognised, walkaround_row

LONGEST_NUMBER = 80


@dataclass(frozen=True, kw_only=True)
class Visit:
    """An order as the store has it. `edition` tells whether it has changed since it was shown."""

    id: int
    order: Order
    customer_id: int | None
    vehicle_id: int | None
    """None also where only the plate is known: then `ask` says which vehicle it may be."""
    walkarounds: tuple[str, ...]
    added_at: str
    edition: str
    ask: int | None = None
    """A vehicle that has the same plate; a person must say whether it is that one."""


def add_order(store: Store, order: Order, *, who: str) -> int:
    """Add an order; its visit's id. UsageError where its number is taken."""
    with store.writing() as connection:
        return _add(connection, order, who)


def add_orders(store: Store, orders: Iterable[Order], *, who: str) -> tuple[int, ...]:
    """Add all orders or, where one cannot be (UsageError), none."""
    with store.writing() as connection:
        return tuple(_add(connection, order, who) for order in orders)


def change_order(store: Store, visit_id: int, order: Order, *, who: str, seen: str | None = None) -> None:
    """Put an order in the place of what was there.

    `seen` is the edition that was shown: ConflictError where it is another by now. UsageError where the number is
    taken, MissingError where there is no such order.
    """
    with store.writing() as connection:
        row = _row(connection, visit_id)
        if seen is not None and seen != _edition(row.record):
            message = "This order was changed by someone else meanwhile; nothing was overwritten. Look at it again."
            raise ConflictError(message)
        before = Order.model_validate_json(row.record)
        if before == order:
            return
        _check_number(connection, order.number, but=visit_id)
        customer_id = row.customer_id if order.customer == before.customer else None
        if customer_id is None:
            customer_id = known_customer(connection, order.customer, who=who)
        vehicle_id = row.vehicle_id
        if order.vehicle != before.vehicle:
            vehicle_id = _changed_vehicle(connection, row, order, customer_id, who=who)
        values = _values(order) | {"customer_id": customer_id, "vehicle_id": vehicle_id}
        connection.execute(visit.update().where(visit.c.id == visit_id).values(values))
        _tell(connection, visit_id, who, "changed", before, order)
        _link_walkarounds(connection, visit_id, vehicle_id, who=who)


def order_of(store: Store, visit_id: int) -> Order:
    """The order of a visit. MissingError where there is none."""
    with store.reading() as connection:
        return Order.model_validate_json(_row(connection, visit_id).record)


def read_visit(store: Store, visit_id: int) -> Visit:
    """One order with what the store knows beside it. MissingError where there is none."""
    with store.reading() as connection:
        row = _row(connection, visit_id)
        return _visit(row, _walkarounds(connection, [row.id]), _ask(connection, row))


def list_orders(store: Store, *, waiting: bool | None = None, query: str = "", limit: int = 200) -> tuple[Visit, ...]:
    """Orders, at most `limit`; `waiting`: only those without a walkaround (True) or with one (False).

    Waiting ones come by what was promised first, others the newest first. Every word of `query` must be in the number,
    the customer, the vehicle or the technician; blanks and hyphens of a plate do not count.
    """
    chosen = _chosen(waiting)
    words = [word.casefold() for word in query.split()]
    found: list[Row[Any]] = []
    with store.reading() as connection:
        for row in connection.execute(chosen if words else chosen.limit(limit)):
            if not words or _matches(Order.model_validate_json(row.record), words):
                found.append(row)
            if len(found) == limit:
                break
        walkarounds = _walkarounds(connection, [row.id for row in found])
        # A vehicle is asked for on the order's own page.
        return tuple(_visit(row, walkarounds) for row in found)


def numbers_taken(store: Store) -> frozenset[str]:
    """The numbers of all orders."""
    with store.reading() as connection:
        return frozenset(connection.scalars(select(visit.c.number).where(visit.c.number.is_not(None))))


def settle_vehicle(store: Store, visit_id: int, vehicle_id: int | None, *, who: str) -> int:
    """Answer whether an order's vehicle is a known one: that one, or (None) a new one; the vehicle's id.

    Walkarounds of the order are linked to it too.
    """
    with store.writing() as connection:
        row = _row(connection, visit_id)
        order = Order.model_validate_json(row.record)
        if vehicle_id is None:
            vehicle_id = add_vehicle(connection, order.vehicle, who=who, customer_id=row.customer_id)
        else:
            complete_vehicle(connection, vehicle_id, order.vehicle, who=who)
        connection.execute(visit.update().where(visit.c.id == visit_id).values(vehicle_id=vehicle_id))
        change = Change(kind="vehicle", before=row.vehicle_id, after=vehicle_id)
        _append(connection, visit_id, who, "vehicle", change)
        _link_walkarounds(connection, visit_id, vehicle_id, who=who)
        return vehicle_id


def attach(store: Store, walkaround_id: str, visit_id: int, *, who: str) -> None:
    """Say that a walkaround was made for an order, and is of its vehicle; the walkaround itself does not change.

    MissingError where there is no such walkaround or order.
    """
    with store.writing() as connection:
        row, order = walkaround_row(connection, walkaround_id), _row(connection, visit_id)
        if row.visit_id == visit_id:
            return
        connection.execute(walkaround.update().where(walkaround.c.id == row.id).values(visit_id=visit_id))
        change = Change(kind="walkaround", id=walkaround_id, before=row.visit_id, after=visit_id)
        _append(connection, visit_id, who, "attached", change)
        if order.vehicle_id is not None:
            link(connection, walkaround_id, order.vehicle_id, who=who)


def _add(connection: Connection, order: Order, who: str) -> int:
    _check_number(connection, order.number)
    customer_id = known_customer(connection, order.customer, who=who)
    vehicle_id = _vehicle(connection, order, customer_id, who=who)
    values = _values(order) | {"customer_id": customer_id, "vehicle_id": vehicle_id, "added_at": now()}
    added = connection.execute(visit.insert().values(values)).inserted_primary_key
    visit_id = int(added[0]) if added else 0
    _tell(connection, visit_id, who, "added", None, order)
    return visit_id


def _vehicle(connection: Connection, order: Order, customer_id: int | None, *, who: str) -> int | None:
    """The order's vehicle: a known one by VIN, a new one, or None where someone must be asked or nothing is told."""
    told = order.vehicle
    known = recognised(connection, told.vin, told.plate)
    if known is not None and known.sure:
        complete_vehicle(connection, known.vehicle_id, told, who=who)
        return known.vehicle_id
    if known is not None or not (key_of(told.vin) or key_of(told.plate)):
        return None
    return add_vehicle(connection, told, who=who, customer_id=customer_id)


def _changed_vehicle(
    connection: Connection, row: Row[Any], order: Order, customer_id: int | None, *, who: str
) -> int | None:
    """The vehicle of an order whose vehicle was typed anew: the same one corrected, where that is what it must be."""
    if row.vehicle_id is None:
        return _vehicle(connection, order, customer_id, who=who)
    told = order.vehicle
    known = recognised(connection, told.vin, told.plate)
    if known is not None and known.vehicle_id == row.vehicle_id:
        complete_vehicle(connection, row.vehicle_id, told, who=who)
        return int(row.vehicle_id)
    others = select(visit.c.id).where(visit.c.vehicle_id == row.vehicle_id, visit.c.id != row.id)
    if known is None and connection.execute(others).first() is None:
        complete_vehicle(connection, row.vehicle_id, told, who=who, alone=True)
        return int(row.vehicle_id)
    return _vehicle(connection, order, customer_id, who=who)


def _link_walkarounds(connection: Connection, visit_id: int, vehicle_id: int | None, *, who: str) -> None:
    if vehicle_id is not None:
        for walkaround_id in _walkarounds(connection, [visit_id]).get(visit_id, ()):
            link(connection, walkaround_id, vehicle_id, who=who)


def _ask(connection: Connection, row: Row[Any]) -> int | None:
    if row.vehicle_id is not None:
        return None
    told = Order.model_validate_json(row.record).vehicle
    known: Known | None = recognised(connection, told.vin, told.plate)
    return known.vehicle_id if known else None


def _check_number(connection: Connection, number: str | None, *, but: int | None = None) -> None:
    if number is None:
        return
    if not number or len(number) > LONGEST_NUMBER:
        message = f"An order's number has 1 to {LONGEST_NUMBER} characters; correct it."
        raise UsageError(message)
    other = connection.scalar(select(visit.c.id).where(visit.c.number == number))
    if other is not None and other != but:
        message = f"There is an order {number} already; give this one another number, or change that one."
        raise UsageError(message)


def _values(order: Order) -> dict[str, Any]:
    return {"number": order.number, "record": order.model_dump_json(), "promised": _sortable(order.promised)}


def _sortable(promised: datetime | date | None) -> str | None:
    """A promise on the shop's own clock, as text that sorts; a day without a time comes before its hours."""
    if promised is None:
        return None
    if not isinstance(promised, datetime):
        return promised.isoformat()
    local = promised.astimezone() if promised.tzinfo else promised
    return local.replace(tzinfo=None).isoformat(timespec="minutes")


def _row(connection: Connection, visit_id: int) -> Row[Any]:
    row = connection.execute(select(visit).where(visit.c.id == visit_id)).first()
    if row is None:
        message = f"There is no order behind the number {visit_id} of the list; choose one from the list."
        raise MissingError(message)
    return row


def _chosen(waiting: bool | None) -> Select[Any]:
    has_one = exists().where(walkaround.c.visit_id == visit.c.id, walkaround.c.state != "set_aside")
    chosen = select(visit)
    if waiting is None:
        return chosen.order_by(visit.c.id.desc())
    if not waiting:
        return chosen.where(has_one).order_by(visit.c.id.desc())
    return chosen.where(~has_one).order_by(visit.c.promised.is_(None), visit.c.promised, visit.c.id)


def _walkarounds(connection: Connection, visits: Sequence[int]) -> dict[int, tuple[str, ...]]:
    chosen = select(walkaround.c.id, walkaround.c.visit_id).where(
        walkaround.c.visit_id.in_(visits), walkaround.c.state != "set_aside"
    )
    found: dict[int, tuple[str, ...]] = {}
    for row in connection.execute(chosen.order_by(walkaround.c.id)):
        found[row.visit_id] = (*found.get(row.visit_id, ()), f"w{row.id}")
    return found


def _visit(row: Row[Any], walkarounds: dict[int, tuple[str, ...]], ask: int | None = None) -> Visit:
    return Visit(
        id=row.id,
        order=Order.model_validate_json(row.record),
        customer_id=row.customer_id,
        vehicle_id=row.vehicle_id,
        walkarounds=walkarounds.get(row.id, ()),
        added_at=row.added_at,
        edition=_edition(row.record),
        ask=ask,
    )


def _edition(record: str) -> str:
    return hashlib.sha256(record.encode()).hexdigest()[:16]


def _matches(order: Order, words: Sequence[str]) -> bool:
    customer, vehicle = order.customer, order.vehicle
    texts = (order.number, customer.name, customer.phone, customer.email, order.technician)
    described = (vehicle.vin, vehicle.plate, vehicle.year, vehicle.make, vehicle.model)
    whole = " ".join(str(text) for text in (*texts, *described) if text).casefold()
    plate = key_of(vehicle.plate).casefold()
    return all(word in whole or (key_of(word) and key_of(word).casefold() in plate) for word in words)


def _tell(connection: Connection, visit_id: int, who: str, what: str, before: Order | None, after: Order) -> None:
    dumped = [order and order.model_dump(mode="json") for order in (before, after)]
    _append(connection, visit_id, who, what, Change(kind="order", before=dumped[0], after=dumped[1]))


def _append(connection: Connection, visit_id: int, who: str, what: str, change: Change) -> None:
    body = {"changes": [change.model_dump(mode="json")]}
    events.append(connection, stream=f"order/{visit_id}", who=who, what=what, body=body)
