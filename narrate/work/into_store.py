"""A walkaround made from files, kept in the shop's store with its recordings: once, however often it is asked."""

from collections.abc import Sequence
from pathlib import Path

from narrate.hear.glance import glance_at
from narrate.hear.suffixes import true_suffix
from narrate.records.order import Order
from narrate.records.walkaround import Walkaround
from narrate.store.engine import Store
from narrate.store.jobs import walkaround_with
from narrate.store.orders import add_order, attach, list_orders
from narrate.store.recordings import keep_recording
from narrate.store.vehicles import link_vehicle, recognise
from narrate.store.walkarounds import add_walkaround

WHO = "narrate process"


def keep_walkaround(store: Store, walkaround: Walkaround, paths: Sequence[Path], *, order: Order | None = None) -> str:
    """Keep recordings, walkaround and order; return the walkaround's id, the former one's if it is there already.

    Raises StoreError where the store cannot keep them, UsageError for an order that cannot be.
    """
    digests = [_keep(store, path) for path in paths]
    known = walkaround_with(store, digests)
    if known:
        return known
    id_ = add_walkaround(store, walkaround, who=WHO)
    if order:
        attach(store, id_, _visit(store, order), who=WHO)
        return id_
    vehicle = recognise(store, walkaround.vehicle.vin, None)
    if vehicle and vehicle.sure:
        link_vehicle(store, id_, vehicle.vehicle_id, who=WHO)
    return id_


def _keep(store: Store, path: Path) -> str:
    glance = glance_at(path)
    suffix = true_suffix(path.name, glance.container)
    return keep_recording(store, path, name=path.name, suffix=suffix, duration_s=glance.duration_s, video=glance.video)


def _visit(store: Store, order: Order) -> int:
    """The visit of an order with this number, or a new one."""
    listed = list_orders(store, query=order.number) if order.number else ()
    same = next((each.id for each in listed if each.order.number == order.number), None)
    return add_order(store, order, who=WHO) if same is None else same
