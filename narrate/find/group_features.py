"""Named features of heads and groups: is it the same finding, and what kind of statement is it?"""

from bisect import bisect_left

from narrate.find.draft import Mention
from narrate.find.link_features import MASSES, bucket, gap_of, head_kind
from narrate.find.scene import Dependent, Scene


def same_features(scene: Scene, earlier: int, later: int) -> list[str]:
    """Two heads of one recording: do they speak of the same finding?"""
    one, two = scene.heads[earlier], scene.heads[later]
    gap = gap_of(max(0, two.first - one.last - 1))
    mass = bucket(scene.mass[two.first] - scene.mass[one.last], MASSES)
    between = later - earlier - 1
    parts_between = sum(h.family == "component" for h in scene.heads[earlier + 1 : later])
    pair = f"{head_kind(one)}-{head_kind(two)}"
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
    features.append(
        f"{pair}before {before}" if before in scene.vocabulary.cue_words["bridge"] else f"{pair}before other"
    )
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
    features += [f"has {name}" for name in sorted(families)]
    features.append("core " + "+".join(sorted(families & CORE)))
    for head in heads:
        features += [f"head {kind}" for kind in sorted(scene.scopes[head.first])]
        if head.family == "component":
            features += _frame(scene, head)
    if parts:
        features.append(f"kind {scene.vocabulary.lexicon.components[parts[0].key].kind}")
    features += [f"word {word}" for word in sorted(_words_around(scene, heads))]
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


def _words_around(scene: Scene, heads: list[Mention]) -> set[str]:
    """The words of the clauses the heads stand in, at most eight tokens from a head."""
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
