"""A walkaround that was made without its order gets it: number, concerns and vehicle, judged again."""

from functools import partial

from narrate.errors import UsageError
from narrate.find.concerns import list_concerns
from narrate.find.vocabulary import vocabulary
from narrate.judge.numbering import new_ids, with_ids_used
from narrate.judge.review_order import order_for_review
from narrate.pipeline import judge_walkaround
from narrate.records.order import Order
from narrate.records.walkaround import Vehicle, Walkaround
from narrate.review.desk import Desk
from narrate.store.orders import attach, order_of
from narrate.store.shop import shop_settings
from narrate.store.vehicles import previous_walkaround
from narrate.store.walkarounds import change_walkaround, read_walkaround
from narrate.words.lexicon import Lexicon


def attach_order(desk: Desk, walkaround_id: str, visit_id: int, *, who: str) -> None:
    """Attach a walkaround to an order, and bring into it what the order says.

    UsageError for a signed one; MissingError where there is no such walkaround or order.
    """
    order = order_of(desk.store, visit_id)
    if read_walkaround(desk.store, walkaround_id).walkaround.signed:
        message = f"{walkaround_id} is signed; reopen it before you give it an order."
        raise UsageError(message)
    attach(desk.store, walkaround_id, visit_id, who=who)
    bring_in(desk, walkaround_id, order, who=who)


def bring_in(desk: Desk, walkaround_id: str, order: Order, *, who: str) -> None:
    """Bring what an order says into its walkaround, and judge it again; a signed one stays as it is."""
    lexicon = desk.lexicon()
    market = read_walkaround(desk.store, walkaround_id).walkaround.market
    again = partial(
        judge_walkaround,
        settings=shop_settings(desk.store, desk.settings).model_copy(update={"market": market}),
        lexicon=lexicon,
        order=order,
        previous=previous_walkaround(desk.store, walkaround_id),
    )

    def make(walkaround: Walkaround) -> Walkaround:
        with_order = ordered(walkaround, order, lexicon)
        if walkaround.signed or with_order == walkaround:
            return walkaround
        return order_for_review(again(with_ids_used(with_order, walkaround)))

    change_walkaround(desk.store, walkaround_id, who=who, what="order", make=make)


def ordered(walkaround: Walkaround, order: Order, lexicon: Lexicon) -> Walkaround:
    """The walkaround with the order's concerns that it lacks, and what of the heading was not said."""
    listed = {concern.text.casefold() for concern in walkaround.concerns}
    lacking = [text for text in order.concerns if text.casefold() not in listed]
    ids = new_ids(walkaround, "c")
    new = [concern.model_copy(update={"id": next(ids)}) for concern in list_concerns(lacking, vocabulary(lexicon))]
    return walkaround.model_copy(
        update={
            "order_number": walkaround.order_number or order.number,
            "technician": walkaround.technician or order.technician,
            "vehicle": _vehicle(walkaround.vehicle, order),
            "concerns": (*walkaround.concerns, *new),
        }
    )


def _vehicle(said: Vehicle, order: Order) -> Vehicle:
    told = order.vehicle.model_dump()
    return said.model_copy(update={key: value for key, value in told.items() if getattr(said, key) is None})
