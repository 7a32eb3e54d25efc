"""Phrases as they are compared: plurals, splitting, market names, what a part can have."""

from pathlib import Path

import pytest

from narrate.words.load import load_lexicon
from narrate.words.phrases import phrase_words, plural


@pytest.mark.parametrize(
    ("one", "many"),
    [
        ("brake pad", "brake pads"),
        ("battery", "batteries"),
        ("pulley", "pulleys"),
        ("bush", "bushes"),
        ("switch", "switches"),
        ("fuse box", "fuse boxes"),
        ("brake lens", "brake lenses"),
        ("glass", "glasses"),
        ("hose", "hoses"),
    ],
)
def test_plurals_are_regular(one: str, many: str) -> None:
    """The last word takes -s, -es or -ies by the regular rules."""
    assert many == plural(one)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("brake pad", ("brake", "pad")),
        ("Side-Marker light", ("side", "marker", "light")),
        ("driver's seat", ("driver", "'s", "seat")),
        ("pads/rotors", ("pads", "rotors")),
        ("tyre", ("tire",)),
        ("tyre tread", ("tire", "tread")),
        ("", ()),
    ],
)
def test_phrases_split_as_speech_does(text: str, words: tuple[str, ...]) -> None:
    """Hyphens and strokes part words, 's stands alone, and spelling is unified."""
    assert words == phrase_words(text, {"tyre": "tire"})


def test_a_countable_part_has_plurals_and_a_fluid_none(folder: Path) -> None:
    """Nobody counts brake fluid."""
    said = {" ".join(phrase.words) for phrase in load_lexicon(folder).phrases()}
    assert {"brake rotor", "brake rotors", "disc", "discs", "brake fluid"} <= said
    assert "brake fluids" not in said


def test_a_plural_needs_context_like_its_singular(folder: Path) -> None:
    """`discs` is as much an everyday word as `disc`."""
    needing = {phrase.words for phrase in load_lexicon(folder).phrases() if phrase.needs_context}
    assert {("disc",), ("discs",)} == needing


def test_the_name_follows_the_market(folder: Path) -> None:
    """The British name is shown where tires are tyres, the American one in the United States."""
    lexicon = load_lexicon(folder)
    assert "brake rotor" == lexicon.name("brake_rotor", "us")
    assert "brake disc" == lexicon.name("brake_rotor", "gb")
    assert "brake fluid" == lexicon.name("brake_fluid", "gb")


def test_a_kind_tells_what_a_part_can_have(folder: Path) -> None:
    """A rotor can be worn and a fluid cannot."""
    lexicon = load_lexicon(folder)
    assert lexicon.legal("brake_rotor", "worn")
    assert not lexicon.legal("brake_fluid", "worn")
