"""Who works at the shop: names, roles and PINs. Signing in with them is `store/signed_in.py`.

As long as nobody has a PIN, the page is open to whoever sits at this computer. From the first PIN on it is not,
so that first PIN must be an owner's, and an owner with a PIN must remain while anybody has one.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from argon2 import PasswordHasher
from sqlalchemy import Connection, Row, delete, func, insert, select, update

from narrate.errors import MissingError, UsageError
from narrate.store import events
from narrate.store.clock import now
from narrate.store.engine import Store
from narrate.store.tables import pairing, person, signed_in

Role = Literal["technician", "advisor", "owner"]
ROLES: tuple[Role, ...] = ("technician", "advisor", "owner")
"""From what may do least to what may do everything."""
STREAM = "people"
LONGEST_NAME = 80
PIN = re.compile(r"[0-9]{4,12}", re.ASCII)


@dataclass(frozen=True, kw_only=True)
class KnownPerson:
    """Somebody of the shop. `locked_until` is a time (ISO, UTC), past or to come, after too many wrong PINs."""

    id: int
    name: str
    role: Role
    active: bool
    has_pin: bool
    locked_until: str | None = None


def list_people(store: Store, *, active: bool = False) -> tuple[KnownPerson, ...]:
    """Everybody by name, or only those who are active."""
    with store.reading() as connection:
        rows = connection.execute(select(person).order_by(func.lower(person.c.name)))
        return tuple(known(row) for row in rows if row.active or not active)


def read_person(store: Store, person_id: int) -> KnownPerson:
    """One person. MissingError where there is no such person."""
    with store.reading() as connection:
        return known(person_row(connection, person_id))


def add_person(store: Store, *, name: str, role: Role, who: str, pin: str | None = None) -> int:
    """Add somebody, with a PIN or without; the id. UsageError for a name or PIN that will not do."""
    with store.writing() as connection:
        name, role = _free_name(connection, name), _role(role)
        values = {"name": name, "role": role, "active": True, "failures": 0, "added_at": now()}
        added = connection.execute(insert(person).values(values)).inserted_primary_key
        person_id = int(added[0]) if added else 0
        tell(connection, person_id, who, "added", name=name, role=role)
        if pin is not None:
            _give_pin(connection, person_id, pin, who)
    return person_id


def change_person(
    store: Store,
    person_id: int,
    *,
    who: str,
    name: str | None = None,
    role: Role | None = None,
    active: bool | None = None,
) -> None:
    """Change what is given. Who is no longer active is signed out everywhere."""
    with store.writing() as connection:
        row = person_row(connection, person_id)
        wanted: dict[str, Any] = {}
        if name is not None and name.strip() != row.name:
            wanted["name"] = _free_name(connection, name, but=person_id)
        if role is not None and role != row.role:
            wanted["role"] = _role(role)
        if active is not None and active != row.active:
            wanted["active"] = active
        if not wanted:
            return
        connection.execute(update(person).where(person.c.id == person_id).values(wanted))
        if active is False:
            forget_devices(connection, person_id)
        _somebody_can_let_in(connection)
        before = {key: getattr(row, key) for key in wanted}
        changes = [{"kind": key, "before": before[key], "after": wanted[key]} for key in sorted(wanted)]
        tell(connection, person_id, who, "changed", changes)


def set_pin(store: Store, person_id: int, pin: str | None, *, who: str) -> None:
    """Give a PIN of 4 to 12 digits, or take it away (None). Ends a lock, and signs the person out everywhere."""
    with store.writing() as connection:
        person_row(connection, person_id)
        _give_pin(connection, person_id, pin, who)


def pins_are_used(store: Store) -> bool:
    """Whether any active person has a PIN, so that signing in is asked for."""
    with store.reading() as connection:
        return connection.execute(_with_pin()).first() is not None


def owner_has_pin(store: Store) -> bool:
    """Whether an active owner has a PIN, without which the page may not be opened to other devices."""
    with store.reading() as connection:
        return connection.execute(_with_pin().where(person.c.role == "owner")).first() is not None


def person_row(connection: Connection, person_id: int) -> Row[Any]:
    """The row of a person. MissingError where there is none."""
    row = connection.execute(select(person).where(person.c.id == person_id)).first()
    if row is None:
        message = "There is no such person; choose one from the list of people."
        raise MissingError(message)
    return row


def known(row: Row[Any]) -> KnownPerson:
    """What others may know of a person's row: not the PIN's hash."""
    return KnownPerson(
        id=row.id,
        name=row.name,
        role=row.role,
        active=row.active,
        has_pin=row.pin_hash is not None,
        locked_until=row.locked_until,
    )


def forget_devices(connection: Connection, person_id: int) -> None:
    """Sign a person out everywhere and make codes not yet used worthless."""
    for table in (signed_in, pairing):
        connection.execute(delete(table).where(table.c.person_id == person_id))


def tell(
    connection: Connection, person_id: int, who: str, what: str, changes: Sequence[object] = (), **more: object
) -> None:
    """Append what happened to a person (`about`: the id); never a PIN, a code or a hash of one."""
    body = {"about": str(person_id), "changes": list(changes), "more": more}
    events.append(connection, stream=STREAM, who=who, what=what, body=body)


def _give_pin(connection: Connection, person_id: int, pin: str | None, who: str) -> None:
    if pin is not None and not PIN.fullmatch(pin):
        message = "A PIN is 4 to 12 digits, nothing else; choose another."
        raise UsageError(message)
    pin_hash = None if pin is None else PasswordHasher().hash(pin)
    values = {"pin_hash": pin_hash, "failures": 0, "locked_until": None}
    connection.execute(update(person).where(person.c.id == person_id).values(values))
    forget_devices(connection, person_id)
    _somebody_can_let_in(connection)
    tell(connection, person_id, who, "pin_taken" if pin is None else "pin_given")


def _with_pin() -> Any:  # noqa: ANN401 (a Select of one column; its full type says nothing more)
    return select(person.c.id).where(person.c.active, person.c.pin_hash.is_not(None))


def _somebody_can_let_in(connection: Connection) -> None:
    """UsageError if somebody has a PIN but no owner has: nobody could change people and settings any more."""
    if not connection.execute(_with_pin()).first():
        return
    if not connection.execute(_with_pin().where(person.c.role == "owner")).first():
        message = "While anybody has a PIN, an active owner needs one too; give an owner a PIN first."
        raise UsageError(message)


def _free_name(connection: Connection, name: str, *, but: int | None = None) -> str:
    name = " ".join(name.split())
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        message = f"A name is 1 to {LONGEST_NAME} characters; write another."
        raise UsageError(message)
    rows = connection.execute(select(person.c.id, person.c.name))
    if any(row.name.casefold() == name.casefold() and row.id != but for row in rows):
        message = f"There is already somebody called {name}; add an initial to tell them apart."
        raise UsageError(message)
    return name


def _role(role: str) -> Role:
    for one in ROLES:
        if one == role:
            return one
    message = f"There is no role “{role}”; take one of {', '.join(ROLES)}."
    raise UsageError(message)
