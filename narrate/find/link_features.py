"""Named features of a head and a dependent: does this belong to that? One list serves training and use."""

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from typing import NamedTuple

from narrate.find.draft import Amount, Mention
from narrate.find.scene import Dependent, Scene, axes_of

GAPS = ((0, "0"), (1, "1"), (2, "2"), (4, "4"), (7, "7"), (12, "12"), (20, "20"), (35, "35"))
MASSES = (
    (0.0, "0"),
    (0.31, "weak"),
    (0.45, "comma"),
    (0.75, "mid"),
    (1.05, "stop"),
    (2.05, "2"),
    (4.05, "4"),
)
LEXICAL = frozenset({"action", "offer", "approval", "done", "location", "hedge", "same", "part", "test"})


_GAP_OF = tuple(next((name for limit, name in GAPS if n <= limit), "far") for n in range(GAPS[-1][0] + 2))


def gap_of(distance: int) -> str:
    """The bucket of a distance in tokens."""
    return _GAP_OF[distance] if distance < len(_GAP_OF) else "far"


def bucket(value: float, limits: tuple[tuple[float, str], ...]) -> str:
    """The name of the first bucket that holds the value."""
    for limit, name in limits:
        if value <= limit:
            return name
    return "far"


@dataclass(frozen=True, slots=True)
class Side:
    """What is the same for all heads on one side of a dependent."""

    family: str
    item: Dependent
    after: bool
    """The dependent stands after the heads."""
    base: str
    other: str
    """How near the closest head on the other side stands."""
    features: tuple[str, ...]


def side_of(scene: Scene, family: str, item: Dependent, *, after: bool) -> Side:
    """The features a dependent has with every head on one side of it."""
    base = f"{family}{'>' if after else '<'}"
    features = [family, base]
    if family in LEXICAL and isinstance(item, Mention):
        text = " ".join(scene.texts[item.first : item.last + 1])
        features += [f"{family}={text}", f"{base}={text}"]
    if family == "location" and isinstance(item, Mention):
        features.append(f"{base}alone{_stands_alone(scene, item)}")
    return Side(family, item, after, base, _nearest_other_side(scene, item, after), tuple(features))


class Core(NamedTuple):
    """Where a head stands to a dependent. Few such combinations exist, so their weight is kept, not added up anew."""

    family: str
    base: str
    gap: str
    mass: str
    rivals: int
    like: int
    other: str
    kind: str


def link_core(scene: Scene, number: int, side: Side) -> Core:
    """How far a head and a dependent stand apart, across what endings, with what between."""
    head = scene.heads[number]
    first, last = _between_tokens(head, side)
    starts = scene.starts_by_family.get(side.family, NONE)
    return Core(
        side.family,
        side.base,
        gap_of(max(0, last - first - 1)),
        bucket(scene.mass[last] - scene.mass[min(first, last)], MASSES),
        min(3, _rivals(scene, number, side.item, side.after)),
        min(2, scene.count_between(starts, first, last)),
        side.other,
        head_kind(head),
    )


def core_features(core: Core) -> list[str]:
    """The features of a core."""
    family, base, gap, mass, rivals, like, other, kind = core
    few = min(rivals, 2)
    return [
        f"{base}gap{gap}",
        f"{base}mass{mass}",
        f"{base}rival{rivals}",
        f"{base}rival{few}mass{mass}",
        f"{base}rival{few}gap{gap}",
        f"{base}like{like}",
        f"{base}like{like}rival{few}",
        f"{base}rival{few}other{other}",
        f"{family}{kind}",
        f"{base}{kind}gap{gap}",
    ]


def link_features(scene: Scene, number: int, side: Side) -> list[str]:
    """What else tells whether a dependent belongs to a head: the words between, other places of the axis."""
    head, item, base, family = scene.heads[number], side.item, side.base, side.family
    first, last = _between_tokens(head, side)
    features = []
    if last - first <= 9:
        bridges = scene.vocabulary.cue_words["bridge"]
        between = bridges.intersection(scene.texts[first + 1 : last])
        features += [f"{base}with {word}" for word in (sorted(between) if len(between) > 1 else between)]
    if head.family == "cue":
        features.append(f"{base}pronoun {scene.texts[head.first]}")
    if family == "location" and isinstance(item, Mention):
        features += _place_features(scene, head, item, base, first, last)
    return features


def legality_key(head: Mention, side: Side) -> tuple[object, ...]:
    """What the legality of a head and a dependent depends on."""
    item = side.item
    said = item.key if isinstance(item, Mention) else item.unit
    return (side.base, head.family, head.key, said)


def _between_tokens(head: Mention, side: Side) -> tuple[int, int]:
    """The token before and the token after what lies between a head and a dependent."""
    return (head.last, side.item.first) if side.after else (side.item.last, head.first)


def _place_features(
    scene: Scene, head: Mention, item: Mention, base: str, inner_first: int, inner_last: int
) -> list[str]:
    """Whether other places of the same axis stand between, or right at the head."""
    axes = axes_of(item.key)
    blocked = own = 0
    for axis in axes.split("+") if axes else ():
        starts = scene.starts_by_axis.get(axis, NONE)
        blocked = max(blocked, min(2, scene.count_between(starts, inner_first, inner_last)))
        at = bisect_left(starts, head.first - 4)
        while at < len(starts) and starts[at] <= head.last + 3:
            own += starts[at] != item.first
            at += 1
    own = 1 if own else 0
    return [f"{base}blocked{blocked}", f"{base}blocked{blocked}own{own}", f"{base}{axes}blocked{blocked}own{own}"]


def _stands_alone(scene: Scene, item: Mention) -> bool:
    """A place said by itself ("right rear.") announces what follows."""
    before = scene.mass[item.first] - scene.mass[item.first - 1] if item.first else 1.0
    after = scene.mass[item.last + 1] - scene.mass[item.last] if item.last + 1 < len(scene.texts) else 1.0
    return before >= 0.4 and after >= 0.4


NONE: list[int] = []


def head_kind(head: Mention) -> str:
    """A part, a part named by an everyday word, or a pronoun."""
    if head.family != "component":
        return "pronoun" if head.family == "cue" else "part"
    return "vague" if head.needs_context else "part"


def _rivals(scene: Scene, number: int, item: Dependent, after: bool) -> int:
    """Heads between this head and the dependent, those in one list with it not counted."""
    count, at = 0, number
    step = 1 if after else -1
    listed = True
    while True:
        at += step
        if not 0 <= at < len(scene.heads):
            return count
        other = scene.heads[at]
        if (after and other.first >= item.first) or (not after and other.first <= item.first):
            return count
        listed = listed and scene.coordinated[at - 1 if after else at]
        if not listed:
            count += 1
        if count > 3:
            return count


def _nearest_other_side(scene: Scene, item: Dependent, after: bool) -> str:
    """How near the closest head on the dependent's other side stands."""
    if after:
        at = bisect_right(scene.head_starts, item.last)
        if at >= len(scene.heads):
            return "none"
        distance = scene.heads[at].first - item.last - 1
        mass = scene.mass[scene.heads[at].first] - scene.mass[item.last]
    else:
        at = bisect_left(scene.head_starts, item.first) - 1
        if at < 0:
            return "none"
        distance = max(0, item.first - scene.heads[at].last - 1)
        mass = scene.mass[item.first] - scene.mass[min(scene.heads[at].last, item.first)]
    return f"{'near' if distance <= 1 else 'mid' if distance <= 5 else 'far'}{'|' if mass >= 0.4 else ''}"


def legality_features(scene: Scene, head: Mention, side: Side) -> list[str]:
    """Whether such a part can have such a condition, unit or place. Depends on nothing but `legality_key`."""
    family, item, base = side.family, side.item, side.base
    if head.family != "component":
        return []
    lexicon = scene.vocabulary.lexicon
    entry = lexicon.components[head.key]
    if family == "condition" and isinstance(item, Mention):
        return [
            f"{base}legal{lexicon.legal(head.key, item.key)}",
            f"class {lexicon.conditions[item.key].class_} {entry.kind}",
        ]
    if family in ("amount", "bare") and isinstance(item, Amount):
        units = {measure.unit for measure in entry.measures}
        if not units:
            return [f"{family}nounits"]
        return [f"{family}unit{item.unit in units if item.unit else 'open'}"]
    if family == "location" and isinstance(item, Mention):
        axes = {token for axis in entry.places for token in axis.split("|")}
        tokens = set(item.key.split("_"))
        sided = {"driver", "passenger", "nearside", "offside", "both", "all", "other"}
        legal = bool(tokens & axes) or (bool(tokens & sided) and "left" in axes)
        return [f"{base}axis{legal}", f"{base}axis{legal}{'' if entry.places else 'single'}"]
    return []
