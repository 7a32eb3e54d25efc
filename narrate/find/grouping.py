"""Stage 9: which heads speak of one finding, and what kind of statement it is."""

from collections import defaultdict
from dataclasses import replace

from narrate.find.draft import Draft, Group, Mention
from narrate.find.group_features import same_features, status_features
from narrate.find.joining import OFFERED
from narrate.find.linear import most_likely, probability
from narrate.find.scene import Dependent, Scene
from narrate.find.vocabulary import Vocabulary

SAME = 0.5
PRONOUN = 0.3
MEANT = 0.03
"""A pronoun of which something is said must mean something."""
"""A pronoun means something nearly always: the likeliest head before it, unless all are unlikely."""
NO_FINDING = 0.55
"""How sure it must be that nothing was found out about a part before it is left out: a finding lost costs more."""
NO_FINDING_OFFERED = 0.97
"""The same for a part that is plainly asked for: "needs a caliper"."""
UNSAID = 0.4
"""How sure a status must be that rests on words the lexicon does not know, for want of any it does."""
TELLING = frozenset(
    "condition approval action offer unclear unchecked done amount bare price code optional test hedge".split()
)
LOOK_BACK = 14
PRONOUN_LOOK_BACK = 4


def group(draft: Draft, vocabulary: Vocabulary) -> Draft:
    """Cluster the heads, gather what is linked to them, and give each group a status."""
    scene = Scene(draft, vocabulary)
    clusters = cluster_heads(scene)
    linked = linked_by_head(scene)
    links_of: dict[str, list[str]] = defaultdict(list)
    for link in draft.links:
        links_of[link.head].append(link.id)
    groups: list[Group] = []
    for heads in clusters:
        dependents = gather(heads, linked)
        if _only_complained(scene, heads, dependents):
            # The customer's words are a concern; what was found stands elsewhere.
            status, chance = "none", 1.0
        else:
            status, chance = _judge(scene, heads, dependents)
        items = tuple(dict.fromkeys(item.id for _, item, _ in dependents))
        links = tuple(link for head in heads for link in links_of.get(head.id, ()))
        groups.append(
            Group(
                id=f"r{len(groups)}",
                heads=tuple(head.id for head in heads),
                dependents=items,
                status=status,
                probability=round(chance, 4),
                because=(*(head.id for head in heads), *links),
                why=f"status {status} with probability {chance:.2f}",
            )
        )
    return replace(draft, groups=tuple(groups))


def _judge(scene: Scene, heads: list[Mention], dependents: list[tuple[str, Dependent, float]]) -> tuple[str, float]:
    """What the model thinks, unless the words are plain: a fault stated and nothing approved is never fine."""
    features = status_features(scene, heads, dependents)
    classes = scene.vocabulary.joiner.status
    offered = any(family == "offer" and chance >= OFFERED for family, _, chance in dependents)
    needed = NO_FINDING_OFFERED if offered else NO_FINDING
    status, chance = most_likely(classes, features, unless="none", needed=needed)
    if chance < UNSAID and not any(family in TELLING for family, _, _ in dependents):
        return "none", chance
    if status == "ok" and _plainly_at_fault(scene, heads, dependents):
        return "fault", chance
    return status, chance


def _plainly_at_fault(scene: Scene, heads: list[Mention], dependents: list[tuple[str, Dependent, float]]) -> bool:
    lexicon = scene.vocabulary.lexicon
    part = next(head for head in heads if head.family == "component")
    stated = any(
        family == "condition"
        and isinstance(item, Mention)
        and lexicon.conditions[item.key].polarity == "bad"
        and lexicon.legal(part.key, item.key)
        and not scene.scopes[item.first] & {"denied", "supposed", "customer", "other vehicle"}
        for family, item, _ in dependents
    )
    return stated and not any(family == "approval" for family, _, _ in dependents)


def _only_complained(scene: Scene, heads: list[Mention], dependents: list[tuple[str, Dependent, float]]) -> bool:
    places = [head.first for head in heads] + [item.first for _, item, _ in dependents]
    return all("customer" in scene.scopes[place] for place in places)


def same_candidates(scene: Scene, later: int) -> list[int]:
    """Earlier heads that `later` may speak of again: like-named parts for a part, anything near for a pronoun."""
    two = scene.heads[later]
    found: list[int] = []
    for earlier in range(later - 1, max(-1, later - 1 - 60), -1):
        one = scene.heads[earlier]
        if two.family == "cue":
            if later - earlier <= PRONOUN_LOOK_BACK:
                found.append(earlier)
        elif one.family == "component" and one.key == two.key:
            found.append(earlier)
        elif one.family == "cue" and later - earlier <= 1:
            found.append(earlier)
        if len(found) >= LOOK_BACK:
            break
    return found


def cluster_heads(scene: Scene) -> list[list[Mention]]:
    """Groups of heads, each with at least one part; pronouns join the part they stand for or drop out."""
    owner: dict[int, int] = {}
    told = {link.head for link in scene.draft.links}
    for later, head in enumerate(scene.heads):
        scored = [
            (probability(scene.vocabulary.joiner.same, same_features(scene, earlier, later)), earlier)
            for earlier in same_candidates(scene, later)
        ]
        chance, earlier = max(scored, default=(0.0, -1))
        needed = SAME if head.family != "cue" else MEANT if head.id in told else PRONOUN
        owner[later] = owner.get(earlier, later) if earlier >= 0 and chance >= needed else later
    clusters: dict[int, list[Mention]] = {}
    for number, first in owner.items():
        clusters.setdefault(first, []).append(scene.heads[number])
    named = (_one_part(heads) for heads in clusters.values())
    return [heads for heads in named if any(head.family == "component" for head in heads)]


def _one_part(heads: list[Mention]) -> list[Mention]:
    """A cluster that began with a pronoun may hold two parts; the first named one stands, others of its name stay."""
    key = next((head.key for head in heads if head.family == "component"), None)
    return [head for head in heads if head.family == "cue" or head.key == key]


def linked_by_head(scene: Scene) -> dict[str, list[tuple[str, Dependent, float]]]:
    """(family, item, probability) of what is linked to each head."""
    families = {item.id: (family, item) for family, item in scene.dependents}
    linked: dict[str, list[tuple[str, Dependent, float]]] = {}
    for link in scene.draft.links:
        if link.dependent in families:
            family, item = families[link.dependent]
            linked.setdefault(link.head, []).append((family, item, link.probability))
    return linked


def gather(
    heads: list[Mention], linked: dict[str, list[tuple[str, Dependent, float]]]
) -> list[tuple[str, Dependent, float]]:
    """What is linked to any of the heads, once each with its best probability, in the order said."""
    best: dict[str, tuple[str, Dependent, float]] = {}
    for head in heads:
        for family, item, chance in linked.get(head.id, ()):
            if item.id not in best or best[item.id][2] < chance:
                best[item.id] = (family, item, chance)
    return sorted(best.values(), key=lambda dependent: dependent[1].first)
