"""Event: one change of a walkaround, as the store keeps it. The present state is the fold of its events."""

from typing import Any

from pydantic import Field

from narrate.records.base import Kept


class Change(Kept):
    """One thing that changed: what it was and what it became; None where it was not there, or is gone.

    `kind` is a field of the walkaround. Things with an id (findings, concerns, unplaced, suggestions, recordings)
    change one by one under that id; every other field changes as a whole, and its `id` is None.
    """

    kind: str
    id: str | None = None
    before: Any = None
    after: Any = None
    place: int | None = None
    """Where it stands in its list, for a thing that was put in or taken out."""


class Event(Kept):
    """Who changed what, when and from what to what. `number` counts through the whole store."""

    number: int
    stream: str
    """What it changes: `walkaround/7`, `shop`, `order/3`, …"""
    at: str
    who: str
    what: str
    """A word for the history: `heard`, `confirm`, `component`, `undo`, …"""
    why: str | None = None
    about: str | None = None
    """The id of the finding or other thing it was about, where there is one."""
    changes: tuple[Change, ...] = ()
    reverses: int | None = None
    """Of an undo or a redo: the number of the event whose changes it takes back or makes again."""
    more: dict[str, Any] = Field(default_factory=dict)
