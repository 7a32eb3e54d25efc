"""Orders that recordings may belong to: those not signed for, with what they are recognised by."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from sqlalchemy import Connection, and_, exists, select

from narrate.records.order import Order
from narrate.store.clock import as_text
from narrate.store.engine import Store
from narrate.store.tables import vehicle, visit, walkaround
from narrate.store.vehicles import key_of

OPEN_DAYS = 60
"""An order that has waited longer is not taken for the one of a recording by a plate alone."""


@dataclass(frozen=True, kw_only=True)
class OpenOrder:
    """An order and the keys it is recognised by (`key_of`): letters and digits alone, empty where it has none."""

    visit_id: int
    number: str
    number_key: str
    plate_key: str
    order: Order
    vehicle_id: int | None


def open_orders(store: Store) -> tuple[OpenOrder, ...]:
    """Return the orders of the last OPEN_DAYS days for which nothing was signed, the oldest first."""
    with store.reading() as connection:
        return open_orders_within(connection)


def open_orders_within(connection: Connection) -> tuple[OpenOrder, ...]:
    """`open_orders` within a transaction."""
    signed = exists().where(and_(walkaround.c.visit_id == visit.c.id, walkaround.c.state == "signed"))
    since = as_text(datetime.now(UTC) - timedelta(days=OPEN_DAYS))
    rows = connection.execute(select(visit).where(~signed, visit.c.added_at > since).order_by(visit.c.id))
    found = []
    for row in rows:
        order = Order.model_validate_json(row.record)
        keys = {"number_key": key_of(order.number), "plate_key": key_of(order.vehicle.plate)}
        told = {"number": order.number or "", "vehicle_id": row.vehicle_id, **keys}
        found.append(OpenOrder(visit_id=row.id, order=order, **told))
    return tuple(found)


def plates_known(store: Store, keys: Iterable[str]) -> frozenset[str]:
    """Return those of some keys that are plates of vehicles which the shop knows."""
    wanted = [key for key in keys if key]
    with store.reading() as connection:
        return frozenset(
            key for key in connection.scalars(select(vehicle.c.plate_key).where(vehicle.c.plate_key.in_(wanted))) if key
        )
