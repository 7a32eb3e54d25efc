"""Who is at the page, and whether they may do what they ask for.

While the page is open to this computer alone and nobody has a PIN, whoever sits here is its owner. From the first
PIN on, and whenever other devices can reach the page, everybody signs in.
"""

from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from fastapi import Depends, HTTPException
from starlette.requests import HTTPConnection

from narrate.errors import UsageError
from narrate.review.desk import Desk
from narrate.store.engine import Store
from narrate.store.people import ROLES, KnownPerson, Role, owner_has_pin, pins_are_used
from narrate.store.signed_in import person_by_token

COOKIE = "narrate_session"
SIGN_IN = "/sign-in"
SIGN_IN_FIRST = "You are not signed in; sign in at /sign-in and do it again."
MAY_DO: dict[Role, str] = {
    "technician": "someone of the shop",
    "advisor": "an advisor or an owner",
    "owner": "an owner",
}


@dataclass(frozen=True, kw_only=True)
class Person:
    """Who asks. `local`: whoever sits at this computer, without signing in; only then there is no `id`."""

    id: int | None
    name: str
    role: Role
    local: bool = False


THIS_COMPUTER = Person(id=None, name="this computer", role="owner", local=True)


def is_open(desk: Desk) -> bool:
    """Whether nobody needs to sign in: only this computer reaches the page, and nobody has a PIN."""
    return desk.local and not pins_are_used(desk.store)


def person_or_none(connection: HTTPConnection) -> Person | None:
    """Who asks, or None where they have to sign in first."""
    desk: Desk = connection.app.state.desk
    token = connection.cookies.get(COOKIE)
    known = person_by_token(desk.store, token) if token else None
    if known:
        return _person(known)
    return THIS_COMPUTER if is_open(desk) else None


def person_of(connection: HTTPConnection) -> Person:
    """Who asks (a dependency, for requests and live connections). Pages lead to signing in, all else gets a 401."""
    person = person_or_none(connection)
    if person is not None:
        return person
    if _is_page(connection):
        raise HTTPException(303, SIGN_IN_FIRST, headers={"Location": _sign_in_and_back(connection)})
    raise HTTPException(401, SIGN_IN_FIRST)


def needs(role: Role) -> Any:  # noqa: ANN401 (what `Depends` itself returns)
    """A dependency that gives who asks, and refuses (403) those who may do less than `role`.

    Use it as it is: `Annotated[Person, needs("advisor")]`, or in `dependencies=[needs("advisor")]`.
    """

    def allowed(connection: HTTPConnection) -> Person:
        person = person_of(connection)
        if ROLES.index(person.role) < ROLES.index(role):
            sentence = f"This needs {MAY_DO[role]}; you are signed in as {person.name} ({person.role})."
            raise HTTPException(403, sentence)
        return person

    return Depends(allowed)


def check_may_open(store: Store, host: str, *, local: bool) -> None:
    """UsageError unless the page may be opened at `host`: beyond this computer only if an owner has a PIN."""
    if not local and not owner_has_pin(store):
        message = (
            f"Other devices could reach narrate at {host}, and no owner has a PIN yet: start `narrate review` without "
            "--host on this computer, give an owner a PIN on the Shop page, and then start it with --host again."
        )
        raise UsageError(message)


def _person(known: KnownPerson) -> Person:
    return Person(id=known.id, name=known.name, role=known.role)


def _is_page(connection: HTTPConnection) -> bool:
    """Whether a person is looking at what is answered, and not a script, a player or a live connection."""
    if connection.scope["type"] != "http" or connection.url.path.startswith("/api/"):
        return False
    return connection.headers.get("sec-fetch-dest", "document") == "document"


def _sign_in_and_back(connection: HTTPConnection) -> str:
    if connection.scope["method"] not in ("GET", "HEAD"):
        return SIGN_IN
    asked = connection.url.path + ("?" + connection.url.query if connection.url.query else "")
    return SIGN_IN if asked == "/" else f"{SIGN_IN}?then={quote(asked, safe='/')}"
