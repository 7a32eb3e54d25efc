"""The numbers the encoder's small networks see beside the words of a pair. One list serves training and use."""

import math
from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence

from narrate.find.draft import Amount, Mention
from narrate.find.scene import Dependent, Scene

FAMILIES = (
    "component", "pronoun", "unknown", "condition", "action", "location", "approval", "unchecked", "unclear", "done",
    "optional", "offer", "hedge", "same", "urgent", "later", "part", "test", "amount", "bare", "price", "code",
    "reason", "consequence", "timing",
)  # fmt: skip
"""Families of stretches, in the order the encoder numbers them."""
PARTS = 6
_PART_OF = {
    "component": 0, "pronoun": 0, "unknown": 0, "condition": 1, "approval": 2, "unchecked": 3, "unclear": 3, "hedge": 3,
    "action": 4, "offer": 4, "done": 4, "optional": 4, "timing": 4,
}  # fmt: skip
MOST_KNOWN, SCALE = 8.0, 4
"""Summed weights count no higher or lower than this, and are given in fourths."""
LINK_NUMBERS, SAME_NUMBERS = 13, 9
HEADS_BEFORE, HEADS_AFTER, REACH = 9, 6, 130
SAME_BACK, PRONOUN_BACK = 30, 12


def part_of(family: str) -> int:
    """Which of the PARTS coarse sorts a family is of, pooled one by one for the status of a group."""
    return _PART_OF.get(family, PARTS - 1)


def status_sums(totals: Mapping[str, float], statuses: Sequence[str]) -> list[float]:
    """The linear model's sums for the statuses, below the highest."""
    highest = max(totals.values())
    return [max(-MOST_KNOWN, totals.get(name, -MOST_KNOWN) - highest) for name in statuses]


def _known(total: float | None) -> tuple[float, float]:
    """What the linear model sums up, and whether it was not asked."""
    return (-2.0, 1.0) if total is None else (max(-MOST_KNOWN, min(MOST_KNOWN, total)) / SCALE, 0.0)


def family_of(head: Mention) -> str:
    """The family of a head."""
    return "pronoun" if head.family == "cue" else head.family


def link_pairs(scene: Scene, item: Dependent) -> Iterator[int]:
    """Numbers of the heads a dependent may belong to at all, nearest first on each side."""
    middle = bisect_left(scene.head_starts, item.first)
    for number in range(middle - 1, max(-1, middle - 1 - HEADS_BEFORE), -1):
        if item.first - scene.heads[number].last > REACH:
            break
        yield number
    for number in range(middle, min(len(scene.heads), middle + HEADS_AFTER)):
        if scene.heads[number].first - item.last > REACH:
            return
        yield number


def link_numbers(scene: Scene, number: int, family: str, item: Dependent, known: float | None) -> list[float]:
    """LINK_NUMBERS numbers of a dependent and a head; `known` is the linear model's sum, None if it was not asked."""
    head = scene.heads[number]
    after = item.first > head.first
    first, last = (head.last, item.first) if after else (item.last, head.first)
    distance = max(0, last - first - 1)
    mass = max(0.0, scene.mass[max(first, last)] - scene.mass[min(first, last)])
    middle = bisect_left(scene.head_starts, item.first)
    rivals = middle - 1 - number if after else number - middle
    like = scene.count_between(scene.starts_by_family.get(family, []), min(first, last), max(first, last))
    legal = _legal(scene, head, item)
    return [
        math.log1p(distance) / 4,
        1.0 if after else 0.0,
        math.log1p(mass),
        1.0 if mass < 0.4 else 0.0,
        min(rivals, 8) / 4,
        1.0 if rivals == 0 else 0.0,
        min(like, 6) / 3,
        1.0 if legal is True else 0.0,
        1.0 if legal is False else 0.0,
        1.0 if head.needs_context else 0.0,
        *_known(known),
        1.0 if distance == 0 else 0.0,
    ]


def _legal(scene: Scene, head: Mention, item: Dependent) -> bool | None:
    if head.family != "component":
        return None
    lexicon = scene.vocabulary.lexicon
    entry = lexicon.components[head.key]
    if isinstance(item, Amount):
        units = {measure.unit for measure in entry.measures}
        return item.unit in units if units and item.unit else None
    if item.family == "condition":
        return lexicon.legal(head.key, item.key)
    if item.family == "location":
        axes = {token for axis in entry.places for token in axis.split("|")}
        return bool(axes)
    return None


def same_pairs(scene: Scene, later: int) -> Iterator[int]:
    """Earlier heads that may speak of the same finding: like-named parts, and whatever a pronoun means."""
    two = scene.heads[later]
    for earlier in range(later - 1, max(-1, later - 1 - SAME_BACK), -1):
        one = scene.heads[earlier]
        if two.family == "component" and one.family == "component":
            if one.key == two.key:
                yield earlier
        elif later - earlier <= PRONOUN_BACK and "unknown" not in (one.family, two.family):
            yield earlier


def same_numbers(scene: Scene, earlier: int, later: int, known: float | None) -> list[float]:
    """SAME_NUMBERS numbers of two heads; `known` as for links."""
    one, two = scene.heads[earlier], scene.heads[later]
    between = scene.heads[earlier + 1 : later]
    return [
        math.log1p(max(0, two.first - one.last - 1)) / 4,
        math.log1p(max(0.0, scene.mass[two.first] - scene.mass[one.last])),
        min(len(between), 12) / 6,
        min(sum(h.family == "component" for h in between), 8) / 4,
        1.0 if one.key == two.key else 0.0,
        1.0 if scene.texts[one.last] == scene.texts[two.last] else 0.0,
        1.0 if scene.texts[one.last][-1:] == "s" else 0.0,
        *_known(known),
    ]
