"""The order of the stages: the whole of find/ in one list."""

from collections.abc import Callable, Iterable

from narrate.find.amounts import find_amounts
from narrate.find.boundaries import find_boundaries
from narrate.find.commands import find_commands
from narrate.find.draft import Draft
from narrate.find.grouping import group
from narrate.find.guesses import guess_mentions
from narrate.find.heading import hush_heading
from narrate.find.joining import join
from narrate.find.meant import find_meant
from narrate.find.mentions import find_mentions
from narrate.find.reading import read_stretches
from narrate.find.repairs import find_repairs
from narrate.find.scopes import find_scopes
from narrate.find.second_vehicle import hush_opening
from narrate.find.short_names import resolve_short_names
from narrate.find.tokens import split_tokens
from narrate.find.vocabulary import Vocabulary
from narrate.records.recording import Word

Stage = Callable[[Draft, Vocabulary], Draft]
Stages = tuple[tuple[str, Stage], ...]

READING: Stages = (
    ("commands", find_commands),
    ("tokens", split_tokens),
    ("boundaries", find_boundaries),
    ("mentions", find_mentions),
    ("guesses", guess_mentions),
    ("short names", resolve_short_names),
    ("amounts", find_amounts),
    ("heading", hush_heading),
    ("repairs", find_repairs),
    ("scopes", find_scopes),
)
"""What can be told from the words alone."""

JOINING: Stages = (
    ("reading", read_stretches),
    ("joining", join),
    ("meant", find_meant),
    ("grouping", group),
)
"""What belongs together."""
STAGES: Stages = (*READING, *JOINING)
"""All stages in order."""
_HEADING = READING.index(("heading", hush_heading))
NEXT_VEHICLE: Stages = (*STAGES[:_HEADING], ("opening", hush_opening), *STAGES[_HEADING:])
"""The same for the words about a second vehicle in one recording."""


def run_stages(words: Iterable[Word], vocabulary: Vocabulary, stages: Stages = STAGES) -> Draft:
    """Run stages over the words of one recording."""
    return go_on(Draft(words=tuple(words)), vocabulary, stages)


def go_on(draft: Draft, vocabulary: Vocabulary, stages: Stages) -> Draft:
    """Run further stages over a draft."""
    for _, stage in stages:
        draft = stage(draft, vocabulary)
    return draft
