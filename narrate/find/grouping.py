"""Stage 10: which heads speak of one finding, and all that is said of them."""

from collections import defaultdict
from dataclasses import replace

from narrate.find.draft import Draft, Group, Mention
from narrate.find.encoder_scores import same_scores
from narrate.find.group_features import same_features
from narrate.find.linear import logistic, probability
from narrate.find.pairs import same_pairs
from narrate.find.scene import Dependent, Scene
from narrate.find.siblings import Linked, Told, siblings
from narrate.find.status import judge
from narrate.find.vocabulary import Vocabulary

SAME = 0.5
"""How likely two mentions of a part must be one finding to be taken as one."""
MEANT = 0.03
"""A pronoun of which something is said must mean something: the likeliest head, unless all are most unlikely."""
LOOK_BACK = 14
PRONOUN_LOOK_BACK = 4


def group(draft: Draft, vocabulary: Vocabulary) -> Draft:
    """Cluster the heads, gather what is linked to them, and give each group a status."""
    scene = Scene(draft, vocabulary)
    linked = linked_by_head(scene)
    links_of: dict[str, list[str]] = defaultdict(list)
    for link in draft.links:
        links_of[link.head].append(link.id)
    named, loose = _clusters(scene)
    gathered = [Told(heads, gather(heads, linked)) for heads in named]
    gathered += siblings(scene, [(heads, gather(heads, linked)) for heads in loose], linked)
    gathered.sort(key=lambda told: told.first)
    groups: list[Group] = []
    judged = judge(scene, [(told.heads, told.linked) for told in gathered])
    for told, (status, chance) in zip(gathered, judged, strict=True):
        heads, dependents = told.heads, told.linked
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
                counterpart=told.counterpart,
            )
        )
    return replace(draft, groups=tuple(groups))


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
    return _clusters(scene)[0]


def _clusters(scene: Scene) -> tuple[list[list[Mention]], list[list[Mention]]]:
    """Groups of heads with at least one part, and groups of pronouns alone."""
    owner: dict[int, int] = {}
    told = {link.head for link in scene.draft.links}
    read = same_scores(scene) if scene.draft.encoded else None
    for later, head in enumerate(scene.heads):
        if head.family == "unknown" or (head.family == "cue" and head.id not in told):
            # Nothing is said of it: what it stands for makes no difference.
            owner[later] = later
            continue
        if read is None:
            scored = [
                (probability(scene.vocabulary.joiner.same, same_features(scene, earlier, later)), earlier)
                for earlier in same_candidates(scene, later)
            ]
        else:
            scored = [(logistic(read[earlier, later]), earlier) for earlier in same_pairs(scene, later)]
        chance, earlier = max(scored, default=(0.0, -1))
        needed = MEANT if head.family == "cue" else SAME
        owner[later] = owner.get(earlier, later) if earlier >= 0 and chance >= needed else later
    clusters: dict[int, list[Mention]] = {}
    for number, first in owner.items():
        clusters.setdefault(first, []).append(scene.heads[number])
    found = [_one_part(heads) for heads in clusters.values()]
    named = [heads for heads in found if any(head.family == "component" for head in heads)]
    return named, [heads for heads in found if heads and all(head.family == "cue" for head in heads)]


def _one_part(heads: list[Mention]) -> list[Mention]:
    """A cluster that began with a pronoun may hold two parts; the first named one stands, others of its name stay."""
    key = next((head.key for head in heads if head.family == "component"), None)
    return [head for head in heads if head.family == "cue" or head.key == key]


def linked_by_head(scene: Scene) -> dict[str, Linked]:
    """(family, item, probability) of what is linked to each head."""
    families = {item.id: (family, item) for family, item in scene.dependents}
    linked: dict[str, Linked] = {}
    for link in scene.draft.links:
        if link.dependent in families:
            family, item = families[link.dependent]
            linked.setdefault(link.head, []).append((family, item, link.probability))
    return linked


def gather(heads: list[Mention], linked: dict[str, Linked]) -> Linked:
    """What is linked to any of the heads, once each with its best probability, in the order said."""
    best: dict[str, tuple[str, Dependent, float]] = {}
    for head in heads:
        for family, item, chance in linked.get(head.id, ()):
            if item.id not in best or best[item.id][2] < chance:
                best[item.id] = (family, item, chance)
    return sorted(best.values(), key=lambda dependent: dependent[1].first)
