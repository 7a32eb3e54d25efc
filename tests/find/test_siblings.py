"""Whose counterpart is meant where a pronoun or a place alone is told of."""

from collections.abc import Callable

import pytest

from narrate.find.draft import Draft
from narrate.find.mining import text_recording
from narrate.find.stages import run_stages
from narrate.find.vocabulary import Vocabulary

Run = Callable[[str], Draft]


@pytest.fixture(scope="module")
def grouped(ready: Vocabulary) -> Run:
    """The draft of a text after all stages."""
    return lambda text: run_stages(text_recording(text).words, ready)


def counterparts(draft: Draft) -> list[str]:
    """The keys of the parts of which a counterpart is told."""
    keys = {m.id: m.key for m in draft.mentions}
    return [keys[group.heads[0]] for group in draft.groups if group.counterpart]


def test_the_part_told_with_such_a_place_is_meant(grouped: Run) -> None:
    said = "Offside rear spring's snapped at the bottom coil, so that's a fail. Nearside one's all right."
    assert ["coil_spring"] == counterparts(grouped(said))


@pytest.mark.parametrize(
    "said",
    [
        "The left boot is torn and the right boot is torn.",
        "Right, that's all good. Both rear shocks are dry.",
        "the battery is weak and the other thing is fine",
        "the right one is fine",
    ],
)
def test_nothing_else_makes_a_counterpart(grouped: Run, said: str) -> None:
    assert [] == counterparts(grouped(said))
