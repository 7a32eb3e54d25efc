"""How words sound, and how alike two sound.

Source of the pronunciations: the CMU Pronouncing Dictionary 0.7b (Carnegie Mellon University), in models/sounds.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from narrate.words.sounds import CONSONANTS, VOWELS, alike, load_speller

SOUNDS = st.text("".join((*VOWELS, *CONSONANTS)), max_size=12)


@pytest.mark.parametrize(
    ("word", "other"),
    [("brake", "break"), ("boot", "boote"), ("hose", "hoes")],
)
def test_words_that_are_said_the_same_sound_the_same(word: str, other: str) -> None:
    speller = load_speller()
    assert speller.sounds(word) == speller.sounds(other)


def test_the_dictionary_is_asked_before_the_rules() -> None:
    # CMU dictionary: COLONEL  K ER1 N AH0 L, which no rule would say.
    assert load_speller().sounds("colonel") == "kRnVl"


@pytest.mark.parametrize(
    ("word", "sounds"),
    [("tyrod", "tYrad"), ("swabar", "swVbar"), ("roters", "rotRz")],
)
def test_a_word_the_dictionary_lacks_is_said_by_the_rules(word: str, sounds: str) -> None:
    assert word not in load_speller().words
    assert load_speller().sounds(word) == sounds


def test_letters_without_a_vowel_are_named() -> None:
    assert load_speller().sounds("dpf") == "dIpIef"


def test_what_is_no_word_has_no_sound() -> None:
    assert load_speller().sounds("4/32") == ""


@given(SOUNDS, SOUNDS)
def test_likeness_is_the_same_both_ways_and_between_0_and_1(one: str, other: str) -> None:
    assert alike(one, other) == pytest.approx(alike(other, one))
    assert 0 <= alike(one, other) <= 1


@given(SOUNDS.filter(bool))
def test_a_run_of_sounds_is_wholly_like_itself(one: str) -> None:
    assert alike(one, one) == 1


@pytest.mark.parametrize(
    ("near", "far"),
    [
        (("pitmVn", "bitmVn"), ("pitmVn", "kitmVn")),  # another voice is nearer than another place
        (("rotRz", "rodRz"), ("rotRz", "rokRz")),  # t and d are one sound between vowels in America
        (("boldZOnt", "olJOnt"), ("boldZOnt", "filtR")),
    ],
)
def test_sounds_made_alike_are_nearer_than_others(near: tuple[str, str], far: tuple[str, str]) -> None:
    assert alike(*near) > alike(*far)
