"""What kind of statement a group is: a fault, fine, not settled, not looked at, work, or nothing found at all."""

from collections.abc import Sequence

from narrate.find.draft import Mention
from narrate.find.encoder_scores import status_totals
from narrate.find.group_features import status_features
from narrate.find.joining import HARMLESS, OFFERED, stated_of
from narrate.find.linear import choose, class_totals
from narrate.find.scene import Dependent, Scene
from narrate.find.siblings import Linked

NO_FINDING = 0.7
"""How sure it must be that nothing was found out about a part before it is left out: a finding lost costs more."""
NO_FINDING_ASKED, CERTAIN = 0.97, 2.0
"""The same for a part that is plainly asked for ("needs a caliper"), and for one of which a verdict is stated outright:
no model is as sure as that."""
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


def _judge(scene: Scene, heads: list[Mention], dependents: Linked, totals: dict[str, float]) -> tuple[str, float]:
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


def _stated(scene: Scene, heads: list[Mention], dependents: Linked, approval: Dependent) -> bool:
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


def _only_complained(scene: Scene, heads: list[Mention], dependents: Linked) -> bool:
    places = [head.first for head in heads] + [item.first for _, item, _ in dependents]
    return all("customer" in scene.scopes[place] for place in places)
