"""What can be taken back next, and what made again: two stacks, told by the events of one walkaround or estimate."""

from collections.abc import Iterable, Sequence

from narrate.records.event import Event

FINAL = frozenset({"consents"})
"""Fields whose change nobody can undo, nor anything before it: what a customer said, stays said."""
BESIDE = frozenset({"document", "link", "link_ended"})
"""What happens beside a record and leaves it as it is."""


def stacks(events: Iterable[Event]) -> tuple[list[Event], list[Event]]:
    """Return what can be undone and what redone of one record, the next one last, from its events in order.

    How it was first heard or made cannot be undone; neither can what happened to it because of another walkaround
    (`because_of`): that is undone there. An erased event or a customer's answer, and what lies before, stays as it is.
    """
    undoable: list[Event] = []
    undone: list[Event] = []
    for event in list(events)[1:]:
        if (event.model_extra or {}).get("erased") or any(change.kind in FINAL for change in event.changes):
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


def changed_since(events: Sequence[Event], number: int) -> bool:
    """Return whether a walkaround is other than it was at an event; what was changed and undone does not count."""
    then, _ = stacks(event for event in events if event.number <= number)
    present, _ = stacks(events)
    return [origin(event) for event in then] != [origin(event) for event in present]


def origin(event: Event) -> int:
    """Return the number of the event that first made these changes."""
    return event.number if event.reverses is None else event.reverses
