"""Estimates in the store: added, read, changed one event at a time, undone and redone; what was shown of them."""

from collections.abc import Callable
from dataclasses import dataclass

from sqlalchemy import Connection, select

from narrate.errors import MissingError, UsageError
from narrate.records.estimate import Estimate
from narrate.records.event import Event
from narrate.store.engine import Store
from narrate.store.estimate_list import ListedEstimate, estimates_of, find_estimates
from narrate.store.estimate_rows import (
    HeldEstimate,
    add_estimate_within,
    change_estimate_within,
    estimate_row,
    estimate_stream,
    missing_estimate,
    read_estimate_within,
)
from narrate.store.estimate_tables import estimate as table
from narrate.store.events import events_of, latest_events
from narrate.store.folding import applied, reversed_changes
from narrate.store.undoing import next_ones, origin, to_redo, to_undo

__all__ = [
    "HeldEstimate",
    "ListedEstimate",
    "ShownDocument",
    "add_estimate",
    "change_estimate",
    "documents_of",
    "estimates_of",
    "find_estimates",
    "history",
    "log_document",
    "read_estimate",
    "redo",
    "revision_of",
    "set_aside",
    "undo",
    "what_can_be_undone",
]


@dataclass(frozen=True, kw_only=True)
class ShownDocument:
    """A document that somebody was shown: the sha256 of its bytes, what it was (`pdf`) and how (`sent`, `read out`)."""

    sha256: str
    kind: str
    how: str
    to: str | None
    at: str
    who: str
    revision: int
    """Number of the estimate's last event before it: what it showed."""


def add_estimate(store: Store, estimate: Estimate, *, who: str) -> str:
    """Add an estimate and return the id it got, `e7`. Raises MissingError where its walkaround is not there."""
    with store.writing() as connection:
        return add_estimate_within(connection, estimate, who=who).id


def read_estimate(store: Store, id_: str) -> HeldEstimate:
    """Return the estimate `e7` as it is now. Raises MissingError."""
    with store.reading() as connection:
        return read_estimate_within(connection, id_)


def change_estimate(
    store: Store,
    id_: str,
    *,
    who: str,
    what: str,
    make: Callable[[Estimate], Estimate],
    why: str | None = None,
    about: str | None = None,
) -> HeldEstimate:
    """Change an estimate to what `make` makes of it, as one event; none where it changed nothing.

    `make` runs under the writer's lock and must not use the store; what it raises leaves everything as it was.
    Raises MissingError, and UsageError for one that is set aside.
    """
    with store.writing() as connection:
        held = _changeable(connection, id_)
        after = make(held.estimate)
        return change_estimate_within(connection, held, after, who=who, what=what, why=why, about=about).held


def undo(store: Store, id_: str, *, who: str) -> HeldEstimate:
    """Take back the last change of an estimate, whoever made it, but no customer's answer nor what lies before it.

    Raises UsageError where there is none.
    """
    with store.writing() as connection:
        held = read_estimate_within(connection, id_)
        nothing = "There is nothing to undo; what a customer answered is changed by a new answer."
        event = to_undo(connection, estimate_stream(id_), nothing=nothing)
        return _reverse(connection, held, event, who=who, what="undo")


def redo(store: Store, id_: str, *, who: str) -> HeldEstimate:
    """Make again what was undone last. Raises UsageError where nothing was, or where something changed since."""
    with store.writing() as connection:
        held = read_estimate_within(connection, id_)
        return _reverse(connection, held, to_redo(connection, estimate_stream(id_)), who=who, what="redo")


def history(store: Store, id_: str) -> tuple[Event, ...]:
    """Return all that happened to an estimate, the oldest first. Raises MissingError."""
    with store.reading() as connection:
        return _events(connection, id_)


def revision_of(store: Store, id_: str) -> int:
    """Return the number of an estimate's last event. Raises MissingError."""
    with store.reading() as connection:
        number = connection.scalar(select(table.c.revision).where(table.c.id == estimate_row(id_)))
    if number is None:
        raise MissingError(missing_estimate(id_))
    return int(number)


def what_can_be_undone(store: Store, id_: str) -> tuple[Event | None, Event | None]:
    """Return the event that `undo` would take back, and the one that `redo` would make again; None where none."""
    with store.reading() as connection:
        return next_ones(latest_events(connection, estimate_stream(id_)))


def set_aside(store: Store, id_: str, *, who: str, why: str) -> HeldEstimate:
    """Set an estimate aside: it is kept, and counts for nothing. `undo` brings it back."""
    with store.writing() as connection:
        held = _changeable(connection, id_)
        more = {"set_aside": True}
        return change_estimate_within(
            connection, held, held.estimate, who=who, what="set_aside", why=why, more=more
        ).held


def log_document(
    store: Store, id_: str, *, sha256: str, kind: str, how: str, who: str, to: str | None = None
) -> HeldEstimate:
    """Keep that somebody was shown a document of an estimate, so that an answer can name the very one.

    `kind` is what it was (`pdf`, `html`, `words`), `how` how (`shown`, `printed`, `sent`, `read out`), `to` where to.
    Raises UsageError for what is no sha256.
    """
    if len(sha256) != 64 or not set(sha256) <= set("0123456789abcdef"):
        message = "A document is named by its sha256: 64 hexadecimal digits."
        raise UsageError(message)
    with store.writing() as connection:
        held = read_estimate_within(connection, id_)
        told = {"sha256": sha256, "kind": kind, "how": how, "to": to, "revision": held.revision}
        more = {key: value for key, value in told.items() if value is not None}
        return change_estimate_within(connection, held, held.estimate, who=who, what="document", more=more).held


def documents_of(store: Store, id_: str) -> tuple[ShownDocument, ...]:
    """Return the documents that were shown of an estimate, the oldest first. Raises MissingError."""
    shown = [event for event in history(store, id_) if event.what == "document"]
    return tuple(
        ShownDocument(
            sha256=event.more["sha256"],
            kind=event.more["kind"],
            how=event.more["how"],
            to=event.more.get("to"),
            at=event.at,
            who=event.who,
            revision=event.more["revision"],
        )
        for event in shown
        if event.more
    )


def _changeable(connection: Connection, id_: str) -> HeldEstimate:
    held = read_estimate_within(connection, id_)
    if held.state == "set_aside":
        message = f"{id_} was set aside; bring it back before you change it."
        raise UsageError(message)
    return held


def _events(connection: Connection, id_: str) -> tuple[Event, ...]:
    events = events_of(connection, estimate_stream(id_))
    if not events:
        raise MissingError(missing_estimate(id_))
    return events


def _reverse(connection: Connection, held: HeldEstimate, event: Event, *, who: str, what: str) -> HeldEstimate:
    """Take back one event's changes."""
    more = {"set_aside": not event.more["set_aside"]} if "set_aside" in event.more else None
    after = applied(held.estimate, reversed_changes(event.changes))
    # Kept even where nothing is left to change (counts of ids stay): the history must say that it was undone.
    return change_estimate_within(
        connection, held, after, who=who, what=what, about=event.about, reverses=origin(event), more=more, always=True
    ).held
