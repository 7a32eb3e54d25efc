"""What else words may mean: offered to a person, decided by nobody."""

from functools import cache

import pytest

from narrate.find.draft import Draft
from narrate.find.mining import text_recording
from narrate.find.nearby import Nearby, Told, nearby, read_words, told, unlisted
from narrate.find.vocabulary import Vocabulary, vocabulary
from narrate.words.load import load_lexicon

CAR = {"drive_side": "left", "market": "us"}


@cache
def words() -> Vocabulary:
    return vocabulary(load_lexicon())


@cache
def read(text: str) -> Draft:
    return read_words(text_recording(text).words, words())


def near(text: str, part: str | None, begins: str, ends: str) -> Nearby:
    """What is offered for the words from one to another."""
    said = text.split()
    return nearby(read(text), words(), [(said.index(begins), said.index(ends))], part, **CAR)


def tells(text: str, part: str | None) -> Told:
    return told(read(text), words(), (0, len(text.split()) - 1), part, **CAR)


@pytest.mark.parametrize(
    ("text", "part", "meant"),
    [
        ("The crack bar bushing is split.", "sway_bar_bushing", "track_bar_bushing"),
        ("The lower ball joint and the outer tire end are loose.", "ball_joint", "tie_rod_end"),
    ],
)
def test_parts_that_sound_like_what_was_heard(text: str, part: str, meant: str) -> None:
    said = text.split()
    parts = near(text, part, said[0], said[-1]).parts
    assert meant in parts[:4]
    assert part not in parts


def test_a_fault_that_sounds_like_it_and_that_such_a_part_can_have() -> None:
    text = "The seat belt on the left is afraid, replace it. The rear shock is missing a bit."
    assert "frayed" in near(text, "seat_belt", "seat", "afraid,").conditions
    shock = near(text, "shock_absorber", "rear", "bit.")
    assert shock.conditions[0] == "missing"
    assert "seeping" in shock.conditions


def test_places_said_there_and_before() -> None:
    text = "Right front now. Brake pads are at three millimeters, the left one is worn."
    places = near(text, "brake_pad", "Brake", "worn.").places
    assert places[0] == ("left",)
    assert ("front right",) in places


def test_numbers_that_the_part_is_measured_by_come_first() -> None:
    text = "Battery is at 12.6 volts, front pads five millimeters."
    numbers = near(text, "brake_pad", "front", "millimeters.").numbers
    assert [(str(each.value), each.unit) for each in numbers] == [("5", "mm"), ("12.6", "V")]


def test_what_needs_a_new_one_is_to_be_replaced() -> None:
    text = "Water pump is weeping, it needs one."
    assert "replace" in near("Idler arm is loose, needs an idler arm.", "idler_arm", "Idler", "arm.").actions
    assert near(text, "water_pump", "Water", "one.").conditions[0] == "seeping"


@pytest.mark.parametrize(
    ("text", "part", "status", "conditions", "action"),
    [
        ("timing cover, no leaks,", "timing_cover", "ok", (), None),
        ("the hose whistles, replace it", "radiator_hose", "fault", ("whistling",), "replace"),
        ("replace the wiper blades", "wiper_blade", "work", (), "replace"),
        ("brake pads look good", "brake_pad", "ok", (), None),
        ("the hinge", "door_hinge", "fault", (), None),
    ],
)
def test_what_words_tell(text: str, part: str, status: str, conditions: tuple[str, ...], action: str | None) -> None:
    read_off = tells(text, part)
    assert (read_off.status, read_off.conditions, read_off.action) == (status, conditions, action)


def test_places_and_numbers_are_told_too() -> None:
    read_off = tells("front left pads are at three millimeters", "brake_pad")
    assert read_off.places == ("front left",)
    assert [(str(each.value), each.unit) for each in read_off.numbers] == [("3", "mm")]


def test_parts_in_no_finding_in_the_order_they_were_named() -> None:
    text = "Brake pads are worn. The radiator hose whistles. Muffler is fine."
    draft = read(text)
    all_of_them = unlisted(draft, words(), [])
    assert [each.part for each in all_of_them] == ["brake_pad", "radiator_hose", "muffler"]
    left = unlisted(draft, words(), [("brake_pad", 0, 3), ("muffler", 8, 10)])
    assert [each.part for each in left] == ["radiator_hose"]
    assert text.split()[left[0].first : left[0].last + 1] == ["The", "radiator", "hose", "whistles."]


def test_nothing_is_offered_for_no_words() -> None:
    assert nearby(read(""), words(), [(0, 3)], "brake_pad", **CAR) == Nearby((), (), (), (), ())
    assert unlisted(read(""), words(), []) == ()
