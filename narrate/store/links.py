"""Links that show one estimate to who has them: not to be guessed, good for some days, ended at any time.

Of a link's token only the sha256 is kept: who reads the store cannot open one. An address that tries links that are
none is put off after a few of them.
"""

import hashlib
import secrets
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Row, delete, select

from narrate.errors import MissingError, NarrateError, UsageError
from narrate.store.clock import as_text, now
from narrate.store.engine import Store
from narrate.store.estimate_rows import (
    HeldEstimate,
    change_estimate_within,
    estimate_row,
    missing_estimate,
    read_estimate_within,
)
from narrate.store.estimate_tables import estimate, estimate_link, link_try

TOKEN_BYTES = 16
LONGEST_DAYS = 90
TRIES = 10
"""Links that are none, from one address, before it is put off."""
PUT_OFF_FOR = timedelta(hours=1)
NO_LINK = "This link shows nothing; ask the shop for a new one."
TOO_MANY = "Too many links were tried that are none; try again in an hour, or call the shop."


class LinkError(NarrateError):
    """A link that shows nothing, and why."""


@dataclass(frozen=True, kw_only=True)
class Link:
    """A link as the shop sees it; its token was shown once. Times are ISO, UTC; `open`: it still shows its estimate."""

    id: int
    estimate: str
    until: str
    made_at: str
    made_by: str
    ended_at: str | None
    opened: int
    """How often it was opened."""
    open: bool


def new_link(store: Store, estimate_id: str, days: int, who: str) -> str:
    """Make a link that shows an estimate for so many days, and return its token, which is not kept.

    Raises MissingError where there is no such estimate, UsageError for one set aside and for other days than 1 to 90.
    """
    if not 1 <= days <= LONGEST_DAYS:
        message = f"A link is good for 1 to {LONGEST_DAYS} days; choose how many."
        raise UsageError(message)
    token = secrets.token_urlsafe(TOKEN_BYTES)
    with store.writing() as connection:
        held = read_estimate_within(connection, estimate_id)
        if held.state in ("draft", "set_aside"):
            why = "still a draft" if held.state == "draft" else "set aside"
            message = f"{estimate_id} is {why}; a link shows an estimate that the customer can answer."
            raise UsageError(message)
        until = as_text(datetime.now(UTC) + timedelta(days=days))
        row = {"token_hash": _digest(token), "estimate_id": held.row, "until": until, "made_at": now()}
        values = {**row, "made_by": who, "opened": 0}
        number = connection.scalar(estimate_link.insert().values(values).returning(estimate_link.c.id))
        _tell(connection, held, who, "link", link=number, until=until)
    return token


def estimate_by_link(store: Store, token: str, *, asker: str = "") -> HeldEstimate:
    """Return the one estimate that a link shows. `asker`: the address it comes from; wrong ones are counted by it.

    Raises LinkError for what is no link, one that has expired or was ended, and an address that tried too many.
    """
    found = _tried(store, token, asker)
    if isinstance(found, str):
        # Outside the transaction, so that the try stays counted.
        raise LinkError(found)
    return found


def links_of(store: Store, estimate_id: str) -> tuple[Link, ...]:
    """Return the links of an estimate, the newest first."""
    chosen = select(estimate_link).where(estimate_link.c.estimate_id == estimate_row(estimate_id))
    with store.reading() as connection:
        return tuple(_link(row) for row in connection.execute(chosen.order_by(estimate_link.c.id.desc())))


def end_link(store: Store, link_id: int, who: str) -> None:
    """End a link before its time; one that is ended stays so. Raises MissingError where there is none."""
    with store.writing() as connection:
        row = connection.execute(select(estimate_link).where(estimate_link.c.id == link_id)).first()
        if row is None:
            message = "There is no such link; choose one from the estimate's page."
            raise MissingError(message)
        if row.ended_at is None:
            ended = estimate_link.update().where(estimate_link.c.id == link_id)
            connection.execute(ended.values(ended_at=now()))
            _tell(connection, read_estimate_within(connection, f"e{row.estimate_id}"), who, "link_ended", link=link_id)


def end_links(store: Store, estimate_id: str, who: str) -> int:
    """End all links of an estimate; return how many were open."""
    open_ones = [link for link in links_of(store, estimate_id) if link.open]
    for link in open_ones:
        end_link(store, link.id, who)
    if not open_ones:
        with store.reading() as connection:
            if connection.scalar(select(estimate.c.id).where(estimate.c.id == estimate_row(estimate_id))) is None:
                raise MissingError(missing_estimate(estimate_id))
    return len(open_ones)


def _tried(store: Store, token: str, asker: str) -> HeldEstimate | str:
    """Return the estimate, or why there is none; a wrong token is counted."""
    with store.writing() as connection:
        before = connection.execute(select(link_try).where(link_try.c.asker == _digest(asker))).first()
        put_off_since = as_text(datetime.now(UTC) - PUT_OFF_FOR)
        recent = before is not None and before.since > put_off_since
        if before is not None and recent and before.failures >= TRIES:
            return TOO_MANY
        row = connection.execute(select(estimate_link).where(estimate_link.c.token_hash == _digest(token))).first()
        if row is None:
            connection.execute(delete(link_try).where(link_try.c.since <= put_off_since))
            failures = before.failures + 1 if before is not None and recent else 1
            if failures > 1:
                mine = link_try.c.asker == _digest(asker)
                connection.execute(link_try.update().where(mine).values(failures=failures))
            else:
                connection.execute(link_try.insert().values(asker=_digest(asker), failures=1, since=now()))
            return NO_LINK
        if not _is_open(row):
            return NO_LINK
        held = read_estimate_within(connection, f"e{row.estimate_id}")
        if held.state == "set_aside":
            return NO_LINK
        opened = estimate_link.update().where(estimate_link.c.id == row.id).values(opened=row.opened + 1)
        connection.execute(opened)
        return held


def _tell(connection: Connection, held: HeldEstimate, who: str, what: str, **more: object) -> None:
    """Say in the estimate's history that a link was made or ended; never its token."""
    change_estimate_within(connection, held, held.estimate, who=who, what=what, more=more)


def _link(row: Row[Any]) -> Link:
    same = {name: getattr(row, name) for name in ("id", "until", "made_at", "made_by", "ended_at", "opened")}
    return Link(estimate=f"e{row.estimate_id}", open=_is_open(row), **same)


def _is_open(row: Row[Any]) -> bool:
    return row.ended_at is None and bool(row.until > now())


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()
