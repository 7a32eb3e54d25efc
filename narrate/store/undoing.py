"""What can be taken back next, and what made again: two stacks, told by a walkaround's events."""

from collections.abc import Iterable, Sequence

from narrate.records.event import Event


def stacks(events: Iterable[Event]) -> tuple[list[Event], list[Event]]:
    """Return what can be undone and what redone of one walkaround, the next one last, from its events in order.

    How it was first heard cannot be undone; neither can what happened to it because of another walkaround
    (`because_of`): that is undone there. An erased event, and what lies before it, stays as it is.
    """
    undoable: list[Event] = []
    undone: list[Event] = []
    for event in list(events)[1:]:
        if (event.model_extra or {}).get("erased"):
            undoable.clear()
            undone.clear()
        elif event.more.get("because_of"):
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
