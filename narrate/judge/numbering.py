"""Names for new suggestions, none of which is taken."""

from collections.abc import Iterable, Iterator
from itertools import count

from narrate.records.walkaround import Suggestion


def new_ids(suggestions: Iterable[Suggestion]) -> Iterator[str]:
    """`s1`, `s2` … without those in use."""
    taken = {each.id for each in suggestions}
    return (name for number in count(1) if (name := f"s{number}") not in taken)
