"""Stage 8: stretches whose meaning a cue changes: denied, doubted, beginning, supposed, the customer's words."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from narrate.find.boundaries import boundary_mass
from narrate.find.draft import Draft, Mention, Scope
from narrate.find.vocabulary import Vocabulary

KINDS = {
    "negation": "denied",
    "hedge": "doubted",
    "onset": "beginning",
    "hypothetical": "supposed",
    "customer": "customer",
    "customer_weak": "customer",
    "customer_after": "customer",
    "customer_recalled": "customer",
    "other_vehicle": "other vehicle",
}
ENDS = {
    "denied": 0.7,
    "doubted": 0.7,
    "beginning": 0.4,
    "supposed": 1.0,
    "customer": 0.95,
    "other vehicle": 2.0,
}
"""How much boundary a scope survives."""
TECHNICIAN = frozenset({"self", "turn", "concern_answer", "concern_whole", "concern_cause"})
"""Cues at which the customer's words have ended."""
OVER = {"customer_after": 0.7, "customer_recalled": 0.3}
"""How surely a thought must end behind "…, he says" for it to look back."""


def find_scopes(draft: Draft, vocabulary: Vocabulary) -> Draft:
    """Let each cue reach as far as the lexicon says, but not past an ending, a contrast or a like cue."""
    mass = boundary_mass(draft)
    last_token = len(draft.tokens) - 1
    cues = [m for m in draft.mentions if m.family == "cue"]
    breaks = {m.first for m in cues if m.key == "contrast"}
    # The technician speaking of themselves, or of what causes it, has left the customer's story.
    self_told = {m.first: m for m in cues if m.key in TECHNICIAN}
    by_id = {cue.id: cue for cue in cues}
    # A "no" that took something back denies nothing.
    spent = {(by_id[i].first, by_id[i].last) for void in draft.voids for i in void.because if i in by_id}
    scopes: list[Scope] = []
    for cue in cues:
        kind = KINDS.get(cue.key)
        if kind is None or (cue.first, cue.last) in spent:
            continue
        entry = vocabulary.lexicon.cues[cue.key]
        reach = entry.reach or last_token
        if entry.direction == "backward":
            first = _began(cue, reach, mass, self_told)
            over = cue.last == last_token or mass[cue.last + 1] - mass[cue.last] >= OVER[cue.key]
            if over and first < cue.first - 1:
                why = f"reach of '{cue.key}' back from {cue.id}"
                scopes.append(Scope(f"s{len(scopes)}", kind, first, cue.first - 1, (cue.id,), why))
            continue
        last = cue.last
        while (
            last < min(cue.last + reach, last_token)
            and mass[last + 1] - mass[cue.last] < ENDS[kind]
            and last + 1 not in (self_told if kind == "customer" else breaks)
        ):
            last += 1
        first = cue.last + 1
        if entry.direction == "both":
            first = cue.first
            while first > max(0, cue.first - reach) and mass[cue.first] - mass[first - 1] < 0.3 and first not in breaks:
                first -= 1
        if last >= first:
            scopes.append(Scope(f"s{len(scopes)}", kind, first, last, (cue.id,), f"reach of '{cue.key}' from {cue.id}"))
    return replace(draft, scopes=tuple(scopes))


def _began(cue: Mention, reach: int, mass: Sequence[float], told: Mapping[int, Mention]) -> int:
    """Where the thought began that ends in a cue that looks back; at the cue, where the technician was speaking."""
    first = cue.first
    while first > max(0, cue.first - reach) and mass[cue.first] - mass[first - 1] < ENDS["customer"]:
        first -= 1
        if first in told:
            return cue.first if told[first].key == "self" else told[first].last + 1
    return first


def scopes_by_token(draft: Draft) -> list[frozenset[str]]:
    """The kinds of scope each token lies in."""
    kinds: list[frozenset[str]] = [frozenset()] * len(draft.tokens)
    for scope in draft.scopes:
        for number in range(scope.first, scope.last + 1):
            kinds[number] |= {scope.kind}
    return kinds
