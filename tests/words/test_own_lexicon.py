"""narrate's own lexicon: large enough, and no name with two owners."""

import pytest

from narrate.words.lexicon import Lexicon
from narrate.words.lint import SIDE_WORDS, lint
from narrate.words.load import load_lexicon


@pytest.fixture(scope="module")
def lexicon() -> Lexicon:
    return load_lexicon()


def test_it_knows_the_parts_of_a_vehicle(lexicon: Lexicon) -> None:
    """At least 300 components, 120 conditions and 40 actions."""
    assert len(lexicon.components) >= 300
    assert len(lexicon.conditions) >= 120
    assert len(lexicon.actions) >= 40


def test_it_knows_many_ways_to_say_them(lexicon: Lexicon) -> None:
    """At least 1,500 other names, not counting plurals, padding and side words."""
    idle = SIDE_WORDS | {"assembly", "unit", "system", "the"}
    aliases = {
        " ".join(word for word in alias.split() if word not in idle).removesuffix("s")
        for entry in lexicon.components.values()
        for alias in entry.aliases
    }
    assert len(aliases) >= 1500


def test_no_name_has_two_owners(lexicon: Lexicon) -> None:
    """A name that belongs to two parts would be wrong half of the time."""
    assert [] == [remark for remark in lint(lexicon) if remark.level == "error"]


def test_every_condition_can_be_had_by_some_part(lexicon: Lexicon) -> None:
    """A condition whose class no kind has could never be found."""
    classes = {name for kind in lexicon.kinds.values() for name in kind.classes}
    assert {entry.class_ for entry in lexicon.conditions.values()} <= classes


def test_a_unit_of_measurement_is_no_part(lexicon: Lexicon) -> None:
    """A word for a unit names a part only beside other car talk: "amp", but not "mil"."""
    units = {phrase.words for phrase in lexicon.phrases() if phrase.family == "unit"}
    parts = [phrase for phrase in lexicon.phrases() if phrase.family == "component" and phrase.words in units]
    assert [] == [phrase for phrase in parts if not phrase.needs_context]
    assert "millimeter" in {word for words in units for word in words}
    assert ("mil",) not in {phrase.words for phrase in parts}
