"""What can be taken back next, and what made again: two stacks, told by the events of one walkaround or estimate."""

from collections.abc import Iterable, Iterator, Sequence

from sqlalchemy import Connection

from narrate.errors import UsageError
from narrate.records.event import Event
from narrate.store.events import latest_events

FINAL = frozenset({"consents"})
"""Fields whose change nobody can undo, nor anything before it: what a customer said, stays said."""
FORGOTTEN = "forgotten"
"""Erased: the name of the event that says so, and the key under which it says what."""
BESIDE = frozenset({"document", "link", "link_ended", FORGOTTEN})
"""What happens beside a record and leaves it as it is."""


def stacks(events: Iterable[Event]) -> tuple[list[Event], list[Event]]:
    """Return what can be undone and what redone of one record, the next one last, from its events in order.

    How it was first heard or made cannot be undone; neither can what happened to it because of another walkaround
    (`because_of`): that is undone there. An erased event or a customer's answer, and what lies before, stays as it is.
    """
    undoable: list[Event] = []
    undone: list[Event] = []
    for event in list(events)[1:]:
        if _is_final(event):
            undoable.clear()
            undone.clear()
        elif event.what in BESIDE or event.more.get("because_of"):
            continue
        elif event.what == "undo":
            del undoable[-1:]
            undone.append(event)
        elif event.what == "redo":
            del undone[-1:]
            undoable.append(event)
        else:
            undoable.append(event)
            undone.clear()
    return undoable, undone


def next_ones(latest_first: Iterable[Event]) -> tuple[Event | None, Event | None]:
    """Return the last of each of both stacks, from the events of one record, the latest first.

    It asks for no more of them than it needs, which mostly is one or two.
    """
    undoable: Event | None = None
    undone: Event | None = None
    # How many of the next ones down each stack are not on it any more.
    taken_back = made_again = 0
    settled = False
    for event in _but_the_last(latest_first):
        if _is_final(event):
            break
        if event.what in BESIDE or event.more.get("because_of"):
            continue
        if event.what == "undo":
            taken_back += 1
            if not settled and not made_again:
                undone, settled = event, True
            made_again = max(0, made_again - 1)
            continue
        if event.what == "redo":
            made_again += 1
        else:
            settled = True
        if not undoable and not taken_back:
            undoable = event
        taken_back = max(0, taken_back - 1)
        if undoable and settled:
            break
    return undoable, undone


def to_undo(connection: Connection, stream: str, *, nothing: str) -> Event:
    """Return the event of a stream that `undo` takes back. Raises UsageError, in the words of `nothing`, for none."""
    undoable, _ = next_ones(latest_events(connection, stream))
    if undoable is None:
        raise UsageError(nothing)
    return undoable


def to_redo(connection: Connection, stream: str) -> Event:
    """Return the event of a stream that `redo` makes again. Raises UsageError where there is none."""
    _, undone = next_ones(latest_events(connection, stream))
    if undone is None:
        message = "There is nothing to do again."
        raise UsageError(message)
    return undone


def _but_the_last(events: Iterable[Event]) -> Iterator[Event]:
    later: Event | None = None
    for event in events:
        if later:
            yield later
        later = event


def _is_final(event: Event) -> bool:
    if (event.model_extra or {}).get("erased") or (event.what == FORGOTTEN and event.changes):
        return True
    return any(change.kind in FINAL for change in event.changes)


def changed_since(events: Sequence[Event], number: int) -> bool:
    """Return whether a walkaround is other than it was at an event; what was changed and undone does not count."""
    then, _ = stacks(event for event in events if event.number <= number)
    present, _ = stacks(events)
    return [origin(event) for event in then] != [origin(event) for event in present]


def origin(event: Event) -> int:
    """Return the number of the event that first made these changes."""
    return event.number if event.reverses is None else event.reverses
