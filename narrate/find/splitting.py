"""One part, two places, two stories: "the left one is torn and the right one is cracked" is two findings.

Front and rear told apart are two findings whatever is said of them; left and right only where their verdicts differ.
"""

from dataclasses import replace

from narrate.find.draft import Amount, Mention
from narrate.find.fields import Said
from narrate.find.places import resolve
from narrate.find.scene import Dependent, Scene

VERDICTS = ("condition", "approval", "action", "offer", "unchecked", "unclear", "done", "optional")
ENDS = ("front", "rear")
SIDES = ("left", "right")
NUMBERS = ("amount", "bare")
REACH = 12
"""How many tokens behind a place a verdict still belongs to it."""
JUST_BEHIND = 3


def split_places(scene: Scene, said: Said, drive_side: str) -> list[Said]:
    """Statements told apart by end, then by side; the one given where nothing tells it apart."""
    return [half for part in _split(scene, said, drive_side, ENDS) for half in _split(scene, part, drive_side, SIDES)]


def _split(scene: Scene, said: Said, drive_side: str, axis: tuple[str, str]) -> list[Said]:
    marks = _marks(scene, said, drive_side, axis)
    if {place for _, place in marks} != set(axis):
        return [said]
    own: dict[str, list[tuple[str, Dependent, float]]] = {place: [] for place in axis}
    shared: list[tuple[str, Dependent, float]] = []
    for entry in said.items:
        family, item, _ = entry
        place = _side_of(scene, item, marks) if family in (*VERDICTS, *NUMBERS) else None
        if family == "location" and isinstance(item, Mention):
            if resolve(scene.vocabulary.lexicon, item.key, drive_side) & {"both", "all"}:
                continue
            place = next((p for first, p in marks if first == item.first), None)
        (own[place] if place else shared).append(entry)
    stories = {place: _story(scene, own[place]) for place in axis}
    numbered = all(any(family in NUMBERS for family, _, _ in own[place]) for place in axis)
    told = all(stories.values())
    if not told and not (numbered and axis == ENDS):
        return [said]
    if axis == SIDES and (stories["left"] == stories["right"] or _judged(shared)):
        return [said]
    first = marks[0][1]
    ordered = (first, axis[1 - axis.index(first)])
    return [_half(said, own[place], shared, stories[place], number) for number, place in enumerate(ordered)]


def _judged(items: list[tuple[str, Dependent, float]]) -> bool:
    return any(family in ("condition", "approval") for family, _, _ in items)


def _marks(scene: Scene, said: Said, drive_side: str, axis: tuple[str, str]) -> list[tuple[int, str]]:
    """(token, place) of the place words that name just one place of the axis, in order."""
    marks = []
    for item, _ in said.of("location"):
        if isinstance(item, Mention):
            named = resolve(scene.vocabulary.lexicon, item.key, drive_side) & set(axis)
            if len(named) == 1:
                marks.append((item.first, next(iter(named))))
    return sorted(marks)


def _side_of(scene: Scene, item: Dependent, marks: list[tuple[int, str]]) -> str | None:
    """The place a verdict or number belongs to: named right behind it ("nine in the rear"), else before it."""
    behind = [
        place
        for first, place in marks
        if item.last < first <= item.last + JUST_BEHIND and scene.mass[first] - scene.mass[item.last] < 0.3
    ]
    if behind and isinstance(item, Amount):
        return behind[0]
    before = [place for first, place in marks if first < item.first <= first + REACH]
    return before[-1] if before else None


def _story(scene: Scene, items: list[tuple[str, Dependent, float]]) -> frozenset[str]:
    """What is said of one side, as far as it decides between fault and fine."""
    story = set()
    for family, item, _ in items:
        if family == "condition" and isinstance(item, Mention):
            denied = scene.scopes[item.first] & {"denied", "supposed"}
            story.add("fine" if denied else f"fault {item.key}")
        elif family == "approval":
            story.add("fine")
    return frozenset(story - {"fine"} or story)


def _half(
    said: Said,
    own: list[tuple[str, Dependent, float]],
    shared: list[tuple[str, Dependent, float]],
    story: frozenset[str],
    number: int,
) -> Said:
    status = said.group.status if not story else "ok" if story == {"fine"} else "fault"
    items = tuple(sorted((*shared, *own), key=lambda dependent: dependent[1].first))
    group = replace(
        said.group,
        id=said.group.id if number == 0 else f"{said.group.id}+",
        dependents=tuple(item.id for _, item, _ in items),
        status=status,
        why=f"{said.group.why}; told apart by place",
    )
    return Said(group, said.heads, items)
