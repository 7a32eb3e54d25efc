"""Estimates from walk-rounds: made with the shop's book, made again when the list was changed, priced by hand."""

from collections.abc import Callable
from decimal import Decimal
from functools import partial

from narrate.price.by_hand import Kept, price_by_hand, with_rows
from narrate.price.estimating import make_estimate
from narrate.records.estimate import Estimate
from narrate.records.price_book import Book, LaborRate
from narrate.records.walkaround import Walkaround
from narrate.review.desk import Desk
from narrate.review.estimate_asked import AskPrice
from narrate.store.books import change_book, has_book, read_book
from narrate.store.clock import now
from narrate.store.estimates import (
    HeldEstimate,
    add_estimate,
    change_estimate,
    estimates_of,
    history,
    read_estimate,
)
from narrate.store.orders import order_of
from narrate.store.shop import Shop, read_shop
from narrate.store.walkarounds import Held, read_walkaround

OF_SHOP = ("name", "address", "phone", "email", "licenses")
USUAL_CURRENCY = "USD"
STANDARD = "standard"
MADE = ("made", "again")
"""Events that say that an estimate was made from the list of findings as it was then."""


def estimate_for(desk: Desk, walkaround_id: str, *, who: str) -> str:
    """The id of a walk-round's estimate: the newest one, made now where there is none."""
    made = estimates_of(desk.store, walkaround_id)
    if made:
        return made[0].id
    held = read_walkaround(desk.store, walkaround_id)
    estimate = _making(desk, held)(previous=None)
    return add_estimate(desk.store, estimate, who=who)


def make_again(desk: Desk, id_: str, *, who: str) -> HeldEstimate:
    """Make it from the list of findings as it is now; what was edited, answered and made by hand stays."""
    held = read_estimate(desk.store, id_)
    making = _making(desk, read_walkaround(desk.store, held.estimate.walkaround_id))

    def make(present: Estimate) -> Estimate:
        made = making(previous=present)
        return made.model_copy(update={"id": present.id, "made_at": present.made_at})

    return change_estimate(desk.store, id_, who=who, what="again", make=make)


def is_behind(desk: Desk, held: HeldEstimate) -> bool:
    """Whether the list of findings was changed since the estimate was made from it."""
    made = max((each.number for each in history(desk.store, held.id) if each.what in MADE), default=0)
    return read_walkaround(desk.store, held.estimate.walkaround_id).revision > made


def book_of(desk: Desk) -> Book:
    """The shop's book; where there is none yet, an empty one with the shop's currency and rate."""
    if has_book(desk.store):
        return read_book(desk.store)
    shop = read_shop(desk.store)
    rates = (LaborRate(name=STANDARD, price=shop.labor_rate),) if shop.labor_rate is not None else ()
    return Book(currency=shop.currency or USUAL_CURRENCY, rates=rates)


def usual_rate(desk: Desk) -> Decimal | None:
    """Price of an hour, to begin with where something is priced by hand."""
    rates = book_of(desk).rates
    named = next((rate for rate in rates if rate.name == STANDARD), None) or next(iter(rates), None)
    return named.price if named else read_shop(desk.store).labor_rate


def priced(desk: Desk, asked: AskPrice) -> tuple[Callable[[Estimate], Estimate], list[Kept]]:
    """How to price something by hand, and the rows for the book, which are there once it was done."""
    book = book_of(desk)
    rate = Decimal(asked.rate or 0)
    kept: list[Kept] = []

    def make(present: Estimate) -> Estimate:
        estimate, rows = price_by_hand(
            present,
            id=asked.thing,
            hours=asked.hours or "0",
            rate=asked.rate or "0",
            rate_name=_rate_name(book, rate),
            part=asked.part,
            part_price=asked.part_price,
            part_quantity=asked.part_quantity,
            part_number=asked.part_number,
            part_is=asked.part_is,
            part_maker=asked.part_maker,
            sublet=asked.sublet,
            taken_keys=[*(row.key for row in book.operations), *(row.key for row in book.parts)],
        )
        kept[:] = [rows]
        return estimate

    return make, kept


def keep_price(desk: Desk, rows: Kept, *, rate: str | None, currency: str, who: str) -> str:
    """Keep what was priced by hand in the book; returns a sentence about it, or nothing where nothing can be kept."""
    operation, part = rows.operation, rows.part
    if operation is None and part is None:
        return ""

    def make(book: Book) -> Book:
        if operation and operation.hours and operation.rate not in {each.name for each in book.rates}:
            new = LaborRate(name=operation.rate, price=Decimal(rate or 0))
            book = book.model_copy(update={"rates": (*book.rates, new)})
        return with_rows(book, rows)

    if has_book(desk.store) and read_book(desk.store).currency != currency:
        return f"It was not kept in the book, which is not in {currency}."
    change_book(desk.store, who=who, what="row", make=make, currency=currency, why="priced by hand")
    names = " and ".join(each.key for each in (operation, part) if each is not None)
    return f"The book has this price now ({names}); the next walk-round is priced with it."


def _making(desk: Desk, held: Held) -> Callable[..., Estimate]:
    order = order_of(desk.store, held.visit_id) if held.visit_id is not None else None
    return partial(
        make_estimate,
        held.walkaround,
        book_of(desk),
        desk.lexicon(),
        made_at=now(),
        shop=_shop(read_shop(desk.store)),
        order=order,
    )


def _shop(shop: Shop) -> dict[str, str]:
    return {key: str(value) for key in OF_SHOP if (value := getattr(shop, key))}


def _rate_name(book: Book, rate: Decimal) -> str:
    """The book's rate with this price; else a name for a new one."""
    names = {each.name: each.price for each in book.rates}
    same = next((name for name, price in names.items() if price == rate), None)
    if same or STANDARD not in names:
        return same or STANDARD
    return f"by hand {rate.normalize():f}"


def walkaround_of(desk: Desk, held: HeldEstimate) -> Walkaround:
    """The walk-round an estimate is about."""
    return read_walkaround(desk.store, held.estimate.walkaround_id).walkaround
