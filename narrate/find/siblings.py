"""The other one of a kind: "the left boot is torn, the right one is fine", "left's wet, right's dry".

What is said of the second stands with a pronoun or with a place alone, and means no part named before but its
counterpart: a finding of its own, with the name of that part and those of its places that are not told anew.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from narrate.find.draft import Mention
from narrate.find.scene import Dependent, Scene, axes_of

Linked = list[tuple[str, Dependent, float]]
"""(family, item, probability) of what is said of heads, in the order said."""
VERDICTS = frozenset("condition approval action offer unchecked unclear done amount bare".split())
ALONE = frozenset({"condition", "approval", "unchecked"})
"""What a place alone, without part or pronoun, must be followed by."""
AXIS_OF = {"front|rear": "end", "left|right": "side", "upper|lower": "level", "inner|outer": "depth"}
LOOK_BACK, LONGEST_GAP = 8, 45
"""How many heads and tokens before it the part a counterpart is of may stand."""
CLAUSE, ELLIPSIS = 0.3, 5
"""How much may end, and how many tokens may stand, between a place alone and what is said of it."""
MEANT_ALONE = 0.6
"""How sure a part is that only a place tells of."""


@dataclass(frozen=True, slots=True)
class Told:
    """Heads and what is said of them; of a counterpart, its part and then the pronouns."""

    heads: list[Mention]
    linked: Linked
    counterpart: bool = False

    @property
    def first(self) -> int:
        """The first token that is its own."""
        own = self.heads[1:] if self.counterpart else self.heads
        return min([head.first for head in own] + [item.first for _, item, _ in self.linked[:1]])


def siblings(scene: Scene, loose: Sequence[tuple[list[Mention], Linked]], linked: Mapping[str, Linked]) -> list[Told]:
    """Counterparts of parts named before, told by pronouns no part was found for, or by a place alone."""
    found: list[Told] = []
    for pronouns, told in loose:
        places = [item for family, item, _ in told if family == "location" and isinstance(item, Mention)]
        part = _counterpart(scene, pronouns[0].first, places, linked)
        if part is not None and any(family in VERDICTS for family, _, _ in told):
            found.append(Told([part, *pronouns], told, counterpart=True))
    taken = {item.id for items in linked.values() for _, item, _ in items}
    for place, verdicts in _alone(scene):
        if taken.isdisjoint([place.id, *(item.id for _, item in verdicts)]):
            part = _counterpart(scene, place.first, [place], linked)
            if part is not None:
                items = [("location", place), *verdicts]
                told = [(family, item, MEANT_ALONE) for family, item in items]
                found.append(Told([part], told, counterpart=True))
    return found


def ellipses(scene: Scene, linked: Mapping[str, Sequence[tuple[str, float]]]) -> Iterator[tuple[str, str, float]]:
    """(head, dependent, probability) where a place and a verdict with no part between belong to one head.

    `linked` has (head, probability) by dependent: what joining found for either holds for the other.
    """
    for place, verdicts in _alone(scene):
        _, verdict = next((v for v in verdicts if linked.get(v[1].id)), verdicts[0])
        for one, two in ((place, verdict), (verdict, place)):
            if not linked.get(one.id):
                for head, chance in linked.get(two.id, ()):
                    yield head, one.id, chance


def _alone(scene: Scene) -> Iterator[tuple[Mention, list[tuple[str, Dependent]]]]:
    """Places followed in the same clause by a verdict, with no part or pronoun at either."""
    listed = sorted(scene.dependents, key=lambda one: (one[1].first, one[0]))
    words = scene.vocabulary.cue_words
    within = words["placing"] | words["spanning"]
    for at, (family, place) in enumerate(listed):
        if family != "location" or not isinstance(place, Mention) or scene.texts[max(0, place.first - 1)] in within:
            continue
        verdicts: list[tuple[str, Dependent]] = []
        for behind in range(at + 1, len(listed)):
            kind, item = listed[behind]
            if item.first > place.last + ELLIPSIS or scene.mass[item.first] - scene.mass[place.first] > CLAUSE:
                break
            if kind in ALONE and (not verdicts or verdicts[-1][1].last < item.first):
                # "Dry" is no leak where nothing else is known: of two meanings of a word the approval comes first.
                verdicts.append((kind, item))
        if verdicts and not _part_between(scene, place.first, verdicts[-1][1].last):
            yield place, verdicts


def _part_between(scene: Scene, first: int, last: int) -> bool:
    """Whether a part or pronoun stands there or right before it in the same clause."""
    near = scene.heads[bisect_left(scene.head_starts, first - ELLIPSIS) : bisect_right(scene.head_starts, last)]
    return any(abs(scene.mass[max(first, head.first)] - scene.mass[min(first, head.first)]) <= CLAUSE for head in near)


def _counterpart(scene: Scene, at: int, places: Sequence[Mention], linked: Mapping[str, Linked]) -> Mention | None:
    """The part named before whose place is told apart by these, else the nearest that can have such places."""
    axes = {axis for place in places for axis in axes_of(place.key).split("+")} - {""}
    earlier = scene.heads[bisect_left(scene.head_starts, at - LONGEST_GAP) : bisect_left(scene.head_starts, at)]
    near = [head for head in reversed(earlier) if head.last < at and head.family == "component"][:LOOK_BACK]
    able = [
        head for head in near if axes & {AXIS_OF[axis] for axis in scene.vocabulary.lexicon.components[head.key].places}
    ]
    for head in able:
        if any(
            family == "location" and isinstance(item, Mention) and axes & set(axes_of(item.key).split("+"))
            for family, item, _ in linked.get(head.id, ())
        ):
            return head
    return able[0] if able else None
