"""Stage 7: what the speaker took back. The last word wins; the void one stays in the trace."""

from bisect import bisect_left, bisect_right
from dataclasses import replace

from narrate.find.draft import Amount, Draft, Mention, Void
from narrate.find.vocabulary import Vocabulary

BEFORE, AFTER = 9, 5
"""How many tokens before and after a strong cue the two readings may stand."""
BEFORE_BARE, AFTER_BARE = 2, 3
LONGEST = 10
"""No slot is longer than this, in tokens."""
WHOLE = frozenset({"scratch that", "strike that", "forget that", "ignore that", "take that back", "cancel that"})
SIDES = frozenset({"left", "right", "nearside", "offside", "driver", "passenger"})
OPPOSITES = (("front", "rear"), ("left", "right"), ("upper", "lower"), ("inner", "outer"))


def find_repairs(draft: Draft, vocabulary: Vocabulary) -> Draft:
    """Void the item before a repair cue when an item of the same sort with another value follows it."""
    voids: list[Void] = []
    void: set[str] = set()
    slots: list[Mention | Amount] = [*draft.amounts]
    slots += [m for m in draft.mentions if m.family in ("component", "location")]
    slots.sort(key=lambda item: item.first)
    starts = [slot.first for slot in slots]
    for cue in (m for m in draft.mentions if m.family == "cue" and m.key in ("strong_repair", "no_repair")):
        strong = cue.key == "strong_repair"
        reach_before, reach_after = (BEFORE, AFTER) if strong else (BEFORE_BARE, AFTER_BARE)
        near = slots[
            bisect_left(starts, cue.first - reach_before - LONGEST) : bisect_right(starts, cue.last + reach_after)
        ]
        earlier = [s for s in near if cue.first - reach_before <= s.last < cue.first and s.id not in void]
        later = [s for s in near if cue.last < s.first]
        pair = _replaced(earlier, later, vocabulary)
        if pair:
            old, new = pair
            voids.append(_void(len(voids), old, cue, f"taken back: '{new.id}' follows"))
            void.add(old.id)
        elif " ".join(t.text for t in draft.tokens[cue.first : cue.last + 1]) in WHOLE and earlier:
            for old in earlier:
                voids.append(_void(len(voids), old, cue, "taken back whole"))
                void.add(old.id)
    return replace(draft, voids=tuple(voids))


def _void(number: int, old: Mention | Amount, cue: Mention, why: str) -> Void:
    return Void(f"v{number}", old.id, (old.id, cue.id), why)


def _replaced(
    earlier: list[Mention | Amount], later: list[Mention | Amount], vocabulary: Vocabulary
) -> tuple[Mention | Amount, Mention | Amount] | None:
    """The last item before the cue that the first fitting item after it replaces."""
    for new in later:
        for old in reversed(earlier):
            if _same_sort(old, new, vocabulary):
                return old, new
    return None


def _same_sort(old: Mention | Amount, new: Mention | Amount, vocabulary: Vocabulary) -> bool:
    if isinstance(old, Amount) or isinstance(new, Amount):
        return (
            isinstance(old, Amount)
            and isinstance(new, Amount)
            and old.value != new.value
            and (old.unit == new.unit or not old.unit or not new.unit)
            and "quiet" not in (old.kind, new.kind)
        )
    if old.family != new.family or old.key == new.key:
        return False
    if old.family == "location":
        return _opposed(old.key, new.key)
    entries = vocabulary.lexicon.components
    return entries[old.key].kind == entries[new.key].kind or (
        vocabulary.lexicon.system_of[old.key] == vocabulary.lexicon.system_of[new.key]
    )


def _opposed(old: str, new: str) -> bool:
    """Whether two places cannot both be meant: left and right, nearside and offside, front left and front right."""
    mine, other = set(old.split("_")), set(new.split("_"))
    if mine & SIDES and other & SIDES and mine & SIDES != other & SIDES:
        # "On the left, I mean the passenger side": whichever side that is, it is what was meant.
        return True
    return any((a in mine and b in other) or (b in mine and a in other) for a, b in OPPOSITES)
