"""One part, two places, two stories: "the left one is torn and the right one is cracked" is two findings.

Front and rear told apart are two findings whatever is said of them; left and right, upper and lower, inner and outer
only where their verdicts differ.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise

from narrate.find.draft import Amount, Mention
from narrate.find.fields import Said, places_of
from narrate.find.grouping import GUESSED, judge
from narrate.find.places import AXES
from narrate.find.scene import Dependent, Scene

VERDICTS = ("condition", "approval", "action", "offer", "unchecked", "unclear", "done", "optional")
ENDS, SIDES = AXES[:2]
NUMBERS = ("amount", "bare")
CLAIMS = frozenset((*VERDICTS, *NUMBERS))
REACH = 12
"""How many tokens behind a place a verdict still belongs to it."""
SENTENCE = 0.9
JUST_BEHIND, CLAUSE, COMMA = 3, 0.3, 0.5
"""How many tokens before a place, and how much may end between, where the place stands behind the verdict."""

Marks = Sequence[tuple[Mention, str]]
Items = list[tuple[str, Dependent, float]]


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
    for axis in sorted(AXES, key=lambda axis: axis != AXES[1]):
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
    words = places_of(scene, said, drive_side)
    marks = _marks(scene, words, axis)
    if {place for _, place in marks} != set(axis):
        return [said]
    trailing = _trailing(said, marks)
    own: dict[str, Items] = {place: [] for place in axis}
    shared: Items = []
    told = [item for family, item, _ in said.items if family in ("condition", "approval", *NUMBERS)]
    for entry in said.items:
        family, item, _ = entry
        place = _side_of(scene, item, told, marks, trailing=trailing) if family in CLAIMS else None
        if family == "location":
            if any(word is item and place & {"both", "all"} for word, place in words):
                continue
            place = next((p for word, p in marks if word is item), None)
        (own[place] if place else shared).append(entry)
    stories = {place: _story(scene, own[place]) for place in axis}
    numbered = {place for place in axis if any(family in NUMBERS for family, _, _ in own[place])}
    known = [place for place in axis if stories[place] or place in numbered]
    if len(known) < 2 and not (axis == ENDS and known == [marks[-1][1]] and _apart(scene, marks)):
        return [said]
    if axis != ENDS and (stories[axis[0]] == stories[axis[1]] or _judged(shared) or _no_better(own, stories)):
        return [said]
    first = marks[0][1]
    ordered = (first, axis[1 - axis.index(first)])
    return [
        _half(scene, said, own[place], shared, stories, place, number, _over(words, place, axis))
        for number, place in enumerate(ordered)
    ]


def _marks(scene: Scene, words: list[tuple[Mention, frozenset[str]]], axis: tuple[str, str]) -> Marks:
    """Place words that name one place of the axis, in order; not those that stand together: "front and back"."""
    named = [(word, next(iter(place & set(axis)))) for word, place in words if len(place & set(axis)) == 1]
    if axis == SIDES and len({place for _, place in named}) == 1:
        other = axis[1 - axis.index(named[0][1])]
        named = sorted(
            [*named, *((word, other) for word, place in words if "other" in place)], key=lambda mark: mark[0].first
        )
    joints = scene.vocabulary.cue_words["listing"] | scene.vocabulary.cue_words["spanning"]
    together = {
        word.id
        for (one, place), (two, another) in pairwise(named)
        if place != another
        and one.last + 1 < two.first
        and scene.mass[two.first] - scene.mass[one.last] < COMMA
        and all(scene.texts[n] in joints for n in range(one.last + 1, two.first))
        for word in (one, two)
    }
    return [mark for mark in named if mark[0].id not in together]


def _over(words: list[tuple[Mention, frozenset[str]]], place: str, axis: tuple[str, str]) -> frozenset[str]:
    """What the places of the other half say that holds for this half too."""
    mine = [tokens for _, tokens in words if place in tokens or not tokens & set(axis)]
    return _taken_over(mine, [tokens for _, tokens in words if place not in tokens])


def _no_better(own: dict[str, Items], stories: dict[str, frozenset[str]]) -> bool:
    """Whether the side that is only measured has no higher number than the one with the fault: "two on the left and
    three on the right, they're worn" is one story."""
    (told, other) = sorted(own, key=lambda place: not stories[place])
    if stories[other] or not stories[told] - {"fine"}:
        return False
    numbers = {
        place: [item.value for f, item, _ in own[place] if f in NUMBERS and isinstance(item, Amount)] for place in own
    }
    return bool(numbers[told]) and bool(numbers[other]) and max(numbers[other]) <= max(numbers[told])


def _judged(items: Items) -> bool:
    return any(family in ("condition", "approval") for family, _, _ in items)


def _side_of(scene: Scene, item: Dependent, told: Sequence[Dependent], marks: Marks, *, trailing: bool) -> str | None:
    """The place a verdict or number belongs to: before it ("left: torn") or behind it ("nine in the rear")."""
    behind = [
        (place, scene.mass[word.first] - scene.mass[item.last], scene.texts[item.last + 1 : word.last + 1])
        for word, place in marks
        if item.last < word.first <= item.last + JUST_BEHIND
        and not any(item.last < other.first < word.first for other in told)
    ]
    before = [place for word, place in marks if word.first < item.first <= word.first + REACH]
    if isinstance(item, Amount):
        placing = scene.vocabulary.cue_words["placing"]
        placed = behind and behind[0][1] < CLAUSE and not placing.isdisjoint(behind[0][2])
        chosen = placed or not before
    else:
        chosen = trailing or not before
    if behind and behind[0][1] < COMMA and chosen:
        return behind[0][0]
    return before[-1] if before else None


def _trailing(said: Said, marks: Marks) -> bool:
    """Whether each place stands behind what is said of it: "torn on the left, fine on the right"."""
    verdicts = [item for family, item, _ in said.items if family in ("condition", "approval")]
    return bool(verdicts) and verdicts[0].first < marks[0][0].first and verdicts[-1].last < marks[-1][0].first


def _story(scene: Scene, items: Items) -> frozenset[str]:
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
    scene: Scene,
    said: Said,
    own: Items,
    shared: Items,
    stories: dict[str, frozenset[str]],
    place: str,
    number: int,
    taken: frozenset[str],
) -> Said:
    items = tuple(sorted((*shared, *own), key=lambda dependent: dependent[1].first))
    story = stories[place]
    if story:
        status, chance = "ok" if story == {"fine"} else "fault", said.group.probability
    elif any(stories[other] - {"fine"} for other in stories) and not any(f in ("action", "offer") for f, _, _ in own):
        # "Left's got six, right's down to two": the one that is only measured is told apart from the bad one.
        status, chance = "ok", GUESSED
    else:
        ((status, chance),) = judge(scene, [(list(said.heads), list(items))])
    group = replace(
        said.group,
        id=said.group.id if number == 0 else f"{said.group.id}+",
        dependents=tuple(item.id for _, item, _ in items),
        status=status,
        probability=chance,
        why=f"{said.group.why}; told apart by place",
    )
    return Said(group, said.heads, items, said.taken_over | taken)


def _apart(scene: Scene, marks: Marks) -> bool:
    """Whether two places are named in two sentences."""
    return scene.mass[marks[-1][0].first] - scene.mass[marks[0][0].first] >= SENTENCE
