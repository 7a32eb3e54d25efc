"""The order of the stages: the whole of find/ in one list."""

from collections.abc import Callable, Iterable

from narrate.find.amounts import find_amounts
from narrate.find.boundaries import find_boundaries
from narrate.find.draft import Draft
from narrate.find.grouping import group
from narrate.find.guesses import guess_mentions
from narrate.find.joining import join
from narrate.find.mentions import find_mentions
from narrate.find.reading import read_stretches
from narrate.find.repairs import find_repairs
from narrate.find.scopes import find_scopes
from narrate.find.short_names import resolve_short_names
from narrate.find.tokens import split_tokens
from narrate.find.vocabulary import Vocabulary
from narrate.records.recording import Word

Stage = Callable[[Draft, Vocabulary], Draft]

READING: tuple[tuple[str, Stage], ...] = (
    ("tokens", split_tokens),
    ("boundaries", find_boundaries),
    ("mentions", find_mentions),
    ("guesses", guess_mentions),
    ("short names", resolve_short_names),
    ("amounts", find_amounts),
    ("repairs", find_repairs),
    ("scopes", find_scopes),
)
"""What can be told from the words alone."""

STAGES: tuple[tuple[str, Stage], ...] = (*READING, ("reading", read_stretches), ("joining", join), ("grouping", group))
"""All stages in order."""


def run_stages(words: Iterable[Word], vocabulary: Vocabulary, stages: tuple[tuple[str, Stage], ...] = STAGES) -> Draft:
    """Run stages over the words of one recording."""
    draft = Draft(words=tuple(words))
    for _, stage in stages:
        draft = stage(draft, vocabulary)
    return draft
