"""Walkarounds in the store: added, read, changed one event at a time, undone and redone."""

from collections.abc import Callable
from typing import Any

from sqlalchemy import Connection, select

from narrate.errors import MissingError, UsageError
from narrate.records.event import Event
from narrate.records.walkaround import Walkaround
from narrate.store.engine import Store
from narrate.store.events import events_of, latest_events
from narrate.store.folding import applied, reversed_changes
from narrate.store.keeping import (
    Held,
    add_within,
    change_within,
    read_within,
    row_of,
    stream_of,
    with_words,
)
from narrate.store.listing import Listed, find_walkarounds
from narrate.store.tables import walkaround as table
from narrate.store.undoing import changed_since, next_ones, origin, to_redo, to_undo

__all__ = [
    "Held",
    "Listed",
    "add_walkaround",
    "add_within",
    "change_walkaround",
    "find_walkarounds",
    "history",
    "join_walkarounds",
    "read_walkaround",
    "read_within",
    "redo",
    "revision_of",
    "set_aside",
    "split_walkaround",
    "undo",
    "what_can_be_undone",
]


def add_walkaround(
    store: Store, walkaround: Walkaround, *, who: str, visit_id: int | None = None, vehicle_id: int | None = None
) -> str:
    """Add a walkaround and return the id it got, `w7`."""
    with store.writing() as connection:
        return add_within(connection, walkaround, who=who, visit_id=visit_id, vehicle_id=vehicle_id).id


def read_walkaround(store: Store, id_: str) -> Held:
    """Return the walkaround `w7` as it is now. Raises MissingError."""
    with store.reading() as connection:
        return read_within(connection, id_)


def change_walkaround(
    store: Store,
    id_: str,
    *,
    who: str,
    what: str,
    make: Callable[[Walkaround], Walkaround],
    why: str | None = None,
    about: str | None = None,
) -> Held:
    """Change a walkaround to what `make` makes of it, as one event; none where it changed nothing.

    `make` runs under the writer's lock and must not use the store; what it raises leaves everything as it was.
    Raises MissingError, and UsageError for one that is set aside.
    """
    with store.writing() as connection:
        held = _changeable(connection, id_)
        after = make(held.walkaround)
        return change_within(connection, held, after, who=who, what=what, why=why, about=about).held


def undo(store: Store, id_: str, *, who: str) -> Held:
    """Take back the last change of a walkaround, whoever made it. Raises UsageError where there is none."""
    with store.writing() as connection:
        held = read_within(connection, id_)
        event = to_undo(connection, stream_of(id_), nothing="There is nothing to undo.")
        return _reverse(connection, held, event, who=who, what="undo")


def redo(store: Store, id_: str, *, who: str) -> Held:
    """Make again what was undone last. Raises UsageError where nothing was, or where something changed since."""
    with store.writing() as connection:
        held = read_within(connection, id_)
        return _reverse(connection, held, to_redo(connection, stream_of(id_)), who=who, what="redo")


def history(store: Store, id_: str) -> tuple[Event, ...]:
    """Return all that happened to a walkaround, the oldest first. Raises MissingError."""
    with store.reading() as connection:
        return _events(connection, id_)


def revision_of(store: Store, id_: str) -> int:
    """Return the number of a walkaround's last event. Raises MissingError."""
    with store.reading() as connection:
        number = connection.scalar(select(table.c.revision).where(table.c.id == row_of(id_)))
    if number is None:
        message = f"There is no walkaround {id_!r} in the store."
        raise MissingError(message)
    return int(number)


def what_can_be_undone(store: Store, id_: str) -> tuple[Event | None, Event | None]:
    """Return the event that `undo` would take back, and the one that `redo` would make again; None where none."""
    with store.reading() as connection:
        return next_ones(latest_events(connection, stream_of(id_)))


def set_aside(store: Store, id_: str, *, who: str, why: str) -> Held:
    """Set a walkaround aside: it is kept, and shown only to who asks for it. `undo` brings it back."""
    with store.writing() as connection:
        held = _changeable(connection, id_)
        more = {"set_aside": True}
        return change_within(connection, held, held.walkaround, who=who, what="set_aside", why=why, more=more).held


def join_walkarounds(
    store: Store, first: str, second: str, *, who: str, make: Callable[[Walkaround, Walkaround], Walkaround]
) -> Held:
    """Make one walkaround of two: the first becomes what `make` makes of both, the second is set aside.

    One transaction; `undo` of the first takes both back.
    """
    if first == second:
        message = "A walkaround cannot be joined with itself; choose another one."
        raise UsageError(message)
    with store.writing() as connection:
        kept, other = _changeable(connection, first), _changeable(connection, second)
        after = make(kept.walkaround, other.walkaround)
        last = _follow(connection, other, set_aside=True, of=first, who=who, why=f"joined with {first}")
        more = {"other": second, "other_set_aside": True, "other_last": last}
        return change_within(connection, kept, after, who=who, what="join", more=more).held


def split_walkaround(
    store: Store, id_: str, *, who: str, make: Callable[[Walkaround], tuple[Walkaround, Walkaround]]
) -> tuple[Held, Held]:
    """Make two walkarounds of one: it becomes the first of what `make` makes of it, the second is added.

    One transaction; `undo` of the first takes both back. The visit stays with the first.
    """
    with store.writing() as connection:
        held = _changeable(connection, id_)
        first, second = make(held.walkaround)
        added = add_within(connection, second, who=who, more={"split_from": id_})
        more = {"other": added.id, "other_set_aside": False, "other_last": added.revision}
        return change_within(connection, held, first, who=who, what="split", more=more).held, added


def _changeable(connection: Connection, id_: str) -> Held:
    held = read_within(connection, id_)
    if held.state == "set_aside":
        message = f"{id_} was set aside; bring it back before you change it."
        raise UsageError(message)
    return held


def _events(connection: Connection, id_: str) -> tuple[Event, ...]:
    events = events_of(connection, stream_of(id_))
    if not events:
        message = f"There is no walkaround {id_!r} in the store."
        raise MissingError(message)
    return events


def _reverse(connection: Connection, held: Held, event: Event, *, who: str, what: str) -> Held:
    """Take back one event's changes, and what happened to another walkaround by it."""
    if held.state == "set_aside" and "set_aside" not in event.more:
        message = f"{held.id} was set aside by way of another walkaround; undo that one's last change to bring it back."
        raise UsageError(message)
    more: dict[str, Any] = {}
    if "set_aside" in event.more:
        more["set_aside"] = not event.more["set_aside"]
    if other := event.more.get("other"):
        aside = not event.more["other_set_aside"]
        if changed_since(_events(connection, other), event.more["other_last"]):
            message = f"{other} has been changed since; undo its changes first."
            raise UsageError(message)
        last = _follow(connection, read_within(connection, other), set_aside=aside, of=held.id, who=who, why=what)
        more |= {"other": other, "other_set_aside": aside, "other_last": last}
    after = with_words(connection, applied(held.walkaround, reversed_changes(event.changes)))
    # Kept even where nothing is left to change (counts of ids stay): the history must say that it was undone.
    first = origin(event)
    return change_within(
        connection, held, after, who=who, what=what, about=event.about, reverses=first, more=more, always=True
    ).held


def _follow(connection: Connection, other: Held, *, set_aside: bool, of: str, who: str, why: str) -> int:
    """Set a walkaround aside, or bring it back, because `of` changed; return the number of the event that says so."""
    more = {"set_aside": set_aside, "because_of": of}
    what = "set_aside" if set_aside else "brought_back"
    return change_within(connection, other, other.walkaround, who=who, what=what, why=why, more=more).held.revision
