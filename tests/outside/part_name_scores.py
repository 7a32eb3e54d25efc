"""The names of parts that a road-safety agency files complaints under, and whether the lexicon knows them."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from asking import Asked

from narrate.score.counts import Share


@dataclass(frozen=True)
class NameScores:
    """How many of the specific names are known, and which are not."""

    known: Share
    unknown: tuple[str, ...]


def score_names(asked: Asked, labels: Sequence[str]) -> NameScores:
    """A name counts as known when it is alone or with the level above it before it."""
    names = [name for label in labels if ":" in label for name in as_spoken(label)]
    unknown = [name[1] for name in names if not any(_names_a_part(asked, text) for text in name)]
    return NameScores(Share(len(names) - len(unknown), len(names)), tuple(unknown))


def as_spoken(label: str) -> list[tuple[str, str]]:
    """The choices of the most specific level, each alone and with the level above it before it.

    WHEELS:LUGS/NUTS gives (lugs, wheels lugs) and (nuts, wheels nuts).
    """
    levels = [re.sub(r"\(.*?\)| assembly", " ", level.lower()).strip() for level in label.split(":")]
    choices = [choice.strip() for choice in re.split(r"[/,]| and ", levels[-1]) if choice.strip()]
    return [(choice, f"{levels[-2]} {choice}") for choice in choices]


def _names_a_part(asked: Asked, text: str) -> bool:
    """Whether the last word of a text, alone or with words before it, is a part of the lexicon, letter for letter."""
    draft = asked.read(text)
    parts = [m for m in draft.mentions if m.family == "component" and m.how != "guess"]
    return any(part.last == len(draft.tokens) - 1 for part in parts)
