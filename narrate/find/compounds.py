"""A part named in several words of which the lexicon knows only pieces: one part, not two.

The encoder reads "trunk closing pump" as one name; the lexicon knows "trunk" and "pump". The piece that says most
stands for the whole, as a guess, and the others name nothing.
"""

from collections.abc import Sequence
from dataclasses import replace

from narrate.find.draft import Draft, Mention


def joined_name(draft: Draft, mentions: Sequence[Mention], first: int, last: int, between: frozenset[str]) -> Mention:
    """What two or more parts named within one name (tokens first to last) stand for, as one mention.

    With words like "in", "of", "on" between, the first ("boots on the rack"); else the first that is no everyday
    word ("brake line clips"); else the last.
    """
    gap = range(mentions[0].last + 1, mentions[1].first)
    if any(draft.tokens[n].text in between for n in gap):
        chosen = mentions[0]
    else:
        chosen = next((m for m in mentions if not m.needs_context), mentions[-1])
    others = "', '".join(m.key for m in mentions if m is not chosen)
    return replace(
        chosen,
        first=first,
        last=last,
        how="guess",
        because=tuple(f"t{n}" for n in range(first, last + 1)),
        why=f"one name, of which '{chosen.key}' says most and not '{others}'",
    )


def parts_within(mentions: Sequence[Mention], first: int, last: int) -> list[Mention]:
    """The parts named within a stretch of tokens, those that lie in a longer one left out."""
    inside = [m for m in mentions if m.family == "component" and first <= m.first and m.last <= last]
    return sorted(
        (
            m
            for m in inside
            if not any(o.first <= m.first and m.last <= o.last and o.last - o.first > m.last - m.first for o in inside)
        ),
        key=lambda m: m.first,
    )
