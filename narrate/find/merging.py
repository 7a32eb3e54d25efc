"""The same thing said again is more evidence, not another finding.

The rules are the record's own: one finding per component, axle, set of conditions and recommendation; two sides of
one axle with the same story are one.
"""

from collections import defaultdict
from dataclasses import dataclass, replace

from narrate.find.fields import Said, conditions_of, locations_of, recommendation_of
from narrate.find.scene import Scene

ENDS, SIDES, LEVELS, DEPTHS = {"front", "rear"}, {"left", "right"}, {"upper", "lower"}, {"inner", "outer"}
RANK = ("fault", "work", "unclear", "ok", "unchecked")
"""Of two statements about one thing, the graver stands."""


@dataclass(frozen=True, slots=True)
class _Story:
    """What decides whether two statements are about one finding."""

    places: frozenset[str]
    tokens: frozenset[str]
    conditions: frozenset[str]
    action: str | None
    measured: bool


def merge(scene: Scene, listed: list[Said], drive_side: str) -> list[Said]:
    """Fold each statement into the nearest earlier one it says again, in the order first said.

    A part named again only to recommend it ("so that needs a caliper") is no finding of its own but says what to do.
    """
    kept: list[Said] = []
    stories: list[_Story] = []
    numbers: dict[str, list[int]] = defaultdict(list)
    for said in listed:
        silent = said.group.status == "none"
        if silent and not said.of("offer", "action"):
            continue
        story = _story(scene, said, drive_side)
        earlier = numbers[said.part.key]
        again = next((n for n in reversed(earlier) if _same(kept[n], stories[n], said, story)), None)
        if again is not None:
            kept[again] = _together(kept[again], said)
            stories[again] = _story(scene, kept[again], drive_side)
        elif not silent:
            earlier.append(len(kept))
            kept.append(said)
            stories.append(story)
    return kept


def _story(scene: Scene, said: Said, drive_side: str) -> _Story:
    places = locations_of(scene, said, drive_side)
    return _Story(
        places=frozenset(places),
        tokens=frozenset(token for place in places for token in place.split()),
        conditions=frozenset(c.id for c in conditions_of(scene, said)),
        action=recommendation_of(scene, said, said.group.status).action,
        measured=bool(said.of("amount", "bare")),
    )


def _same(one: Said, a: _Story, two: Said, b: _Story) -> bool:
    if any(_apart(a.tokens, b.tokens, axis) for axis in (ENDS, LEVELS, DEPTHS)):
        return False
    bare = not (b.conditions or b.action or b.measured)
    grave = {"fault", "work", "none"}
    if two.group.status == "none" and one.group.status not in grave:
        return False
    if _apart(a.tokens, b.tokens, SIDES):
        same_action = a.action == b.action or not a.action or not b.action
        same_status = one.group.status == two.group.status or (_unjudged(one) and _unjudged(two))
        return a.conditions == b.conditions and same_action and same_status
    if one.group.status != two.group.status and not {one.group.status, two.group.status} <= grave:
        # What only names or measures a part says nothing against the verdict given elsewhere.
        return (bare and not two.of("approval", "unchecked", "unclear")) or _unjudged(one) or _unjudged(two)
    if a.places and b.places and a.places != b.places and len(a.places) > 1 and a.conditions != b.conditions:
        return bare
    if a.conditions and b.conditions and not a.conditions & b.conditions:
        return a.places == b.places and (a.action == b.action or not a.action or not b.action)
    return True


def _unjudged(said: Said) -> bool:
    """Nobody said whether it is good or bad; its status is only a guess."""
    return not said.of("condition", "approval", "unchecked", "unclear", "action", "offer")


def _apart(one: frozenset[str], two: frozenset[str], axis: set[str]) -> bool:
    return bool(one & axis) and bool(two & axis) and not one & two & axis


def _together(one: Said, two: Said) -> Said:
    items = {item.id: (family, item, chance) for family, item, chance in (*one.items, *two.items)}
    spoken = [said for said in (one, two) if said.group.status != "none"]
    judged = [said for said in spoken if not _unjudged(said)] or spoken
    status = min((said.group.status for said in judged), key=RANK.index)
    group = replace(
        one.group,
        heads=tuple(dict.fromkeys((*one.group.heads, *two.group.heads))),
        dependents=tuple(items),
        status=status,
        probability=max(one.group.probability, two.group.probability),
        because=tuple(dict.fromkeys((*one.group.because, *two.group.because))),
        why=f"{one.group.why}; said again ({two.group.id})",
    )
    ordered = tuple(sorted(items.values(), key=lambda dependent: dependent[1].first))
    return Said(group, (*one.heads, *two.heads), ordered)
