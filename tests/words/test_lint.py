"""The lint: what it tells, and what it leaves alone."""

import time
from collections.abc import Callable
from pathlib import Path

import pytest

from narrate.words.lint import lint
from narrate.words.load import load_lexicon
from narrate.words.remarks import Remark

Linted = Callable[[str], list[Remark]]


@pytest.fixture
def linted(folder: Path) -> Linted:
    """The remarks on the small lexicon with components added to it."""

    def added(text: str) -> list[Remark]:
        file = folder / "systems/brakes.toml"
        file.write_text(file.read_text("utf-8") + text, "utf-8")
        return [remark for remark in lint(load_lexicon(folder)) if "'rotor'" not in remark.message]

    return added


def test_a_name_of_two_parts_is_an_error(linted: Linted) -> None:
    """Both parts are named, so that somebody can choose."""
    (remark,) = linted('[component.hub]\nname = "hub"\naliases = ["brake disc"]\nkind = "friction"\n')
    assert "error" == remark.level
    assert "component.brake_rotor" == remark.place
    assert "'brake disc'" in remark.message
    assert "hub" in remark.message


def test_a_short_name_may_be_shared(linted: Linted) -> None:
    """What a bare word means is told by the words around it."""
    two = '[component.hub]\nname = "hub"\nshort = ["cap"]\nkind = "friction"\n'
    assert [] == linted(f'{two}[component.bore]\nname = "bore"\nshort = ["cap"]\nkind = "friction"\n')


def test_everyday_words_need_context(folder: Path) -> None:
    """`rotor` is an everyday word here and not marked, `disc` is marked."""
    (remark,) = lint(load_lexicon(folder))
    assert Remark("warning", remark.message, "component.brake_rotor") == remark
    assert "'rotor'" in remark.message


def test_side_words_are_told(linted: Linted) -> None:
    """A side is no part of a name."""
    (remark,) = linted('[component.drum]\nname = "drum"\naliases = ["nearside drum"]\nkind = "friction"\n')
    assert "warning" == remark.level
    assert "'nearside'" in remark.message


def test_a_driver_may_be_a_thing(linted: Linted) -> None:
    """An injector driver sits on no side."""
    part = '[component.stage]\nname = "output stage"\naliases = ["injector driver"]\nkind = "friction"\n'
    assert [] == linted(part)


def test_padding_is_told(linted: Linted) -> None:
    """`drum assembly` is a drum."""
    (remark,) = linted('[component.drum]\nname = "drum"\naliases = ["drum assembly"]\nkind = "friction"\n')
    assert "'drum assembly' is 'drum' with padding" in remark.message


def test_plurals_are_told(linted: Linted) -> None:
    """A plural written out is made twice."""
    (remark,) = linted('[component.drum]\nname = "drum"\naliases = ["drums"]\nkind = "friction"\n')
    assert "'drums' is the plural of 'drum'" in remark.message


def test_sound_alikes_are_told_with_both_names(linted: Linted) -> None:
    """One letter apart is easily misheard, wherever the letter stands."""
    (remark,) = linted('[component.motor]\nname = "brake rotors cap"\naliases = ["brake motor"]\nkind = "friction"\n')
    assert "'brake motor'" in remark.message
    assert "'brake rotor'" in remark.message


def test_only_the_closest_sound_alikes_are_told() -> None:
    """The list stays readable."""
    lexicon = load_lexicon()
    few = [remark for remark in lint(lexicon, sound_alikes=5) if "sounds like" in remark.message]
    assert 5 == len(few)


def test_the_whole_lexicon_is_linted_in_seconds() -> None:
    """All names are compared in less than five seconds."""
    lexicon = load_lexicon()
    start = time.perf_counter()
    lint(lexicon)
    assert time.perf_counter() - start < 5.0
