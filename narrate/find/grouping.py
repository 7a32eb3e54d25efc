"""Stage 10: which heads speak of one finding, and what kind of statement it is."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from narrate.find.draft import Draft, Group, Mention
from narrate.find.encoder_scores import same_scores, status_totals
from narrate.find.group_features import same_features, status_features
from narrate.find.joining import HARMLESS, OFFERED, stated_of
from narrate.find.linear import choose, class_totals, logistic, probability
from narrate.find.pairs import same_pairs
from narrate.find.scene import Dependent, Scene
from narrate.find.siblings import Linked, Told, siblings
from narrate.find.vocabulary import Vocabulary

SAME = 0.5
"""How likely two mentions of a part must be one finding to be taken as one."""
MEANT = 0.03
"""A pronoun of which something is said must mean something: the likeliest head, unless all are most unlikely."""
NO_FINDING = 0.7
"""How sure it must be that nothing was found out about a part before it is left out: a finding lost costs more."""
CERTAIN = 2.0
NO_FINDING_ASKED = 0.97
"""The same for a part that is plainly asked for: "needs a caliper"."""
PLAIN = 0.8
"""How sure a stated fault must belong to a part to count as much as asking for a new one."""
ASKED = 0.6
"""How sure a recommendation must be to rule out that the part is fine."""
GUESSED = 0.55
"""How sure a part can be fine of which nobody said so."""
UNSAID = 0.4
"""How sure a status must be that rests on words the lexicon does not know, for want of any it does."""
TELLING = frozenset(
    "condition approval action offer unclear unchecked done amount bare price code optional test hedge".split()
)
SHORT_REACH, CLAUSE_END = 4, 0.6
"""How far from a number, and behind how much of an ending, words that say it is not enough may stand."""
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


def judge(scene: Scene, groups: Sequence[tuple[list[Mention], Linked]]) -> list[tuple[str, float]]:
    """The status of each group of heads and what is said of them, with its probability."""
    judged = []
    for (heads, dependents), totals in zip(groups, _status_totals(scene, groups), strict=True):
        if _only_complained(scene, heads, dependents):
            # The customer's words are a concern; what was found stands elsewhere.
            judged.append(("none", 1.0))
        else:
            judged.append(_judge(scene, heads, dependents, totals))
    return judged


def _status_totals(scene: Scene, groups: Sequence[tuple[list[Mention], Linked]]) -> list[dict[str, float]]:
    """What the encoder, or without one the linear model, sums up for each status."""
    if scene.draft.encoded:
        return status_totals(scene, groups)
    classes = scene.vocabulary.joiner.status
    return [class_totals(classes, status_features(scene, heads, linked)) for heads, linked in groups]


def _judge(
    scene: Scene, heads: list[Mention], dependents: list[tuple[str, Dependent, float]], totals: dict[str, float]
) -> tuple[str, float]:
    """What the model thinks, unless the words are plain: what is faulted or to be replaced is not fine."""
    approved = any(
        family == "approval" and not _stated(scene, heads, dependents, item) for family, item, _ in dependents
    )
    faulted = not approved and any(_is_fault(scene, item) for _, item, _ in dependents)
    asked = max((chance for family, _, chance in dependents if family in ("offer", "action")), default=0.0)
    plain = faulted and any(family == "condition" and sure >= PLAIN for family, _, sure in dependents)
    needed = NO_FINDING_ASKED if asked >= OFFERED or plain else NO_FINDING
    if _said_outright(scene, heads, dependents):
        needed = CERTAIN
    never = frozenset({"ok"}) if faulted or (asked >= ASKED and not approved) else frozenset()
    status, chance = choose(totals, unless="none", needed=needed, never=never)
    if chance < UNSAID and not any(family in TELLING for family, _, _ in dependents):
        return "none", chance
    if status == "ok" and not any(family in ("approval", "condition") for family, _, _ in dependents):
        # Nobody said that it is fine: a number or a name alone makes that a guess, shown as one.
        return "fault" if _falls_short(scene, dependents) else "ok", min(chance, GUESSED)
    return status, chance


def _said_outright(scene: Scene, heads: list[Mention], dependents: Linked) -> bool:
    """ "The battery is weak", "the hoses are fine": nobody could take that for no finding."""
    for family, item, _ in dependents:
        if family in ("condition", "approval") and isinstance(item, Mention) and item.how != "read":
            fault = family == "condition"
            if fault and not _is_fault(scene, item):
                continue
            # An everyday word ("the box is bad") may still be no part of the car, where it is faulted.
            parts = (h for h in heads if h.family == "component" and not (fault and h.needs_context))
            if any(stated_of(scene, item, part) for part in parts):
                return True
    return False


def _stated(
    scene: Scene, heads: list[Mention], dependents: list[tuple[str, Dependent, float]], approval: Dependent
) -> bool:
    """Whether what the encoder took for approval are the words of a fault plainly stated of the part."""
    return (
        isinstance(approval, Mention)
        and approval.how == "read"
        and any(
            item.first <= approval.last
            and approval.first <= item.last
            and isinstance(item, Mention)
            and _is_fault(scene, item)
            and any(stated_of(scene, item, head) for head in heads)
            for _, item, _ in dependents
        )
    )


def _is_fault(scene: Scene, item: Dependent) -> bool:
    return (
        isinstance(item, Mention)
        and item.family == "condition"
        and scene.vocabulary.lexicon.conditions[item.key].polarity == "bad"
        and not scene.scopes[item.first] & HARMLESS
    )


def _falls_short(scene: Scene, dependents: Linked) -> bool:
    """ "Only eleven percent, should be sixteen": words beside a number that say it is not enough."""
    phrases = scene.vocabulary.cue_phrases["short_of"]
    for family, item, _ in dependents:
        if family in ("amount", "bare"):
            beside = range(max(0, item.first - SHORT_REACH), min(len(scene.texts), item.last + SHORT_REACH + 1))
            if any(
                abs(scene.mass[n] - scene.mass[item.first]) < CLAUSE_END
                and any(tuple(scene.texts[n : n + len(words)]) == words for words in phrases)
                for n in beside
            ):
                return True
    return False


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
