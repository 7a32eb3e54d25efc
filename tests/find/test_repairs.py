"""What the speaker took back: the last word wins, and what only sounds like a correction takes nothing back."""

from collections.abc import Callable

import pytest

from narrate.find.draft import Draft

Read = Callable[[str], Draft]


def taken_back(draft: Draft) -> list[str]:
    """The words taken back."""
    spans = {item.id: (item.first, item.last) for item in (*draft.mentions, *draft.amounts)}
    found = [spans[void.item] for void in draft.voids]
    return [" ".join(t.text for t in draft.tokens[first : last + 1]) for first, last in found]


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("the nearside, no, hang on, offside front tyre is at two mil", "nearside"),
        ("driver side, sorry, passenger side mirror is broken", "driver side"),
        ("left rear, make that right rear wheel bearing", "left rear"),
        ("it's the front left, strike that, rear left wheel bearing", "front left"),
        ("front pads, no wait, rear pads are worn", "front"),
        ("inner, I mean, outer tie rod", "inner"),
        ("the upper, no, lower ball joint", "upper"),
        ("left no right front tire", "left"),
        ("on the left side, I mean the passenger side, the mirror is cracked", "on the left"),
    ],
)
def test_a_place_corrected_is_taken_back(read: Read, said: str, expected: str) -> None:
    assert [expected] == taken_back(read(said))


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("three mil, no wait, two mil on the front pads", "three mil"),
        ("front left tire is at six, sorry, four thirty seconds", "six"),
        ("eight, I mean nine volts", "eight"),
    ],
)
def test_a_number_corrected_is_taken_back(read: Read, said: str, expected: str) -> None:
    assert expected in taken_back(read(said))


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("the strut mount, sorry, the strut is leaking", "strut mount"),
        ("the alternator belt, correction, the power steering belt", "alternator belt"),
        ("front pads, I tell a lie, front rotors are scored", "pads"),
    ],
)
def test_a_part_corrected_for_one_like_it_is_taken_back(read: Read, said: str, expected: str) -> None:
    assert [expected] == taken_back(read(said))


def test_all_that_was_just_said_can_be_taken_back(read: Read) -> None:
    assert {"left front", "pads"} == set(taken_back(read("left front pads worn, scratch that")))


@pytest.mark.parametrize(
    "said",
    [
        "no leaks on the left",
        "i mean the left one is really bad",
        "not the belt, the tensioner",
        "there's no left mirror",
        "no, the left strut is leaking",
        "the left is good, sorry, the fuel cap is missing",
        "front brakes, no problem, rear brakes worn",
        "left side no play, right side no play",
        "rear pads are good. no leaks at the front",
        "the front one is good, actually the back seat is wet",
    ],
)
def test_what_only_sounds_like_a_correction_takes_nothing_back(read: Read, said: str) -> None:
    assert [] == taken_back(read(said))


def test_two_numbers_of_different_kinds_do_not_correct_each_other(read: Read) -> None:
    assert [] == taken_back(read("eight millimeters on the pads, sorry, thirty psi in the tire"))


def test_what_was_taken_back_stays_in_the_draft(read: Read) -> None:
    draft = read("left, no wait, right front caliper")
    assert {"left", "front_right"} == {m.key for m in draft.mentions if m.family == "location"}


def test_what_was_taken_back_rests_on_the_words_that_took_it_back(read: Read) -> None:
    draft = read("left, no wait, right front caliper")
    (void,) = draft.voids
    cues = {m.id for m in draft.mentions if m.key == "strong_repair"}
    assert (2, True) == (len(void.because), bool(cues & set(void.because)))


@pytest.mark.xfail(strict=True, reason="a part is only corrected for one of its own kind or system")
def test_a_part_may_be_corrected_for_one_of_another_system(read: Read) -> None:
    assert ["water pump"] == taken_back(read("the water pump, sorry, the alternator is whining"))
