"""Customers: rows of their own, so that one who comes again is known."""

from typing import Any

from sqlalchemy import Connection, Row, func, or_, select

from narrate.records.event import Change
from narrate.records.order import Customer
from narrate.store import events
from narrate.store.clock import now
from narrate.store.tables import customer

NOT_DIALLED = (" ", "-", "(", ")", ".", "/")
FIELDS = ("name", "phone", "email")


def known_customer(connection: Connection, told: Customer, *, who: str) -> int | None:
    """The row of a customer: one that is there, completed by what is told now, or a new one; None if nothing is told.

    A customer is the same by telephone or e-mail, unless the name is another; by name alone only where
    one row bears it and its telephone and e-mail say nothing against it.
    """
    values = {field: text for field in FIELDS if (text := getattr(told, field))}
    if not values:
        return None
    row = _same(connection, told)
    if row is None:
        added = connection.execute(customer.insert().values(**values, added_at=now())).inserted_primary_key
        id_ = int(added[0]) if added else 0
        _tell(connection, id_, who, "added", None, values)
        return id_
    missing = {field: text for field, text in values.items() if not getattr(row, field)}
    if missing:
        connection.execute(customer.update().where(customer.c.id == row.id).values(missing))
        _tell(connection, row.id, who, "completed", dict.fromkeys(missing), missing)
    return int(row.id)


def _same(connection: Connection, told: Customer) -> Row[Any] | None:
    rows = list(connection.execute(select(customer).where(or_(*_alike(told))).order_by(customer.c.id.desc())))
    rows = [row for row in rows if _no_other(row.name, told.name)]
    reached = [row for row in rows if _reaches(row, told)]
    if reached:
        return reached[0]
    namesakes = [row for row in rows if told.name and row.name]
    if len(namesakes) != 1:
        return None
    (row,) = namesakes
    contradicted = not _no_other(_dialled(row.phone), _dialled(told.phone)) or not _no_other(row.email, told.email)
    return None if contradicted else row


def _alike(told: Customer) -> list[Any]:
    """What a row may have in common with the customer."""
    number: Any = customer.c.phone
    for sign in NOT_DIALLED:
        number = func.replace(number, sign, "")
    alike = []
    if told.phone:
        alike.append(number == _dialled(told.phone))
    if told.email:
        alike.append(func.lower(customer.c.email) == told.email.lower())
    if told.name:
        alike.append(func.lower(customer.c.name) == told.name.lower())
    return alike


def _reaches(row: Row[Any], told: Customer) -> bool:
    by_phone = bool(told.phone) and _dialled(row.phone) == _dialled(told.phone)
    return by_phone or (bool(told.email) and (row.email or "").casefold() == (told.email or "").casefold())


def _no_other(one: str | None, other: str | None) -> bool:
    return not one or not other or one.casefold() == other.casefold()


def _dialled(phone: str | None) -> str:
    return "".join(letter for letter in phone or "" if letter not in NOT_DIALLED)


def _tell(
    connection: Connection, id_: int, who: str, what: str, before: dict[str, Any] | None, after: dict[str, Any]
) -> None:
    change = Change(kind="customer", before=before, after=after)
    body = {"changes": [change.model_dump(mode="json")]}
    events.append(connection, stream=f"customer/{id_}", who=who, what=what, body=body)
