"""Stage 9: what was said of which part. Each place, condition, verdict, action and amount finds its heads."""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace

from narrate.find.draft import Amount, Draft, Link, Mention
from narrate.find.encoder_scores import SHARE, link_scores
from narrate.find.linear import logistic, weigh
from narrate.find.link_features import (
    Side,
    core_features,
    legality_features,
    legality_key,
    link_core,
    link_features,
    side_of,
)
from narrate.find.own_numbers import NUMBERS, has_its_own
from narrate.find.pairs import link_pairs
from narrate.find.scene import Dependent, Scene
from narrate.find.siblings import ellipses
from narrate.find.vocabulary import Vocabulary

LEAST = 0.25
"""A dependent belongs to its likeliest head, if that is at least this likely …"""
SURE = 0.5
"""… to the heads in one list with it that are as likely as this …"""
NEARLY_CERTAIN = 0.6
"""… and to any head as likely as this."""
OFFER_REACH, OFFERED = 4, 0.9
"""A part right behind "needs a", "put new", "so two": only articles, numbers and places between."""
STANDS_BEFORE, ASKED_VERB = 0.9, 0.6
"""What a place right before a part, and a verb behind "needs" or how soon said behind it, are worth."""
UNKNOWN_REACH, UNKNOWN = 4, 0.95
"""What is said right behind a part nobody knows is said of that part."""
STATED, MOST_COPULAS = 0.9, 4
"""What "is" between a part and a condition is worth, and how many such words may stand there."""
HARMLESS = frozenset({"denied", "supposed", "customer", "other vehicle"})
"""Where a condition said of a part is no fault found."""
COMES_FROM = 0.75
"""What a preposition between a condition and a part is worth."""
UNASKED = -2.0
"""What a head counts for that the linear model was not asked about, where it has a say."""
CODED, CODE_REACH = 0.6, 25
"""A trouble code belongs to the nearest part; nobody labelled codes, so no model knows."""
LEAK = "leaking"
ILLEGAL = 0.4
"""What is left of the chance of a condition or unit that such a part cannot have."""
HOPELESS, FAR_GAPS = -4.0, frozenset({"12", "20", "35", "far"})
"""Summed weight below which a head this far away is not looked at closer: nothing else makes up for it."""
FAR = 2.2
"""How much may end between a dependent and a head that is not the nearest."""
HEADS_BEFORE, HEADS_AFTER, REACH = 4, 2, 40
PLACE_HEADS_AFTER, PLACE_REACH = 5, 45
"""A place announced once holds for many parts that follow."""


def join(draft: Draft, vocabulary: Vocabulary) -> Draft:
    """Link every dependent to the heads it belongs to, with a probability."""
    scene = Scene(draft, vocabulary)
    links: list[Link] = []
    chances = read_chances(scene) if draft.encoded and vocabulary.encoder else linear_chances(scene)
    for (family, item), scored in zip(scene.dependents, chances, strict=True):
        ruled = [(certain(scene, number, family, item, chance), number) for chance, number in scored]
        for chance, number in _choose(scene, _of_the_other(scene, family, item, ruled)):
            head = scene.heads[number]
            links.append(
                Link(
                    id=f"l{len(links)}",
                    head=head.id,
                    dependent=item.id,
                    probability=round(chance, 4),
                    because=(head.id, item.id),
                    why=f"{family} joined with probability {chance:.2f}",
                )
            )
    return replace(draft, links=(*links, *_by_place(scene, links)))


def _by_place(scene: Scene, links: list[Link]) -> Iterator[Link]:
    """Links of a place or verdict that stands alone beside one that was joined."""
    joined: dict[str, list[tuple[str, float]]] = defaultdict(list)
    for link in links:
        joined[link.dependent].append((link.head, link.probability))
    for number, (head, dependent, chance) in enumerate(ellipses(scene, joined), len(links)):
        why = f"joined as the words beside it, with probability {chance:.2f}"
        yield Link(f"l{number}", head, dependent, chance, because=(head, dependent), why=why)


def read_chances(scene: Scene) -> Iterator[list[tuple[float, int]]]:
    """What the encoder thinks of every dependent and the heads around it; it knows what the linear model thinks."""
    totals = [{number: total for total, number in some} for some in linear_totals(scene)]
    pairs = [list(link_pairs(scene, item)) for _, item in scene.dependents]
    scores = link_scores(scene, pairs, totals)
    for numbers, known in zip(pairs, totals, strict=True):
        read = [(next(scores), number) for number in numbers]
        yield [
            (logistic(SHARE * score + (1 - SHARE) * known.get(number, min(score, UNASKED))), number)
            for score, number in read
        ]


def linear_chances(scene: Scene) -> Iterator[list[tuple[float, int]]]:
    """What the linear model thinks of every dependent and the heads near it."""
    for scored in linear_totals(scene):
        yield [(logistic(total), number) for total, number in scored]


def linear_totals(scene: Scene) -> Iterator[list[tuple[float, int]]]:
    """Summed weights of every dependent and the heads near it."""
    weights, weighed = scene.vocabulary.joiner.link, scene.vocabulary.weighed
    bias = weights.get("bias", 0.0)
    for family, item in scene.dependents:
        scored = []
        base: dict[bool, tuple[Side, float]] = {}
        for number in candidates(scene, family, item):
            after = item.first > scene.heads[number].first
            if after not in base:
                side = side_of(scene, family, item, after=after)
                base[after] = side, weigh(weights, side.features)
            side, known = base[after]
            core = link_core(scene, number, side)
            if core not in weighed:
                weighed[core] = weigh(weights, core_features(core))
            total = bias + known + weighed[core]
            if total < HOPELESS and core.gap in FAR_GAPS:
                continue
            legality = legality_key(scene.heads[number], side)
            if legality not in weighed:
                weighed[legality] = weigh(weights, legality_features(scene, scene.heads[number], side))
            scored.append((total + weighed[legality] + weigh(weights, link_features(scene, number, side)), number))
        yield scored


def _choose(scene: Scene, scored: list[tuple[float, int]]) -> list[tuple[float, int]]:
    """The likeliest head, those in one list with it, and others that are nearly certain."""
    best, chosen = max(scored, default=(0.0, 0))
    if best < LEAST:
        return []
    if scene.heads[chosen].family == "unknown":
        return [(best, chosen)]
    listed = scene.list_of(chosen)
    return [
        (chance, number)
        for chance, number in scored
        if number == chosen or chance >= NEARLY_CERTAIN or (chance >= SURE and number in listed)
    ]


def _of_the_other(
    scene: Scene, family: str, item: Dependent, ruled: list[tuple[float, int]]
) -> list[tuple[float, int]]:
    """ "The right one is cracked": a verdict plainly stated of a pronoun with a place is said of nothing else.

    Nor is its place.
    """
    if family in NUMBERS:
        return [pair for pair in ruled if not has_its_own(scene, pair[1], item)] or ruled
    if family == "location":
        return [(STATED, number) for _, number in ruled if _stated_at(scene, scene.heads[number], item)] or ruled
    if family not in ("condition", "approval") or not isinstance(item, Mention):
        return ruled
    for _, number in ruled:
        head = scene.heads[number]
        if head.family == "cue" and head.first - 1 in scene.place_ends and stated_of(scene, item, head):
            return [(STATED, number)]
    return ruled


def _stated_at(scene: Scene, head: Mention, place: Dependent) -> bool:
    """Whether a place stands right before a pronoun of which a verdict is plainly stated."""
    if head.family != "cue" or head.first != place.last + 1:
        return False
    behind = (m for n in range(head.last + 1, head.last + 2 + MOST_COPULAS) for m in scene.conditions_at.get(n, ()))
    return any(stated_of(scene, condition, head) for condition in behind)


def certain(scene: Scene, number: int, family: str, item: Dependent, chance: float) -> float:
    """Where grammar or legality decides, it overrules the model: "needs a caliper", degrees of a tire."""
    head, lexicon = scene.heads[number], scene.vocabulary.lexicon
    if head.family != "component":
        near = 0 <= item.first - head.last - 1 <= UNKNOWN_REACH
        same_clause = near and scene.mass[item.first] - scene.mass[head.last] < 0.4
        return max(chance, UNKNOWN) if head.family == "unknown" and same_clause else chance
    if family == "code":
        return max(chance, CODED) if number == _nearest_part(scene, item) else chance
    if family in ("urgent", "later") and _last_named(scene, number, item):
        return max(chance, ASKED_VERB)
    if family in ("offer", "action"):
        first = scene.heads[min(scene.list_of(number))]
        if 0 <= first.first - item.last - 1 <= OFFER_REACH:
            between = range(item.last + 1, first.first)
            if scene.light.issuperset(between) and scene.mass[first.first] - scene.mass[item.last] < 0.4:
                return max(chance, OFFERED)
    if family == "location" and _stands_before(scene, item, head):
        return max(chance, STANDS_BEFORE)
    if family == "action" and item.first in scene.asked_verbs and _last_named(scene, number, item):
        return max(chance, ASKED_VERB)
    if family == "condition" and isinstance(item, Mention):
        if not lexicon.legal(head.key, item.key) or (
            # "Dry" is praise of what could leak and a fault of what should be greased.
            item.first in scene.approved_at and lexicon.legal(head.key, LEAK)
        ):
            return chance * ILLEGAL
        if stated_of(scene, item, head):
            return max(chance, STATED)
        if _comes_from(scene, item, head):
            return max(chance, COMES_FROM)
    if family == "amount" and isinstance(item, Amount):
        entry = lexicon.components[head.key]
        meant = lexicon.components[entry.measured_as].measures if entry.measured_as else ()
        units = {measure.unit for measure in (*entry.measures, *meant)}
        if units and item.unit not in units:
            return chance * ILLEGAL
    return chance


def _nearest_part(scene: Scene, item: Dependent) -> int | None:
    """The part a trouble code is told with: the fewest endings away, then the fewest words."""
    near = [
        (abs(scene.mass[head.first] - scene.mass[item.first]), abs(head.first - item.first), number)
        for number, head in enumerate(scene.heads)
        if head.family == "component" and abs(head.first - item.first) <= CODE_REACH
    ]
    return min(near)[2] if near else None


def _stands_before(scene: Scene, item: Dependent, head: Mention) -> bool:
    """ "Left front tire", "front and rear struts": nothing but places, articles and "and" between place and part."""
    return (
        0 <= head.first - item.last - 1 <= OFFER_REACH
        and scene.mass[head.first] - scene.mass[item.last] < 0.4
        and scene.light.issuperset(range(item.last + 1, head.first))
    )


def _last_named(scene: Scene, number: int, item: Dependent) -> bool:
    """ "The fluid is dark and needs flushing": the part named last before it, in the same sentence."""
    head = scene.heads[number]
    after = scene.heads[number + 1].first if number + 1 < len(scene.heads) else item.first
    return head.last < item.first <= after and scene.mass[item.first] - scene.mass[head.last] < 0.95


def stated_of(scene: Scene, item: Mention, head: Mention) -> bool:
    """ "The bearing is bad": nothing but "is", "looks a bit" between the part and what it is said to be."""
    copulas = scene.vocabulary.cue_words["copula"]
    # "Has play" brings the word along.
    between = range(head.last + 1, item.first + (scene.texts[item.first] in copulas))
    if not 1 <= len(between) <= MOST_COPULAS or scene.mass[item.first] - scene.mass[head.last] >= 0.3:
        return False
    return not scene.scopes[item.first] & HARMLESS and all(scene.texts[n] in copulas for n in between)


def _comes_from(scene: Scene, item: Mention, head: Mention) -> bool:
    """ "a leak from the seal", "dripping off the pump", "rust on the lines": the part stands behind a preposition."""
    between = range(item.last + 1, head.first)
    if not 1 <= len(between) <= 5 or scene.mass[head.first] - scene.mass[item.last] >= 0.3:
        return False
    sources, fillers = scene.vocabulary.cue_words["source"], scene.vocabulary.cue_words["source_filler"]
    words = [n for n in between if n not in scene.light and scene.texts[n] not in sources | fillers]
    return not words and any(scene.texts[n] in sources for n in between) and not _has_subject(scene, item)


def _has_subject(scene: Scene, item: Mention) -> bool:
    """ "The caliper is leaking at the seal": the caliper leaks. But of "a coolant leak" coolant says what leaks."""
    at = bisect_left(scene.head_starts, item.first) - 1
    if at < 0 or scene.heads[at].family != "component":
        return False
    gap = item.first - scene.heads[at].last - 1
    return 1 <= gap <= 6 and scene.mass[item.first] - scene.mass[scene.heads[at].last] < 0.3


def candidates(scene: Scene, family: str, item: Dependent) -> Iterator[int]:
    """Numbers of the heads near enough to be meant, nearest first on each side.

    Beyond a few endings only the nearest head is; but a place announced once holds for many parts that follow.
    """
    heads, mass = scene.heads, scene.mass
    place = family == "location"
    after, reach = (PLACE_HEADS_AFTER, PLACE_REACH) if place else (HEADS_AFTER, REACH)
    middle = bisect_left(scene.head_starts, item.first)
    for number in range(middle - 1, max(-1, middle - 1 - HEADS_BEFORE), -1):
        last = heads[number].last
        if item.first - last > REACH or (number < middle - 1 and mass[item.first] - mass[last] > FAR):
            break
        if last < item.first:
            yield number
    for number in range(middle, min(len(heads), middle + after)):
        first = heads[number].first
        if first - item.last > reach or (number > middle and not place and mass[first] - mass[item.last] > FAR):
            return
        if first > item.last:
            yield number
