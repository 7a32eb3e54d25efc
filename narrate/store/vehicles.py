"""Vehicles: which one it is, by VIN or plate, and what was found on it the last time."""

from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Row, Select, select

from narrate.errors import MissingError, UsageError
from narrate.records.event import Change
from narrate.records.order import OrderVehicle
from narrate.records.walkaround import Walkaround
from narrate.store import events
from narrate.store.clock import now
from narrate.store.engine import Store
from narrate.store.keeping import row_of
from narrate.store.tables import customer, vehicle, walkaround
from narrate.store.walkarounds import read_walkaround

FIELDS = ("vin", "plate", "year", "make", "model")
LONGEST_KEY = 40


@dataclass(frozen=True, kw_only=True)
class Known:
    """A vehicle that it may be. Not `sure`: only the plate says so, and plates move; a person must say yes."""

    vehicle_id: int
    sure: bool


@dataclass(frozen=True, kw_only=True)
class KeptVehicle:
    """A vehicle as the store has it, and whose it was when it came first."""

    id: int
    vin: str | None
    plate: str | None
    year: int | None
    make: str | None
    model: str | None
    customer: str | None


@dataclass(frozen=True, kw_only=True)
class Earlier:
    """A walkaround of a vehicle: `w7`, its state, and when it was added (ISO, UTC)."""

    id: str
    state: str
    added_at: str


def key_of(text: str | None) -> str:
    """Letters and digits alone, in capitals: how VINs and plates are compared.

    >>> key_of("7abc-123"), key_of(None)
    ('7ABC123', '')
    """
    return "".join(letter for letter in (text or "").upper() if letter.isalnum())[:LONGEST_KEY]


def recognise(store: Store, vin: str | None, plate: str | None) -> Known | None:
    """The vehicle with this VIN (sure), else the last one with this plate (not sure), else None."""
    with store.reading() as connection:
        return recognised(connection, vin, plate)


def recognised(connection: Connection, vin: str | None, plate: str | None) -> Known | None:
    """`recognise` within a transaction."""
    if key_of(vin):
        row = connection.execute(select(vehicle.c.id).where(vehicle.c.vin == key_of(vin))).first()
        if row:
            return Known(vehicle_id=row.id, sure=True)
    if not key_of(plate):
        return None
    same_plate = select(vehicle).where(vehicle.c.plate_key == key_of(plate)).order_by(vehicle.c.id.desc())
    for row in connection.execute(same_plate):
        # Two VINs are two vehicles, whatever plate they bear.
        if not (row.vin and key_of(vin)):
            return Known(vehicle_id=row.id, sure=False)
    return None


def read_vehicle(store: Store, vehicle_id: int) -> KeptVehicle:
    """One vehicle. MissingError where there is none."""
    chosen = select(vehicle, customer.c.name.label("customer")).join(customer, isouter=True)
    with store.reading() as connection:
        row = connection.execute(chosen.where(vehicle.c.id == vehicle_id)).first()
    if row is None:
        raise MissingError(_missing(vehicle_id))
    return KeptVehicle(id=row.id, customer=row.customer, **{field: getattr(row, field) for field in FIELDS})


def vehicle_of(store: Store, walkaround_id: str) -> int | None:
    """The vehicle a walkaround is linked to."""
    with store.reading() as connection:
        linked = walkaround_row(connection, walkaround_id).vehicle_id
    return None if linked is None else int(linked)


def new_vehicle(store: Store, told: OrderVehicle, *, who: str, customer_id: int | None = None) -> int:
    """Add a vehicle; its id. UsageError where another has its VIN."""
    with store.writing() as connection:
        return add_vehicle(connection, told, who=who, customer_id=customer_id)


def add_vehicle(connection: Connection, told: OrderVehicle, *, who: str, customer_id: int | None = None) -> int:
    """`new_vehicle` within a transaction."""
    values = _values(told)
    if "vin" in values:
        _check_vin(connection, values["vin"])
    row = values | {"customer_id": customer_id, "added_at": now()}
    added = connection.execute(vehicle.insert().values(row)).inserted_primary_key
    id_ = int(added[0]) if added else 0
    _tell(connection, id_, who, "added", None, values)
    return id_


def complete_vehicle(
    connection: Connection, vehicle_id: int, told: OrderVehicle, *, who: str, alone: bool = False
) -> None:
    """Put down what is told of a known vehicle; the newest counts, and what is not told stays.

    Its VIN stays too, once there is one, unless nothing else hangs on this vehicle (`alone`). MissingError where there
    is no such vehicle, UsageError where another has the VIN.
    """
    row = connection.execute(select(vehicle).where(vehicle.c.id == vehicle_id)).first()
    if row is None:
        raise MissingError(_missing(vehicle_id))
    values = _values(told)
    if row.vin and not alone:
        values.pop("vin", None)
    changed = {key: value for key, value in values.items() if value != getattr(row, key)}
    if not changed:
        return
    if "vin" in changed:
        _check_vin(connection, changed["vin"])
    connection.execute(vehicle.update().where(vehicle.c.id == vehicle_id).values(changed))
    _tell(connection, vehicle_id, who, "completed", {key: getattr(row, key) for key in changed}, changed)


def link_vehicle(store: Store, walkaround_id: str, vehicle_id: int, *, who: str) -> None:
    """Say of which vehicle a walkaround is. MissingError where there is no such walkaround or vehicle."""
    with store.writing() as connection:
        link(connection, walkaround_id, vehicle_id, who=who)


def link(connection: Connection, walkaround_id: str, vehicle_id: int, *, who: str) -> None:
    """`link_vehicle` within a transaction."""
    row = walkaround_row(connection, walkaround_id)
    if connection.scalar(select(vehicle.c.id).where(vehicle.c.id == vehicle_id)) is None:
        raise MissingError(_missing(vehicle_id))
    if row.vehicle_id == vehicle_id:
        return
    connection.execute(walkaround.update().where(walkaround.c.id == row.id).values(vehicle_id=vehicle_id))
    change = Change(kind="vehicle", id=walkaround_id, before=row.vehicle_id, after=vehicle_id)
    body = {"about": walkaround_id, "changes": [change.model_dump(mode="json")]}
    events.append(connection, stream=f"vehicle/{vehicle_id}", who=who, what="linked", body=body)


def previous_walkaround(store: Store, walkaround_id: str) -> Walkaround | None:
    """The last walkaround of the same vehicle before this one: a signed one, else any; None where there is none.

    Its VIN and plate are left out: that it is the same vehicle is settled, and plates change.
    """
    with store.reading() as connection:
        row = walkaround_row(connection, walkaround_id)
    return None if row.vehicle_id is None else last_walkaround_of(store, row.vehicle_id, before=row.id)


def last_walkaround_of(store: Store, vehicle_id: int, *, before: int | None = None) -> Walkaround | None:
    """The last walkaround of a vehicle (before the row of another), as `previous_walkaround` gives it."""
    chosen = select(walkaround.c.id).where(walkaround.c.vehicle_id == vehicle_id, walkaround.c.state != "set_aside")
    if before is not None:
        chosen = chosen.where(walkaround.c.id < before)
    signed_first = (walkaround.c.state == "signed").desc()
    with store.reading() as connection:
        last = connection.scalar(chosen.order_by(signed_first, walkaround.c.id.desc()).limit(1))
    if last is None:
        return None
    found = read_walkaround(store, f"w{last}").walkaround
    return found.model_copy(update={"vehicle": found.vehicle.model_copy(update={"vin": None, "plate": None})})


def walkarounds_of(store: Store, vehicle_id: int) -> tuple[Earlier, ...]:
    """The walkarounds of a vehicle, the newest first."""
    chosen = select(walkaround.c.id, walkaround.c.state, walkaround.c.added_at)
    chosen = chosen.where(walkaround.c.vehicle_id == vehicle_id, walkaround.c.state != "set_aside")
    with store.reading() as connection:
        rows = connection.execute(chosen.order_by(walkaround.c.id.desc()))
        return tuple(Earlier(id=f"w{row.id}", state=row.state, added_at=row.added_at) for row in rows)


def walkaround_row(connection: Connection, walkaround_id: str) -> Row[Any]:
    """The row (id, visit_id, vehicle_id) of a walkaround called `w7`. MissingError where there is none."""
    chosen: Select[Any] = select(walkaround.c.id, walkaround.c.visit_id, walkaround.c.vehicle_id)
    row = connection.execute(chosen.where(walkaround.c.id == row_of(walkaround_id))).first()
    if row is None:
        message = f"There is no walkaround {walkaround_id!r} in the store."
        raise MissingError(message)
    return row


def _check_vin(connection: Connection, vin: str) -> None:
    if connection.scalar(select(vehicle.c.id).where(vehicle.c.vin == vin)) is not None:
        message = f"There is a vehicle with the VIN {vin} already; take that one."
        raise UsageError(message)


def _values(told: OrderVehicle) -> dict[str, Any]:
    """What is told, as it stands in the table."""
    values = {field: value for field in FIELDS if (value := getattr(told, field)) is not None}
    if "vin" in values:
        values["vin"] = key_of(values["vin"])
    if "plate" in values:
        values["plate_key"] = key_of(values["plate"])
    return {key: value for key, value in values.items() if value != ""}


def _missing(vehicle_id: int) -> str:
    return f"There is no vehicle {vehicle_id}; choose another."


def _tell(
    connection: Connection, id_: int, who: str, what: str, before: dict[str, Any] | None, after: dict[str, Any]
) -> None:
    change = Change(kind="vehicle", before=before, after=after)
    body = {"changes": [change.model_dump(mode="json")]}
    events.append(connection, stream=f"vehicle/{id_}", who=who, what=what, body=body)
