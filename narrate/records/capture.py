"""What a capture tells beside its sound: gaps, commands that were spoken or touched, and answers to questions."""

from typing import Literal

from narrate.records.base import Kept

CommandId = Literal["take_back", "mark", "photograph", "next_vehicle", "read_back", "whats_left", "done"]


class Gap(Kept):
    """A place in a recording where nothing was recorded although it went on later."""

    at_s: float
    """Seconds from the start of the recording; what follows was spoken after the gap."""
    missing_s: float | None = None
    """How long it lasted by the phone's clock; None where that cannot be told."""
    why: str


class Mark(Kept):
    """A command or an answer, as it was understood while the technician spoke. Seconds of the recording."""

    id: str
    what: CommandId | Literal["answer"]
    at_s: float
    end_s: float | None = None
    said: str = ""
    """The words heard; empty where it was touched."""
    undone: bool = False
    about_start_s: float | None = None
    about_end_s: float | None = None
    """When the finding was spoken that an answer (or a taking back) is about."""
    field: str | None = None
    """What an answer settles: `location`, `status` or `unit`."""
    value: str | None = None

    def moved(self, by_s: float) -> "Mark":
        """The same mark with its seconds counted from another moment; none comes before that."""
        times = ("at_s", "end_s", "about_start_s", "about_end_s")
        given = {name: value for name in times if (value := getattr(self, name)) is not None}
        return self.model_copy(update={name: max(0.0, value + by_s) for name, value in given.items()})


class Captured(Kept):
    """All of it, for one recording."""

    gaps: tuple[Gap, ...] = ()
    marks: tuple[Mark, ...] = ()


class CommandSaid(Kept):
    """A command in a walkaround's recording, and what came of it."""

    id: str
    command: CommandId
    recording: str
    start_s: float | None = None
    end_s: float | None = None
    said: str = ""
    first_word: int | None = None
    last_word: int | None = None
    """Its words in the recording, inclusive; None where it was touched, or heard only while it was spoken."""
    about: str | None = None
    """The id of what it took back, marked or began."""
    came_of_it: str = ""
    """One sentence: what was taken back, marked or begun."""
