"""What of a statement is said of each of two opposite places: "left: torn, right: fine", "nine in the front, …"."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from narrate.find.draft import Amount, Mention
from narrate.find.fields import Said, places_of
from narrate.find.places import AXES
from narrate.find.scene import Dependent, Scene
from narrate.find.siblings import Linked

VERDICTS = ("condition", "approval", "action", "offer", "unchecked", "unclear", "done", "optional")
NUMBERS = ("amount", "bare")
CLAIMS = frozenset((*VERDICTS, *NUMBERS))
SIDES = AXES[1]
REACH = 12
"""How many tokens behind a place a verdict still belongs to it."""
JUST_BEHIND, CLAUSE, COMMA = 3, 0.3, 0.5
"""How many tokens before a place, and how much may end between, where the place stands behind the verdict."""

Words = Sequence[tuple[Mention, frozenset[str]]]
"""Place words, each with the canonical tokens it stands for."""
Marks = Sequence[tuple[Mention, str]]
"""Place words that name one of the two places, each with that place, in the order said."""


@dataclass(frozen=True)
class Division:
    """The items of one statement by the two places of an axis."""

    words: Words
    marks: Marks
    own: dict[str, Linked]
    shared: Linked
    stories: dict[str, frozenset[str]]
    """What is said of each place, as far as it decides between fault and fine."""

    def numbers(self, place: str) -> list[Amount]:
        """The numbers told of a place."""
        return [item for family, item, _ in self.own[place] if family in NUMBERS and isinstance(item, Amount)]

    @property
    def order(self) -> tuple[str, str]:
        """The two places, the one first named first."""
        first = self.marks[0][1]
        return first, next(place for place in self.own if place != first)


def divide(scene: Scene, said: Said, drive_side: str, axis: tuple[str, str]) -> Division | None:
    """Who says what of which place; None where the statement does not name both places of the axis."""
    words = places_of(scene, said, drive_side)
    marks = _marks(scene, words, axis)
    if {place for _, place in marks} != set(axis):
        return None
    own: dict[str, Linked] = {place: [] for place in axis}
    shared: Linked = []
    trailing = _trailing(said, marks)
    everywhere = {word.id for word, place in words if place & {"both", "all"}}
    marked = {word.id: place for word, place in marks}
    told = [item for family, item, _ in said.items if family in ("condition", "approval", *NUMBERS)]
    for entry in said.items:
        family, item, _ = entry
        if item.id in everywhere:
            # "Both" told of one part is told of neither half.
            continue
        place = marked.get(item.id)
        if family in CLAIMS:
            place = _place_of(scene, item, told, marks, trailing=trailing)
        (own[place] if place else shared).append(entry)
    return Division(words, marks, own, shared, {place: _story(scene, own[place]) for place in axis})


def _marks(scene: Scene, words: Words, axis: tuple[str, str]) -> Marks:
    """Not those that stand together, as in "front and back"; "the other side" is the side not named."""
    marks = [(word, next(iter(place & set(axis)))) for word, place in words if len(place & set(axis)) == 1]
    if axis == SIDES and len({place for _, place in marks}) == 1:
        other = axis[1 - axis.index(marks[0][1])]
        marks += [(word, other) for word, place in words if "other" in place]
        marks.sort(key=lambda mark: mark[0].first)
    joints = scene.vocabulary.cue_words["listing"] | scene.vocabulary.cue_words["spanning"]
    together = {
        word.id
        for (one, place), (two, another) in pairwise(marks)
        if place != another
        and one.last + 1 < two.first
        and scene.mass[two.first] - scene.mass[one.last] < COMMA
        and all(scene.texts[n] in joints for n in range(one.last + 1, two.first))
        for word in (one, two)
    }
    return [mark for mark in marks if mark[0].id not in together]


def _trailing(said: Said, marks: Marks) -> bool:
    """Whether each place stands behind what is said of it: "torn on the left, fine on the right"."""
    verdicts = [item for family, item, _ in said.items if family in ("condition", "approval")]
    return bool(verdicts) and verdicts[0].first < marks[0][0].first and verdicts[-1].last < marks[-1][0].first


def _place_of(scene: Scene, item: Dependent, told: Sequence[Dependent], marks: Marks, *, trailing: bool) -> str | None:
    """The place a verdict or number belongs to: before it ("left: torn") or behind it ("nine in the rear")."""
    before = [place for word, place in marks if word.first < item.first <= word.first + REACH]
    behind = [
        (word, place)
        for word, place in marks
        if item.last < word.first <= item.last + JUST_BEHIND
        and scene.mass[word.first] - scene.mass[item.last] < COMMA
        and not any(item.last < other.first < word.first for other in told)
    ]
    if behind:
        word, place = behind[0]
        if not before or (_placed(scene, item, word) if isinstance(item, Amount) else trailing):
            return place
    return before[-1] if before else None


def _placed(scene: Scene, item: Amount, word: Mention) -> bool:
    """ "Nine in the rear": a preposition ties a number to the place behind it."""
    between = scene.texts[item.last + 1 : word.last + 1]
    near = scene.mass[word.first] - scene.mass[item.last] < CLAUSE
    return near and not scene.vocabulary.cue_words["placing"].isdisjoint(between)


def _story(scene: Scene, items: Linked) -> frozenset[str]:
    story = set()
    for family, item, _ in items:
        if family == "condition" and isinstance(item, Mention):
            denied = scene.scopes[item.first] & {"denied", "supposed"}
            story.add("fine" if denied else f"fault {item.key}")
        elif family == "approval":
            story.add("fine")
    return frozenset(story - {"fine"} or story)
