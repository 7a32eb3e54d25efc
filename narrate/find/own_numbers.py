"""Numbers told of the part right before them: "left pads are at two, right pads are at six"."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator

from narrate.find.scene import Dependent, Scene

NUMBERS = frozenset({"amount", "bare"})
REACH = 4
"""A number that a part is told with stands this near behind it."""
CLAUSE = 0.3


def has_its_own(scene: Scene, number: int, item: Dependent) -> bool:
    """Whether a number is told of the part before it, and the head behind it is told with a number too."""
    head, at = scene.heads[number], bisect_left(scene.head_starts, item.first) - 1
    if head.first < item.first or at < 0:
        return False
    return _close(scene, scene.heads[at].last, item.first) and any(
        _close(scene, head.last, own) for own in _next_numbers(scene, head.last)
    )


def _next_numbers(scene: Scene, last: int) -> Iterator[int]:
    """Where the next number of each family begins behind a token; the nearer one is close if any is."""
    for family in NUMBERS:
        starts = scene.starts_by_family.get(family, [])
        at = bisect_right(starts, last)
        yield from starts[at : at + 1]


def _close(scene: Scene, last: int, first: int) -> bool:
    return 0 < first - last <= REACH and scene.mass[first] - scene.mass[last] < CLAUSE
