"""Named features of a pair or a group: what the linear models look at. One list here serves training and use."""

from bisect import bisect_left, bisect_right
from dataclasses import dataclass

from narrate.find.draft import Amount, Mention
from narrate.find.scene import Dependent, Scene

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


def link_features(scene: Scene, number: int, side: Side) -> list[str]:
    """Head `number` and a dependent: how far, across what, what else lies between, and whether it is legal."""
    head, item, base, family = scene.heads[number], side.item, side.base, side.family
    inner_first, inner_last = (head.last, item.first) if side.after else (item.last, head.first)
    distance = max(0, inner_last - inner_first - 1)
    gap = bucket(distance, GAPS)
    mass = bucket(scene.mass[inner_last] - scene.mass[min(inner_first, inner_last)], MASSES)
    rivals = min(3, _rivals(scene, number, item, side.after))
    few = min(rivals, 2)
    like = min(2, scene.count_between(scene.starts_by_family.get(family, NONE), inner_first, inner_last))
    features = [
        f"{base}gap{gap}",
        f"{base}mass{mass}",
        f"{base}rival{rivals}",
        f"{base}rival{few}mass{mass}",
        f"{base}rival{few}gap{gap}",
        f"{base}like{like}",
        f"{base}like{like}rival{few}",
        f"{base}rival{few}other{side.other}",
    ]
    kind = _head_kind(head)
    features += [f"{family}{kind}", f"{base}{kind}gap{gap}"]
    if distance <= 8:
        for word in BRIDGES.intersection(scene.texts[inner_first + 1 : inner_last]):
            features.append(f"{base}with {word}")
    if head.family == "component":
        features += _legality(scene, head, family, item, base)
    else:
        features.append(f"{base}pronoun {scene.texts[head.first]}")
    if family == "location" and isinstance(item, Mention):
        features += _place_features(scene, head, item, base, inner_first, inner_last)
    return features


def _place_features(
    scene: Scene, head: Mention, item: Mention, base: str, inner_first: int, inner_last: int
) -> list[str]:
    """Whether other places of the same axis stand between, or right at the head."""
    axes = scene.axes_of(item)
    blocked = own = 0
    for axis in axes:
        starts = scene.starts_by_axis.get(axis, NONE)
        blocked = max(blocked, min(2, scene.count_between(starts, inner_first, inner_last)))
        at = bisect_left(starts, head.first - 4)
        while at < len(starts) and starts[at] <= head.last + 3:
            own += starts[at] != item.first
            at += 1
    name = "+".join(sorted(axes))
    return [
        f"{base}blocked{blocked}",
        f"{base}blocked{blocked}own{min(own, 1)}",
        f"{base}{name}blocked{blocked}own{min(own, 1)}",
    ]


def _stands_alone(scene: Scene, item: Mention) -> bool:
    """A place said by itself ("right rear.") announces what follows."""
    before = scene.mass[item.first] - scene.mass[item.first - 1] if item.first else 1.0
    after = scene.mass[item.last + 1] - scene.mass[item.last] if item.last + 1 < len(scene.texts) else 1.0
    return before >= 0.4 and after >= 0.4


NONE: list[int] = []
BRIDGES = frozenset(
    "is are was 's has have got at on with and but so because from by of for it's they're looks look to the other "
    "then needs need both no not which that that's while i'd if".split()
)


def _head_kind(head: Mention) -> str:
    if head.family == "cue":
        return "pronoun"
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


def _legality(scene: Scene, head: Mention, family: str, item: Dependent, base: str) -> list[str]:
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
        side = {"driver", "passenger", "nearside", "offside", "both", "all", "other"}
        legal = bool(tokens & axes) or (bool(tokens & side) and "left" in axes)
        return [f"{base}axis{legal}", f"{base}axis{legal}{'' if entry.places else 'single'}"]
    return []


def same_features(scene: Scene, earlier: int, later: int) -> list[str]:
    """Two heads of one recording: do they speak of the same finding?"""
    one, two = scene.heads[earlier], scene.heads[later]
    gap = bucket(two.first - one.last - 1, GAPS)
    mass = bucket(scene.mass[two.first] - scene.mass[one.last], MASSES)
    between = later - earlier - 1
    parts_between = sum(h.family == "component" for h in scene.heads[earlier + 1 : later])
    pair = f"{_head_kind(one)}-{_head_kind(two)}"
    features = [
        pair,
        f"{pair}gap{gap}",
        f"{pair}mass{mass}",
        f"{pair}heads{min(between, 3)}",
        f"{pair}parts{min(parts_between, 3)}",
        f"{pair}parts{min(parts_between, 2)}mass{mass}",
    ]
    if two.family == "cue":
        text = " ".join(scene.texts[two.first : two.last + 1])
        features += [f"it={text}", f"it={text}parts{min(parts_between, 2)}"]
    if one.family == "component" and two.family == "component":
        here, there = _places_at(scene, one), _places_at(scene, two)
        relation = "none" if not there else "first" if not here else "equal" if here == there else "differ"
        features += [
            f"place {relation}",
            f"place {relation} parts{min(parts_between, 2)}",
            f"place {relation} mass{mass}",
            f"place {relation} faults{min(2, _between(scene, 'condition', one, two))}",
            f"text{scene.texts[one.first] == scene.texts[two.first]}",
            f"plural{scene.texts[one.last][-1:] == 's'}{scene.texts[two.last][-1:] == 's'}",
        ]
    features += [
        f"{pair}faults{min(2, _between(scene, 'condition', one, two))}",
        f"{pair}actions{min(2, _between(scene, 'action', one, two))}",
        f"{pair}fine{min(2, _between(scene, 'approval', one, two))}",
        f"{pair}places{min(2, _between(scene, 'location', one, two))}",
    ]
    before = scene.texts[two.first - 1] if two.first else ""
    features.append(f"{pair}before {before}" if before in BRIDGES else f"{pair}before other")
    return features


def _between(scene: Scene, family: str, one: Mention, two: Mention) -> int:
    return scene.count_between(scene.starts_by_family.get(family, []), one.last, two.first)


def _places_at(scene: Scene, head: Mention) -> frozenset[str]:
    """Place words that touch a head: up to three tokens before it."""
    starts = scene.starts_by_family.get("location", [])
    low, high = bisect_left(starts, head.first - 3), bisect_left(starts, head.first)
    return frozenset(scene.texts[n] for n in starts[low:high])


def status_features(scene: Scene, heads: list[Mention], linked: list[tuple[str, Dependent, float]]) -> list[str]:
    """All that was said of one part: which families, in which scopes, and the words around."""
    features = [f"heads{min(3, len(heads))}"]
    parts = [head for head in heads if head.family == "component"]
    if parts and all(head.needs_context for head in parts):
        features.append("vague")
    if any(head.how == "guess" for head in parts):
        features.append("guess")
    families: set[str] = set()
    for family, item, _ in linked:
        kinds = scene.scopes[item.first]
        mark = next((k for k in ("denied", "supposed", "customer", "other vehicle", "doubted") if k in kinds), "")
        name = f"{family} {mark}".strip()
        families.add(name)
        if family in ("approval", "action", "unclear", "unchecked", "done"):
            features.append(f"{family}={' '.join(scene.texts[item.first : item.last + 1])}")
        if family == "condition" and isinstance(item, Mention):
            features.append(f"condition={item.key}{mark}")
    features += [f"has {name}" for name in families]
    core = frozenset(families & CORE)
    features.append("core " + "+".join(sorted(core)))
    for head in heads:
        features += [f"head {kind}" for kind in scene.scopes[head.first]]
        if head.family == "component":
            features += _frame(scene, head)
    if parts:
        features.append(f"kind {scene.vocabulary.lexicon.components[parts[0].key].kind}")
    features += [f"word {word}" for word in _words_around(scene, heads, linked)]
    return features


def _frame(scene: Scene, head: Mention) -> list[str]:
    """The words a part stands between: "at the … seal", "… is", "so a … "."""
    before = head.first - 1
    while before >= 0 and before in scene.light and head.first - before <= 4:
        before -= 1
    near = before >= 0 and scene.mass[head.first] - scene.mass[before] < 0.4
    after = head.last + 1
    close = after < len(scene.texts) and scene.mass[after] - scene.mass[head.last] < 0.4
    return [f"frame {scene.texts[before] if near else '|'}", f"then {scene.texts[after] if close else '|'}"]


CORE = frozenset(
    {
        "condition", "condition denied", "condition supposed", "condition doubted", "condition customer",
        "approval", "approval denied", "action", "offer", "unclear", "unchecked", "done", "amount", "bare", "price",
    }
)  # fmt: skip


def _words_around(scene: Scene, heads: list[Mention], linked: list[tuple[str, Dependent, float]]) -> set[str]:
    """The words of the clauses the heads and their dependents stand in, at most eight tokens from a head."""
    words: set[str] = set()
    for head in heads:
        for at in range(head.first - 1, max(-1, head.first - 9), -1):
            if scene.mass[head.first] - scene.mass[at] >= 0.7:
                break
            words.add(scene.texts[at])
        for at in range(head.last + 1, min(len(scene.texts), head.last + 9)):
            if scene.mass[at] - scene.mass[head.last] >= 0.7:
                break
            words.add(scene.texts[at])
    return words
