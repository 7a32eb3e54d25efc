"""Where one thought ends: what was written, how long the speaker paused, and words that open a thought."""

from collections.abc import Callable

import pytest

from narrate.find.boundaries import boundary_mass, find_boundaries
from narrate.find.draft import Draft
from narrate.find.tokens import split_tokens
from narrate.find.vocabulary import Vocabulary
from narrate.records.recording import Word

Read = Callable[[str], Draft]


def strengths(draft: Draft) -> dict[str, float]:
    """The strength before each word that has one."""
    return {draft.tokens[gap.first].text: gap.strength for gap in draft.gaps}


def spoken(ready: Vocabulary, pause_s: float) -> Draft:
    """Two words with a pause between them."""
    words = (Word(text="worn", start_s=0.0, end_s=0.5), Word(text="pads", start_s=0.5 + pause_s, end_s=2.0))
    return find_boundaries(split_tokens(Draft(words), ready), ready)


@pytest.mark.parametrize("mark", [".", "?", "!", ";", ":", "…"])
def test_a_written_ending_ends_the_thought_for_sure(read: Read, mark: str) -> None:
    assert {"pads": 1.0} == strengths(read(f"strut leaking{mark} pads worn"))


def test_a_comma_is_weaker_than_a_full_stop(read: Read) -> None:
    assert {"pads": 0.4} == strengths(read("strut leaking, pads worn"))


def test_words_that_run_on_have_no_ending_between_them(read: Read) -> None:
    assert {} == strengths(read("left front strut leaking"))


def test_a_word_that_opens_a_thought_is_a_weak_sign(read: Read) -> None:
    assert {"but": 0.3} == strengths(read("pads good but rotors lipped"))


def test_signs_at_one_place_add_up(read: Read) -> None:
    assert pytest.approx(0.7) == strengths(read("pads good, but rotors lipped"))["but"]


def test_no_ending_is_more_than_sure(read: Read) -> None:
    assert 1.0 == strengths(read("pads good. And rotors lipped"))["and"]


@pytest.mark.parametrize(("pause_s", "expected"), [(0.1, []), (0.25, [0.3]), (0.5, [0.3]), (0.75, [0.6])])
def test_the_longer_the_pause_the_surer_the_ending(ready: Vocabulary, pause_s: float, expected: list[float]) -> None:
    assert expected == [gap.strength for gap in spoken(ready, pause_s).gaps]


def test_an_ending_says_which_signs_it_was_seen_by(read: Read) -> None:
    (gap,) = read("pads good, but rotors lipped").gaps
    assert (("t1", "t2"), "comma, opener 'but'") == (gap.because, gap.why)


def test_the_endings_between_two_tokens_add_up(read: Read) -> None:
    mass = boundary_mass(read("pads good, rotors lipped. battery weak"))
    assert [0.4, 1.0, 1.4] == pytest.approx([mass[2] - mass[1], mass[4] - mass[3], mass[5] - mass[0]])


def test_no_words_have_no_endings(ready: Vocabulary) -> None:
    assert ((), [0.0]) == (find_boundaries(Draft(()), ready).gaps, boundary_mass(Draft(())))
