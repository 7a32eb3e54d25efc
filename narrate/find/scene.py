"""The draft laid out for joining: heads (parts and pronouns) and dependents (everything said of them), in order."""

from bisect import bisect_left
from dataclasses import dataclass
from functools import cache, cached_property

from narrate.find.boundaries import boundary_mass
from narrate.find.draft import Amount, Draft, Mention
from narrate.find.scopes import scopes_by_token
from narrate.find.vocabulary import Vocabulary

Dependent = Mention | Amount

AXES = {
    "end": {"front", "rear", "all"},
    "side": {"left", "right", "driver", "passenger", "nearside", "offside", "both", "all", "other"},
    "level": {"upper", "lower"},
    "depth": {"inner", "outer"},
}
CAR_TALK = 80
"""How many tokens around a part plainly named are talk of a vehicle; a shorter text is taken for it altogether."""
FAMILY_OF_CUE = {
    "approval": "approval",
    "approval_context": "approval",
    "unchecked": "unchecked",
    "unclear": "unclear",
    "done": "done",
    "optional": "optional",
    "offer": "offer",
    "hedge": "hedge",
    "same": "same",
    "before_driving": "urgent",
    "this_visit": "urgent",
    "by_date": "later",
    "no_hurry": "later",
    "part_new": "part",
    "part_used": "part",
    "part_rebuilt": "part",
    "part_reconditioned": "part",
    "part_original_maker": "part",
    "part_other_maker": "part",
    "test": "test",
    "reason": "reason",
    "consequence": "consequence",
    "timing": "timing",
}


@dataclass(frozen=True, eq=False)
class Scene:
    """One draft and what is looked up in it again and again."""

    draft: Draft
    vocabulary: Vocabulary

    @cached_property
    def texts(self) -> list[str]:
        """The token texts."""
        return [token.text for token in self.draft.tokens]

    @cached_property
    def mass(self) -> list[float]:
        """Cumulative boundary strength."""
        return boundary_mass(self.draft)

    @cached_property
    def scopes(self) -> list[frozenset[str]]:
        """Scope kinds by token."""
        return scopes_by_token(self.draft)

    @cached_property
    def void(self) -> frozenset[str]:
        """Ids of items taken back."""
        return frozenset(void.item for void in self.draft.voids)

    @cached_property
    def heads(self) -> list[Mention]:
        """Parts and pronouns in the order they were said; of two parts of one name, the first in the lexicon."""
        heads: list[Mention] = []
        for mention in sorted(self.draft.mentions, key=lambda m: m.first):
            if mention.id in self.void or not is_head(mention) or not self._among_car_talk(mention):
                continue
            if heads and heads[-1].first == mention.first:
                if heads[-1].family == "cue":
                    heads[-1] = mention
                continue
            heads.append(mention)
        return heads

    @cached_property
    def _plain_parts(self) -> list[int]:
        return sorted(m.first for m in self.draft.mentions if m.family == "component" and not m.needs_context)

    def _among_car_talk(self, mention: Mention) -> bool:
        """An everyday word ("line", "race") means a part only where parts are talked of."""
        if not mention.needs_context or len(self.texts) <= CAR_TALK:
            return True
        at = bisect_left(self._plain_parts, mention.first - CAR_TALK)
        return at < len(self._plain_parts) and self._plain_parts[at] <= mention.last + CAR_TALK

    @cached_property
    def head_starts(self) -> list[int]:
        """First tokens of the heads."""
        return [head.first for head in self.heads]

    @cached_property
    def dependents(self) -> list[tuple[str, Dependent]]:
        """(family, item) of everything that may be said of a head, in order; one of a family at a place."""
        found: list[tuple[str, Dependent]] = []
        seen: set[tuple[str, int]] = set()
        verbs = {mention.first for mention in self.draft.mentions if mention.family == "action"}
        items: list[Dependent] = [*self.draft.mentions, *self.draft.amounts]
        for item in sorted(items, key=lambda i: i.first):
            family = dependent_family(item)
            if family is None or item.id in self.void or (family, item.first) in seen:
                continue
            # "needs flushing" asks for a flush, not for a new part.
            if family == "offer" and item.last + 1 in verbs:
                continue
            seen.add((family, item.first))
            found.append((family, item))
        return found

    @cached_property
    def conditions_at(self) -> dict[int, list[Mention]]:
        """The conditions that begin at each token."""
        found: dict[int, list[Mention]] = {}
        for family, item in self.dependents:
            if family == "condition" and isinstance(item, Mention):
                found.setdefault(item.first, []).append(item)
        return found

    @cached_property
    def starts_by_family(self) -> dict[str, list[int]]:
        """First tokens of the dependents of each family."""
        starts: dict[str, list[int]] = {}
        for family, item in self.dependents:
            starts.setdefault(family, []).append(item.first)
        return starts

    @cached_property
    def haste(self) -> list[Mention]:
        """Words that say how soon."""
        cues = (m for m in self.draft.mentions if m.family == "cue")
        return [cue for cue in cues if FAMILY_OF_CUE.get(cue.key) in ("urgent", "later")]

    @cached_property
    def asked_verbs(self) -> frozenset[int]:
        """Where an action follows right behind "needs": flushing, welding."""
        asked = {m.last + 1 for m in self.draft.mentions if m.family == "cue" and m.key == "offer"}
        return frozenset(m.first for m in self.draft.mentions if m.family == "action" and m.first in asked)

    @cached_property
    def light(self) -> frozenset[int]:
        """Tokens that may stand between a recommendation and its part: articles, numbers, places."""
        words = [m for m in self.draft.mentions if m.family == "location" or m.key == "determiner"]
        spans: list[Dependent] = [*words, *self.draft.amounts]
        return frozenset(number for item in spans for number in range(item.first, item.last + 1))

    @cached_property
    def starts_by_axis(self) -> dict[str, list[int]]:
        """First tokens of the place words of each axis."""
        starts: dict[str, list[int]] = {}
        for family, item in self.dependents:
            if family == "location" and isinstance(item, Mention):
                for axis in axes_of(item.key).split("+"):
                    starts.setdefault(axis, []).append(item.first)
        return starts

    @cached_property
    def numbers(self) -> list[Amount]:
        """What may be measurements, in the order said."""
        return sorted((a for a in self.draft.amounts if a.kind in ("measure", "bare")), key=lambda a: a.first)

    @cached_property
    def number_starts(self) -> list[int]:
        """First tokens of the numbers."""
        return [number.first for number in self.numbers]

    @cached_property
    def approved_at(self) -> frozenset[int]:
        """First tokens of the words that approve, so far as the lexicon knows them."""
        cues = (m for m in self.draft.mentions if m.family == "cue")
        return frozenset(m.first for m in cues if FAMILY_OF_CUE.get(m.key) == "approval" and m.how != "read")

    @cached_property
    def place_ends(self) -> frozenset[int]:
        """Last tokens of the place words."""
        return frozenset(m.last for m in self.draft.mentions if m.family == "location")

    @cached_property
    def coordinated(self) -> list[bool]:
        """Whether head i stands in one list with head i+1: only "and", commas, places and articles between."""
        joints = self.vocabulary.cue_words["listing"]
        places = {n for m in self.draft.mentions if m.family == "location" for n in range(m.first, m.last + 1)}
        flags = []
        for one, two in zip(self.heads, self.heads[1:], strict=False):
            between = range(one.last + 1, two.first)
            flags.append(
                len(between) <= 6
                and self.mass[two.first] - self.mass[one.last] < 0.9
                and all(n in places or self.texts[n] in joints for n in between)
                and (len(between) > 0 or self.mass[two.first] > self.mass[one.last])
            )
        return [*flags, False]

    def list_of(self, number: int) -> range:
        """The numbers of the heads that stand in one list with a head, itself among them."""
        first = last = number
        while first > 0 and self.coordinated[first - 1]:
            first -= 1
        while self.coordinated[last]:
            last += 1
        return range(first, last + 1)

    def count_between(self, starts: list[int], first: int, last: int) -> int:
        """How many of the sorted starts lie strictly between two tokens."""
        return max(0, bisect_left(starts, last) - bisect_left(starts, first + 1))


@cache
def axes_of(location: str) -> str:
    """Which axes a place word speaks of (end, side, level, depth), joined by "+"."""
    tokens = set(location.split("_"))
    return "+".join(sorted(axis for axis, names in AXES.items() if tokens & names))


def is_head(mention: Mention) -> bool:
    """Whether something can be said of this mention: a part, or a word that stands for one."""
    return mention.family in ("component", "unknown") or (mention.family == "cue" and mention.key == "pronoun")


def dependent_family(item: Dependent) -> str | None:
    """The family a dependent is joined under, or None for what is never joined."""
    if isinstance(item, Amount):
        return {"measure": "amount", "bare": "bare", "price": "price", "code": "code"}.get(item.kind)
    if item.family in ("condition", "action", "location"):
        return item.family
    return FAMILY_OF_CUE.get(item.key) if item.family == "cue" else None
