"""The list of walkarounds, and the search in it."""

from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, and_, case, func, or_, select, tuple_

from narrate.errors import MissingError
from narrate.store.engine import Store
from narrate.store.keeping import row_of
from narrate.store.listed import letters_and_digits
from narrate.store.tables import customer, visit, walkaround

LAST = "9999"
"""Sorts after every time: nothing was promised."""

_rank = case((walkaround.c.state == "to_check", 0), (walkaround.c.state == "signed", 1), else_=2)
_promised = func.coalesce(visit.c.promised, LAST)
_shown = (
    walkaround.c.id,
    walkaround.c.state,
    walkaround.c.order_number,
    walkaround.c.plate,
    walkaround.c.vehicle,
    customer.c.name.label("customer"),
    visit.c.promised,
    walkaround.c.findings,
    walkaround.c.to_check,
    walkaround.c.technician,
    walkaround.c.added_at,
    walkaround.c.changed_at,
)


@dataclass(frozen=True)
class Listed:
    """One line of the list. `to_check`: findings that nobody has decided on; times as the store writes them."""

    id: str
    state: str
    order_number: str | None
    plate: str | None
    vehicle: str
    """Year, make and model; empty where none is known."""
    customer: str | None
    promised: str | None
    findings: int
    to_check: int
    technician: str | None
    added_at: str
    changed_at: str


def find_walkarounds(
    store: Store, *, query: str = "", state: str | None = None, limit: int = 50, before: str | None = None
) -> list[Listed]:
    """Return walkarounds in the order to take them: to check by the promised time, then signed, the latest first.

    Every word of `query` must be in plate (letters and digits count alone), name, order number, VIN, make, model,
    year, technician or date (`2026-11` too). Without `state` those set aside are left out. To read on, give the
    last one's id as `before`. Raises MissingError where there is no such walkaround.
    """
    with store.reading() as connection:
        chosen = _joined(*_shown).where(*map(_matches, query.lower().split()))
        chosen = chosen.where(walkaround.c.state == state if state else walkaround.c.state != "set_aside")
        if before is not None:
            chosen = chosen.where(_after(connection, before))
        to_check = _rank == 0
        chosen = chosen.order_by(
            _rank,
            case((to_check, _promised)),
            case((to_check, walkaround.c.added_at)),
            case((to_check, walkaround.c.id)),
            walkaround.c.added_at.desc(),
            walkaround.c.id.desc(),
        )
        rows = connection.execute(chosen.limit(limit)).mappings()
        return [Listed(**{**row, "id": f"w{row['id']}"}) for row in rows]


def count_walkarounds(store: Store) -> dict[str, int]:
    """Return how many walkarounds there are in each state."""
    with store.reading() as connection:
        asked = select(walkaround.c.state, func.count()).group_by(walkaround.c.state)
        counts = {state: number for state, number in connection.execute(asked)}
    return {state: counts.get(state, 0) for state in ("to_check", "signed", "set_aside")}


def _joined(*columns: ColumnElement[Any]) -> Select[Any]:
    to_visit = walkaround.outerjoin(visit, walkaround.c.visit_id == visit.c.id)
    return select(*columns).select_from(to_visit.outerjoin(customer, visit.c.customer_id == customer.c.id))


def _matches(word: str) -> ColumnElement[bool]:
    found = [
        walkaround.c.search.contains(word, autoescape=True),
        func.lower(customer.c.name).contains(word, autoescape=True),
        func.lower(visit.c.number).contains(word, autoescape=True),
    ]
    bare = letters_and_digits(word)
    if bare and bare != word:
        found.append(walkaround.c.search.contains(bare, autoescape=True))
    return or_(*found)


def _after(connection: Connection, id_: str) -> ColumnElement[bool]:
    """Whatever the list shows below one walkaround."""
    asked = _joined(walkaround.c.id, walkaround.c.added_at, _rank.label("rank"), _promised.label("promised"))
    last = connection.execute(asked.where(walkaround.c.id == row_of(id_))).first()
    if last is None:
        message = f"There is no walkaround {id_!r} in the store; show the list from its beginning."
        raise MissingError(message)
    if last.rank == 0:
        here = tuple_(_promised, walkaround.c.added_at, walkaround.c.id) > (last.promised, last.added_at, last.id)
    else:
        here = tuple_(walkaround.c.added_at, walkaround.c.id) < (last.added_at, last.id)
    return or_(_rank > last.rank, and_(_rank == last.rank, here))
