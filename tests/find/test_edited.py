"""Edits laid over the words heard: what is read, and which words heard stand under it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from narrate.find.edited import edited_recording
from narrate.records.recording import Recording, Word
from narrate.records.reviewed import Edit

HEARD = "the will bearing on the left is making noise".split()


def recording(*, timed: bool = True) -> Recording:
    """The words heard, one a second where there is sound."""
    words = (
        Word(text=text, start_s=float(n), end_s=n + 0.5, probability=0.5) if timed else Word(text=text)
        for n, text in enumerate(HEARD)
    )
    return Recording(name="a", words=tuple(words))


def edit(first: int, last: int, text: str, *, of: str = "r1") -> Edit:
    """One edit."""
    return Edit(recording=of, first_word=first, last_word=last, text=text)


def texts(made: Recording) -> list[str]:
    """Its words."""
    return [word.text for word in made.words]


def test_without_edits_the_words_are_those_heard() -> None:
    made, heard = edited_recording(recording(), [edit(0, 1, "other", of="r2")])
    assert made == recording()
    assert heard == tuple((n, n) for n in range(len(HEARD)))


def test_as_many_words_stand_one_for_one_with_their_times_and_are_sure() -> None:
    made, heard = edited_recording(recording(), [edit(1, 2, "wheel bearing")])
    assert texts(made) == "the wheel bearing on the left is making noise".split()
    assert heard[1:3] == ((1, 1), (2, 2))
    assert (made.words[1].start_s, made.words[1].end_s, made.words[1].probability) == (1.0, 1.5, 1.0)
    assert made.words[3].probability == 0.5


def test_more_or_fewer_words_stand_for_the_whole_stretch_and_share_its_time() -> None:
    made, heard = edited_recording(recording(), [edit(1, 2, "front wheel bearing")])
    assert texts(made)[:5] == ["the", "front", "wheel", "bearing", "on"]
    assert heard[:5] == ((0, 0), (1, 2), (1, 2), (1, 2), (3, 3))
    assert made.words[1].start_s == 1.0
    assert made.words[3].end_s == pytest.approx(2.5)
    assert made.words[2].start_s == pytest.approx(1.5)


def test_words_are_taken_out() -> None:
    made, heard = edited_recording(recording(), [edit(0, 2, ""), edit(8, 8, "")])
    assert texts(made) == "on the left is making".split()
    assert heard == tuple((n, n) for n in range(3, 8))


def test_several_edits_in_any_order() -> None:
    made, heard = edited_recording(recording(), [edit(5, 5, "right hand"), edit(1, 1, "wheel")])
    assert texts(made) == "the wheel bearing on the right hand is making noise".split()
    assert heard[5:8] == ((5, 5), (5, 5), (6, 6))


def test_without_sound_there_are_no_times() -> None:
    made, _ = edited_recording(recording(timed=False), [edit(1, 1, "wheel"), edit(5, 5, "right hand")])
    assert {(w.start_s, w.end_s, w.probability) for w in made.words} == {(None, None, None)}


@given(st.sets(st.integers(0, 8), max_size=6), st.lists(st.text("ab ", max_size=8), min_size=6, max_size=6))
def test_every_word_has_a_place_among_those_heard_and_they_only_go_on(cuts: set[int], said: list[str]) -> None:
    edges = sorted(cuts)
    edits = [edit(a, b - 1, text) for a, b, text in zip(edges, edges[1:], said, strict=False)]
    made, heard = edited_recording(recording(), edits)
    assert len(made.words) == len(heard)
    assert all(0 <= first <= last < len(HEARD) for first, last in heard)
    assert list(heard) == sorted(heard)
    starts = [word.start_s or 0.0 for word in made.words]
    assert starts == sorted(starts)
