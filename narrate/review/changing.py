"""What the page asks is done here: the correction made, judged, and kept as one event."""

from collections.abc import Callable, Sequence
from functools import partial

from narrate.errors import ConflictError
from narrate.pipeline import judge_walkaround, process_words
from narrate.records.order import Order, OrderVehicle
from narrate.records.recording import Recording
from narrate.records.walkaround import Walkaround
from narrate.review.corrections.applying import apply
from narrate.review.corrections.asked import Asked, AskSign, WordsAsked
from narrate.review.desk import Desk
from narrate.store.clock import now
from narrate.store.orders import order_of
from narrate.store.shop import shop_settings
from narrate.store.vehicles import link_vehicle, new_vehicle, previous_walkaround, recognise
from narrate.store.walkarounds import Held, change_walkaround, read_walkaround

TRIES = 5
"""How often words are found anew because someone changed the list meanwhile."""


def make_change(desk: Desk, id_: str, asked: Asked, *, who: str) -> Held:
    """Do what was asked of a walkaround and keep it.

    Raises UsageError for what cannot be, ConflictError for what someone else has changed, MissingError.
    """
    held = read_walkaround(desk.store, id_)
    again = judging(desk, held)
    about = getattr(asked, "finding", None) or getattr(asked, "about", None)
    keep = partial(change_walkaround, desk.store, id_, who=who, what=asked.do, about=about)
    why = getattr(asked, "why", None)
    if not isinstance(asked, WordsAsked):
        make = partial(apply, asked=asked, lexicon=desk.lexicon(), by=who, at=now(), again=again)
        kept = keep(make=make, why=why)
        if isinstance(asked, AskSign):
            _know_vehicle(desk, kept, who=who)
        return kept
    # Finding anew takes seconds on a long recording; nobody should wait for the writer's lock meanwhile.
    for _ in range(TRIES):
        before = held.walkaround
        after = apply(before, asked, lexicon=desk.lexicon(), by=who, at=now(), again=again, find=finding(desk, held))
        try:
            return keep(make=_if_still(before, after), why=why)
        except ConflictError:
            held = read_walkaround(desk.store, id_)
    message = "Others keep changing this list; try again in a moment."
    raise ConflictError(message)


def judging(desk: Desk, held: Held, *, alone: bool = False) -> Callable[[Walkaround], Walkaround]:
    """How walkarounds are judged here: with the shop's settings, the order and the visit before; `alone`: without."""
    settings = shop_settings(desk.store, desk.settings).model_copy(update={"market": held.walkaround.market})
    previous = None if alone else previous_walkaround(desk.store, held.walkaround.id)
    order = None if alone else _order(desk, held)
    return partial(judge_walkaround, settings=settings, lexicon=desk.lexicon(), order=order, previous=previous)


def finding(desk: Desk, held: Held, *, alone: bool = False) -> Callable[[Sequence[Recording]], Walkaround]:
    """How findings are found here in words that were corrected; `alone`: without the order."""
    side = held.walkaround.vehicle.drive_side
    known = {"market": held.walkaround.market, "drive_side": side}
    settings = shop_settings(desk.store, desk.settings).model_copy(update=known)
    order = ((not alone and _order(desk, held)) or Order()).model_copy(update=known)
    return partial(process_words, settings=settings, lexicon=desk.lexicon(), order=order)


def _know_vehicle(desk: Desk, held: Held, *, who: str) -> None:
    """Give a signed list's vehicle a row of its own, so that it is known when it comes back.

    One whose plate is known already is left to a person: plates move between vehicles.
    """
    vehicle = held.walkaround.vehicle
    if held.vehicle_id is not None or not (vehicle.vin or vehicle.plate):
        return
    known = recognise(desk.store, vehicle.vin, vehicle.plate)
    if known and not known.sure:
        return
    told = OrderVehicle(vin=vehicle.vin, plate=vehicle.plate, year=vehicle.year, make=vehicle.make, model=vehicle.model)
    vehicle_id = known.vehicle_id if known else new_vehicle(desk.store, told, who=who)
    link_vehicle(desk.store, held.walkaround.id, vehicle_id, who=who)


def _order(desk: Desk, held: Held) -> Order | None:
    return order_of(desk.store, held.visit_id) if held.visit_id is not None else None


def _if_still(before: Walkaround, after: Walkaround) -> Callable[[Walkaround], Walkaround]:
    def make(present: Walkaround) -> Walkaround:
        if present != before:
            message = "The list was changed meanwhile."
            raise ConflictError(message)
        return after

    return make
