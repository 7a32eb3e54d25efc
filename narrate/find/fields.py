"""The fields of a finding that decide whether two are one: conditions, locations, recommendation."""

from collections.abc import Iterable
from dataclasses import dataclass

from narrate.find.draft import Amount, Draft, Group, Mention
from narrate.find.evidence import said_tokens
from narrate.find.places import compose, resolve
from narrate.find.scene import Dependent, Scene, dependent_family
from narrate.find.siblings import MEANT_ALONE
from narrate.records.walkaround import Condition, Measurement, Recommendation
from narrate.words.lexicon import Lexicon


@dataclass(frozen=True, slots=True)
class Said:
    """A group with its items looked up."""

    group: Group
    heads: tuple[Mention, ...]
    items: tuple[tuple[str, Dependent, float], ...]
    taken_over: frozenset[str] = frozenset()
    """Place tokens it shares with the statement it is told apart from."""

    @property
    def part(self) -> Mention:
        """The first part named."""
        return next(head for head in self.heads if head.family == "component")

    def of(self, *families: str) -> list[tuple[Dependent, float]]:
        """The items of some families, each with its probability."""
        return [(item, chance) for family, item, chance in self.items if family in families]


def look_up(draft: Draft, groups: Iterable[Group]) -> list[Said]:
    """Groups with their items."""
    by_id: dict[str, Mention | Amount] = {mention.id: mention for mention in draft.mentions}
    by_id.update({amount.id: amount for amount in draft.amounts})
    chance = {(link.head, link.dependent): link.probability for link in draft.links}
    found = []
    for group in groups:
        # What a place alone tells of a counterpart was joined by no model.
        least = MEANT_ALONE if group.counterpart else 0.0
        heads = tuple(item for i in group.heads if isinstance(item := by_id[i], Mention))
        items = tuple(
            (dependent_family(by_id[i]) or "", by_id[i], max(chance.get((h, i), least) for h in group.heads))
            for i in group.dependents
        )
        found.append(Said(group, heads, items))
    return found


def conditions_of(scene: Scene, said: Said) -> tuple[Condition, ...]:
    """What is wrong with the part: stated, suspected or starting; not what was denied or only supposed."""
    lexicon = scene.vocabulary.lexicon
    found: dict[str, Condition] = {}
    for item, _ in said.of("condition"):
        if not isinstance(item, Mention):
            continue
        scopes = scene.scopes[item.first]
        if scopes & {"denied", "supposed", "other vehicle"}:
            continue
        certainty = "suspected" if "doubted" in scopes else "starting" if "beginning" in scopes else "stated"
        words = said_tokens(scene.draft, item.first, item.last)
        name = lexicon.conditions[item.key].name
        # A condition stated plainly once is stated, however it was hedged before.
        if item.key not in found or found[item.key].certainty != "stated":
            found[item.key] = Condition(id=item.key, name=name, certainty=certainty, said=words)
    return tuple(found.values())


def conditions_measured(lexicon: Lexicon, measurements: Iterable[Measurement]) -> tuple[Condition, ...]:
    """What the numbers of a faulted part say where no word did: tread of two thirty-seconds is worn."""
    by_quantity = {quantity: id_ for id_, entry in lexicon.conditions.items() for quantity in entry.measured}
    told = [(by_quantity[m.quantity], m.said) for m in measurements if m.quantity in by_quantity]
    return tuple(
        Condition(id=id_, name=lexicon.conditions[id_].name, certainty="suspected", said=said) for id_, said in told[:1]
    )


def locations_of(scene: Scene, said: Said, drive_side: str) -> tuple[str, ...]:
    """The canonical locations its place words add up to."""
    lexicon = scene.vocabulary.lexicon
    entry = lexicon.components[said.part.key]
    places = [place for _, place in places_of(scene, said, drive_side) if place != {"other"}]
    return compose([*places, said.taken_over] if said.taken_over else places, entry.places)


def places_of(scene: Scene, said: Said, drive_side: str) -> list[tuple[Mention, frozenset[str]]]:
    """Its place words, each with the canonical tokens it stands for."""
    lexicon = scene.vocabulary.lexicon
    words = [item for item, _ in said.of("location") if isinstance(item, Mention)]
    return [(word, resolve(lexicon, word.key, drive_side)) for word in words]


def recommendation_of(scene: Scene, said: Said, status: str) -> Recommendation:
    """What should be done; nothing for a part that is fine or was not looked at."""
    told = [(item, chance) for item, chance in said.of("action") if "supposed" not in scene.scopes[item.first]]
    told.sort(key=lambda one: -one[1])
    actions = [item.key for item, _ in told if isinstance(item, Mention)]
    surest = told[0][1] if told else 0.0
    if "replace" not in actions and any(chance >= surest for _, chance in said.of("offer")):
        # "It wants a forced regen" asks for that, not for a new part.
        actions.append("replace")
    if status in ("ok", "unchecked"):
        return Recommendation()
    asked = scene.vocabulary.lexicon.components[said.part.key].asked
    actions = list(dict.fromkeys(asked if asked and action == "replace" else action for action in actions))
    known = scene.vocabulary.lexicon.actions
    chosen = next((a for a in actions if not known[a].gives_way), actions[0] if actions else None)
    done = bool(said.of("done")) and chosen is not None
    return Recommendation(
        action=chosen,
        otherwise=tuple(a for a in actions if a != chosen),
        timing="done" if done else None,
        optional=bool(said.of("optional")),
    )


def used_items(scene: Scene, said: Said) -> list[Dependent]:
    """What of all that was said of the part stands in its finding; of a part that is fine, no fault and no work."""
    if said.group.status not in ("ok", "unchecked"):
        return [item for _, item, _ in said.items]
    return [
        item
        for family, item, _ in said.items
        if family not in ("action", "offer") and (family != "condition" or "denied" in scene.scopes[item.first])
    ]
