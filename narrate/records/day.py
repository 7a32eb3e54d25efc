"""Day: what became of all recordings in a folder (`narrate.day/1`)."""

from typing import Literal

from pydantic import ConfigDict, Field

from narrate.records.base import Kept


class DayItem(Kept):
    """A recording of the folder: `name` is its path in there, `why` a sentence where there is something to say."""

    name: str
    sha256: str
    walkaround_id: str | None = None
    why: str = ""


class DayDoubt(Kept):
    """Recordings of which a person must say where they belong; nothing was guessed."""

    names: tuple[str, ...]
    walkaround_ids: tuple[str, ...] = ()
    orders: tuple[str, ...] = ()
    """Numbers of the orders that it may be."""
    why: str


class DayMatter(Kept):
    """Something of a walkaround that needs an answer: a concern still open, or what must be decided first."""

    walkaround_id: str
    of: str = ""
    """Which vehicle that is: order number, plate, make and model, as far as they are known."""
    about: str
    """An id in the walkaround: `c1`, `f3`, `f2+f5`."""
    text: str


class Day(Kept):
    """Everything that lies in the folder, done now or before, and what the advisor should know of it."""

    model_config = ConfigDict(validate_by_name=True, validate_by_alias=True, serialize_by_alias=True)

    schema_: Literal["narrate.day/1"] = Field(default="narrate.day/1", alias="schema")
    done: tuple[DayItem, ...] = ()
    failed: tuple[DayItem, ...] = ()
    """What is tried again the next time."""
    set_aside: tuple[DayItem, ...] = ()
    """What failed three times, or a person stopped; it waits for a person."""
    doubtful: tuple[DayDoubt, ...] = ()
    open_concerns: tuple[DayMatter, ...] = ()
    decide_first: tuple[DayMatter, ...] = ()
    to_settle: dict[str, int] = Field(default_factory=dict)
    """How many things are not settled in each walkaround."""
