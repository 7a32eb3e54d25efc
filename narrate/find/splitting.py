"""One part, two places, two stories: "the left one is torn and the right one is cracked" is two findings.

Front and rear told apart are two findings whatever is said of them; left and right, upper and lower, inner and outer
only where their verdicts differ.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from narrate.find.dividing import Division, divide
from narrate.find.fields import Said, places_of
from narrate.find.places import AXES
from narrate.find.scene import Scene
from narrate.find.status import GUESSED, judge

ENDS, SIDES = AXES[:2]
SENTENCE = 0.9
"""How much ends between two sentences."""


def split_places(scene: Scene, listed: Sequence[Said], drive_side: str) -> list[Said]:
    """Statements told apart by end, side, level and depth; as given where nothing tells them apart."""
    parts = _with_places_taken_over(scene, listed, drive_side)
    for axis in AXES:
        parts = [half for part in parts for half in _split(scene, part, drive_side, axis)]
    return parts


def _with_places_taken_over(scene: Scene, listed: Sequence[Said], drive_side: str) -> list[Said]:
    """ "The left rear boot is torn, the right one is fine": that one is a rear boot too."""
    told: dict[str, Said] = {}
    done = []
    for said in listed:
        if said.group.counterpart:
            origin = told.get(said.part.id)
            if origin is not None:
                places = [place for _, place in places_of(scene, origin, drive_side)]
                mine = [place for _, place in places_of(scene, said, drive_side)]
                said = replace(said, taken_over=_taken_over(mine, places))
        else:
            told.update((head.id, said) for head in said.heads)
        done.append(said)
    return done


def _taken_over(mine: Iterable[frozenset[str]], others: Iterable[frozenset[str]]) -> frozenset[str]:
    """What the other one's places say of axes of which mine say nothing; of "the other one", the opposite side."""
    own = frozenset().union(*mine)
    theirs = frozenset().union(*others)
    taken: set[str] = set()
    opposed = "other" not in own
    for axis in sorted(AXES, key=lambda axis: axis != SIDES):
        known = theirs & set(axis)
        if own & set(axis) or len(known) != 1:
            continue
        if opposed:
            taken |= known
        else:
            taken |= set(axis) - known
            opposed = True
    return frozenset(taken)


def _split(scene: Scene, said: Said, drive_side: str, axis: tuple[str, str]) -> list[Said]:
    division = divide(scene, said, drive_side, axis)
    if division is None or not (_ends_apart(scene, division) if axis == ENDS else _stories_differ(division)):
        return [said]
    return [_half(scene, said, division, place) for place in division.order]


def _ends_apart(scene: Scene, division: Division) -> bool:
    """Whether something is said of each end, or of the last one in a sentence of its own."""
    told = [place for place in division.own if division.stories[place] or division.numbers(place)]
    first, last = division.marks[0][0], division.marks[-1]
    alone = scene.mass[last[0].first] - scene.mass[first.first] >= SENTENCE
    return len(told) == 2 or (told == [last[1]] and alone)


def _stories_differ(division: Division) -> bool:
    """Whether two sides, levels or depths have verdicts of their own that differ."""
    one, two = division.order
    if not all(division.stories[place] or division.numbers(place) for place in (one, two)):
        return False
    judged = any(family in ("condition", "approval") for family, _, _ in division.shared)
    return division.stories[one] != division.stories[two] and not judged and not _no_better(division)


def _no_better(division: Division) -> bool:
    """Whether one side is only measured, and no higher than the one with the fault.

    "Two on the left and three on the right, they're worn" is one story.
    """
    told, other = sorted(division.own, key=lambda place: not division.stories[place])
    if division.stories[other] or division.stories[told] <= {"fine"}:
        return False
    numbers, others = division.numbers(told), division.numbers(other)
    return bool(numbers) and max(n.value for n in others) <= max(n.value for n in numbers)


def _half(scene: Scene, said: Said, division: Division, place: str) -> Said:
    """What is said of one place, with what is said of both."""
    own, story = division.own[place], division.stories[place]
    items = tuple(sorted((*division.shared, *own), key=lambda dependent: dependent[1].first))
    if story:
        status, chance = "ok" if story == {"fine"} else "fault", said.group.probability
    elif any(told - {"fine"} for told in division.stories.values()) and not any(
        family in ("action", "offer") for family, _, _ in own
    ):
        # "Left's got six, right's down to two": the one that is only measured is told apart from the bad one.
        status, chance = "ok", GUESSED
    else:
        ((status, chance),) = judge(scene, [(list(said.heads), list(items))])
    group = replace(
        said.group,
        id=said.group.id if place == division.order[0] else f"{said.group.id}+",
        dependents=tuple(item.id for _, item, _ in items),
        status=status,
        probability=chance,
        why=f"{said.group.why}; told apart by place",
    )
    return Said(group, said.heads, items, said.taken_over | _shared_places(division, place))


def _shared_places(division: Division, place: str) -> frozenset[str]:
    """What the place words of the other half say that holds for this half too."""
    both = set(division.own)
    mine = [tokens for _, tokens in division.words if place in tokens or not tokens & both]
    return _taken_over(mine, [tokens for _, tokens in division.words if place not in tokens])
