"""How many of the part names that a road-safety agency files complaints under the lexicon knows."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from narrate.find.mining import text_recording
from narrate.find.stages import READING, run_stages
from narrate.find.vocabulary import vocabulary
from narrate.words.lexicon import Lexicon


@pytest.fixture(scope="session")
def names_a_part(lexicon: Lexicon) -> Callable[[str], bool]:
    """Whether the last word of a text, alone or with words before it, is a part of the lexicon, letter for letter."""
    ready = vocabulary(lexicon)

    def known(text: str) -> bool:
        draft = run_stages(text_recording(text).words, ready, READING)
        parts = [m for m in draft.mentions if m.family == "component" and m.how != "guess"]
        return any(part.last == len(draft.tokens) - 1 for part in parts)

    return known


def as_spoken(label: str) -> list[tuple[str, str]]:
    """The choices of the most specific level, each alone and with the level above it before it.

    WHEELS:LUGS/NUTS gives (lugs, wheels lugs) and (nuts, wheels nuts).
    """
    levels = [re.sub(r"\(.*?\)| assembly", " ", level.lower()).strip() for level in label.split(":")]
    choices = [choice.strip() for choice in re.split(r"[/,]| and ", levels[-1]) if choice.strip()]
    return [(choice, f"{levels[-2]} {choice}") for choice in choices]


# Measured: 135 of 170 names (0.794). The others name a place ("front", "side"), a whole ("foundation components",
# "hydraulic power assist system") or the odds and ends of one ("fittings", "connections").
def test_most_of_the_agencys_specific_part_names_are_known(data: Path, names_a_part: Callable[[str], bool]) -> None:
    """Source: NHTSA, the commonest component descriptions of its complaints (public domain)."""
    labels = (data / "nhtsa" / "compdesc_top_names.txt").read_text("utf-8").splitlines()
    names = [name for label in labels if ":" in label for name in as_spoken(label)]
    unknown = [name for name in names if not any(map(names_a_part, name))]
    assert len(names) == 170
    assert 1 - len(unknown) / len(names) >= 0.77
