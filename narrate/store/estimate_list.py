"""The list of estimates, and the search in it."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from sqlalchemy import ColumnElement, Row, and_, or_, select

from narrate.errors import MissingError
from narrate.store.engine import Store
from narrate.store.estimate_rows import estimate_row, missing_estimate
from narrate.store.estimate_tables import estimate as table
from narrate.store.keeping import row_of
from narrate.store.listed import letters_and_digits

_SHOWN: tuple[ColumnElement[Any], ...] = (
    table.c.id,
    table.c.walkaround_id,
    table.c.state,
    table.c.jobs,
    table.c.to_be_priced,
    table.c.currency,
    table.c.total,
    table.c.order_number,
    table.c.customer,
    table.c.vehicle,
    table.c.expires_on,
    table.c.added_at,
    table.c.changed_at,
)


@dataclass(frozen=True, kw_only=True)
class ListedEstimate:
    """One line of the list; times as the store writes them."""

    id: str
    walkaround: str
    state: str
    jobs: int
    to_be_priced: int
    currency: str
    total: Decimal
    order_number: str | None
    customer: str | None
    vehicle: str
    """Year, make and model; empty where none is known."""
    expires_on: str | None
    added_at: str
    changed_at: str


def estimates_of(store: Store, walkaround_id: str, *, set_aside: bool = False) -> tuple[ListedEstimate, ...]:
    """Return the estimates of a walkaround, the newest first; with `set_aside` those set aside too."""
    chosen = select(*_SHOWN).where(table.c.walkaround_id == row_of(walkaround_id))
    if not set_aside:
        chosen = chosen.where(table.c.state != "set_aside")
    with store.reading() as connection:
        return tuple(_listed(row) for row in connection.execute(chosen.order_by(table.c.id.desc())))


def find_estimates(
    store: Store, *, query: str = "", state: str | None = None, limit: int = 50, before: str | None = None
) -> list[ListedEstimate]:
    """Return estimates, the newest first.

    Every word of `query` must be in id, walkaround's id, order number, customer, vehicle, plate (letters and digits
    count alone), VIN or day. Without `state` those set aside are left out. To read on, give the last one's id as
    `before`. Raises MissingError where there is no such estimate.
    """
    chosen = select(*_SHOWN).where(*map(_matches, query.lower().split()))
    chosen = chosen.where(table.c.state == state if state else table.c.state != "set_aside")
    with store.reading() as connection:
        if before is not None:
            asked = select(table.c.id, table.c.added_at).where(table.c.id == estimate_row(before))
            last = connection.execute(asked).first()
            if last is None:
                raise MissingError(missing_estimate(before))
            same_time = and_(table.c.added_at == last.added_at, table.c.id < last.id)
            chosen = chosen.where(or_(table.c.added_at < last.added_at, same_time))
        ordered = chosen.order_by(table.c.added_at.desc(), table.c.id.desc()).limit(limit)
        return [_listed(row) for row in connection.execute(ordered)]


def _matches(word: str) -> ColumnElement[bool]:
    found = table.c.search.contains(word, autoescape=True)
    bare = letters_and_digits(word)
    return or_(found, table.c.search.contains(bare, autoescape=True)) if bare and bare != word else found


def _listed(row: Row[Any]) -> ListedEstimate:
    values = dict(row._mapping)
    told = {"id": f"e{row.id}", "walkaround": f"w{values.pop('walkaround_id')}", "total": Decimal(row.total)}
    return ListedEstimate(**{**values, **told})
