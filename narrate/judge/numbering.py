"""Ids of the walkaround: a letter and a number. None is ever used twice, even for something that is gone."""

from collections.abc import Iterable, Iterator
from itertools import count

from narrate.records.walkaround import Walkaround

LETTERS = ("f", "c", "u", "s", "r")
"""Findings, concerns, unplaced, suggestions, recordings."""


def highest(walkaround: Walkaround, letter: str) -> int:
    """The highest number that an id of this letter has or ever had; 0 for none."""
    ids = {
        "f": [each.id for each in walkaround.findings],
        "c": [each.id for each in walkaround.concerns],
        "u": [each.id for each in walkaround.unplaced],
        "s": [each.id for each in walkaround.suggestions],
        "r": [each.id for each in walkaround.recordings],
    }[letter]
    numbers = (int(id_[1:]) for id_ in ids if id_[:1] == letter and id_[1:].isdecimal())
    return max(walkaround.ids_used.get(letter, 0), *numbers, 0)


def new_ids(walkaround: Walkaround, letter: str) -> Iterator[str]:
    """`s4`, `s5` … of which none was ever used, where `s3` was the last."""
    return (f"{letter}{number}" for number in count(highest(walkaround, letter) + 1))


def with_ids_used(walkaround: Walkaround, *before: Walkaround, letters: Iterable[str] = LETTERS) -> Walkaround:
    """The same, knowing the highest ids given so far, here and in what it was made of."""
    used = {letter: max(highest(each, letter) for each in (walkaround, *before)) for letter in letters}
    used = {letter: number for letter, number in used.items() if number}
    return walkaround.model_copy(update={"ids_used": {**walkaround.ids_used, **used}})
