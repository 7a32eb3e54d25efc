"""Signing in: PINs with counted tries, tokens that devices hold, and codes that let another device in once.

Of tokens and codes only the sha256 is kept: who reads the store cannot sign in with it.
"""

import hashlib
import secrets
from datetime import datetime, timedelta

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from sqlalchemy import Connection, delete, insert, select, update

from narrate.errors import NarrateError
from narrate.store.clock import as_text, now
from narrate.store.engine import Store
from narrate.store.people import KnownPerson, forget_devices, known, person_row, tell
from narrate.store.tables import pairing, person, signed_in

TRIES = 5
"""Wrong PINs before a name is locked; as many again lock it for twice as long."""
FIRST_LOCK = timedelta(minutes=5)
LONGEST_LOCK = timedelta(days=1)
SIGNED_IN_FOR = timedelta(days=30)
PAIRING_FOR = timedelta(minutes=10)
TOKEN_BYTES = 32
CODE_BYTES = 16
LONGEST_DEVICE = 200
WRONG = "Name and PIN do not go together; try again."
NO_CODE = "This code has been used, or is older than ten minutes; ask the owner to show a new one."


class SignInError(NarrateError):
    """Somebody may not come in, and why."""


def sign_in(store: Store, person_id: int, pin: str, device: str) -> str:
    """A token for a device, good for 30 days. SignInError where the PIN is wrong, or the name locked.

    A try is counted before its PIN is looked at, so that many tries at once are no more than one after another,
    and the slow comparison keeps nobody from writing.
    """
    pin_hash = _counted_try(store, person_id)
    if pin_hash is None or not _matches(pin_hash, pin):
        raise SignInError(WRONG)
    with store.writing() as connection:
        row = person_row(connection, person_id)
        if not row.active or row.pin_hash != pin_hash:
            raise SignInError(WRONG)
        cleared = {"failures": 0, "locked_until": None}
        connection.execute(update(person).where(person.c.id == person_id).values(cleared))
        return _new_token(connection, known(row), device, "signed_in")


def person_by_token(store: Store, token: str) -> KnownPerson | None:
    """Who holds this token, if it is still good."""
    with store.reading() as connection:
        row = connection.execute(
            select(person)
            .join(signed_in, signed_in.c.person_id == person.c.id)
            .where(signed_in.c.token_hash == _digest(token), signed_in.c.until > now(), person.c.active)
        ).first()
        return known(row) if row else None


def sign_out(store: Store, token: str) -> None:
    """End what this token was good for; one that is not known is no mistake."""
    with store.writing() as connection:
        mine = signed_in.c.token_hash == _digest(token)
        row = connection.execute(select(person).join(signed_in).where(mine)).first()
        if row is not None:
            connection.execute(delete(signed_in).where(mine))
            tell(connection, row.id, row.name, "signed_out")


def sign_out_everywhere(store: Store, person_id: int, *, who: str) -> None:
    """Sign a person out on every device, a lost one too."""
    with store.writing() as connection:
        person_row(connection, person_id)
        forget_devices(connection, person_id)
        tell(connection, person_id, who, "signed_out_everywhere")


def new_pairing(store: Store, person_id: int, *, who: str) -> str:
    """A code with which one other device can sign in as this person within ten minutes; earlier codes end."""
    code = secrets.token_urlsafe(CODE_BYTES)
    with store.writing() as connection:
        row = person_row(connection, person_id)
        if not row.active:
            message = f"{row.name} is not active; make them active before letting in a device."
            raise SignInError(message)
        connection.execute(delete(pairing).where(pairing.c.person_id == person_id))
        values = {"token_hash": _digest(code), "person_id": person_id, "until": later(now(), PAIRING_FOR)}
        connection.execute(insert(pairing).values(values))
        tell(connection, person_id, who, "code_shown")
    return code


def use_pairing(store: Store, code: str, device: str) -> str:
    """A token for the device that shows the code. SignInError where the code is used up, too old, or none."""
    with store.writing() as connection:
        at = now()
        good = (pairing.c.token_hash == _digest(code), pairing.c.used_at.is_(None), pairing.c.until > at)
        row = connection.execute(select(person).join(pairing).where(*good, person.c.active)).first()
        if row is None:
            raise SignInError(NO_CODE)
        connection.execute(update(pairing).where(*good).values(used_at=at))
        return _new_token(connection, known(row), device, "device_let_in")


def later(at: str, by: timedelta) -> str:
    """A time of `now` moved on, in the same form."""
    return as_text(datetime.fromisoformat(at) + by)


def _counted_try(store: Store, person_id: int) -> str | None:
    """Count a try as failed until it turns out right; the PIN's hash. SignInError where the name is locked."""
    at = now()
    with store.writing() as connection:
        row = connection.execute(select(person).where(person.c.id == person_id, person.c.active)).first()
        if row is None or row.pin_hash is None:
            return None
        if row.locked_until and row.locked_until > at:
            raise SignInError(_locked(at, row.locked_until))
        failures = row.failures + 1
        until = later(at, _lock(failures // TRIES)) if failures % TRIES == 0 else None
        counted = {"failures": failures, "locked_until": until}
        connection.execute(update(person).where(person.c.id == person_id).values(counted))
        if until:
            tell(connection, person_id, row.name, "last_try", failures=failures, locked_until=until)
        return str(row.pin_hash)


def _lock(times: int) -> timedelta:
    """How long the so-maniest lock lasts (1 is the first)."""
    return min(LONGEST_LOCK, FIRST_LOCK * (1 << min(times - 1, 20)))


def _locked(at: str, until: str) -> str:
    left = datetime.fromisoformat(until) - datetime.fromisoformat(at)
    minutes = -(left // timedelta(minutes=-1))
    wait = "a minute" if minutes == 1 else f"{minutes} minutes"
    return f"There were too many wrong PINs for this name; wait {wait} and try again."


def _matches(pin_hash: str, pin: str) -> bool:
    try:
        return PasswordHasher().verify(pin_hash, pin)
    except (VerificationError, InvalidHashError):
        return False


def _new_token(connection: Connection, who: KnownPerson, device: str, what: str) -> str:
    token, at = secrets.token_urlsafe(TOKEN_BYTES), now()
    for table in (signed_in, pairing):
        connection.execute(delete(table).where(table.c.until <= at))
    device = " ".join(device.split())[:LONGEST_DEVICE]
    values = {"token_hash": _digest(token), "person_id": who.id, "device": device, "began_at": at}
    connection.execute(insert(signed_in).values(**values, until=later(at, SIGNED_IN_FOR)))
    tell(connection, who.id, who.name, what, device=device)
    return token


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()
