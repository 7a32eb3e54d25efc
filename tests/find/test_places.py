"""Places: from words for places to the vehicle's own left and right, wherever the driver sits."""

import pytest

from narrate.find.places import compose, covers, resolve
from narrate.words.lexicon import Lexicon

CORNERS = ("front|rear", "left|right")
SIDES = ("left|right",)
LEVELS = ("left|right", "upper|lower")
DEPTHS = ("left|right", "inner|outer")


def places(*said: str) -> list[frozenset[str]]:
    """Place words as sets of tokens."""
    return [frozenset(place.split()) for place in said]


@pytest.mark.parametrize(
    ("key", "left_hand_drive", "right_hand_drive"),
    [
        ("driver", {"left"}, {"right"}),
        ("passenger", {"right"}, {"left"}),
        ("nearside", {"right"}, {"left"}),
        ("offside", {"left"}, {"right"}),
        ("offside_front", {"front", "left"}, {"front", "right"}),
        ("nearside_rear", {"rear", "right"}, {"rear", "left"}),
    ],
)
def test_words_for_sides_depend_on_where_the_driver_sits(
    lexicon: Lexicon, key: str, left_hand_drive: set[str], right_hand_drive: set[str]
) -> None:
    assert (left_hand_drive, right_hand_drive) == (
        resolve(lexicon, key, "left"),
        resolve(lexicon, key, "right"),
    )


@pytest.mark.parametrize("key", ["left", "right", "front_left", "rear_right", "upper", "inner"])
@pytest.mark.parametrize("drive_side", ["left", "right"])
def test_left_and_right_are_the_vehicles_own(lexicon: Lexicon, key: str, drive_side: str) -> None:
    assert set(key.split("_")) == resolve(lexicon, key, drive_side)


@pytest.mark.parametrize("key", ["both", "all", "other"])
def test_words_for_several_stand_for_themselves(lexicon: Lexicon, key: str) -> None:
    assert {key} == resolve(lexicon, key, "left")


@pytest.mark.parametrize(
    ("said", "axes", "expected"),
    [
        (["front", "left"], CORNERS, ("front left",)),
        (["left", "front"], CORNERS, ("front left",)),
        (["front left"], CORNERS, ("front left",)),
        (["right", "lower"], LEVELS, ("right lower",)),
        (["outer", "left"], DEPTHS, ("left outer",)),
        (["front left", "lower"], (*CORNERS, "upper|lower"), ("front left lower",)),
        (["rear"], CORNERS, ("rear",)),
        ([], CORNERS, ()),
    ],
)
def test_place_words_add_up_in_the_fixed_order(
    said: list[str], axes: tuple[str, ...], expected: tuple[str, ...]
) -> None:
    assert expected == compose(places(*said), axes)


@pytest.mark.parametrize(
    ("said", "axes", "expected"),
    [
        (["both"], SIDES, ("left", "right")),
        (["front", "both"], CORNERS, ("front left", "front right")),
        (["left", "both"], CORNERS, ("front left", "rear left")),
        (["all"], CORNERS, ("front left", "front right", "rear left", "rear right")),
        (["all"], SIDES, ("left", "right")),
        (["rear", "all"], CORNERS, ("rear left", "rear right")),
        (["both", "lower"], LEVELS, ("left lower", "right lower")),
    ],
)
def test_both_and_all_name_every_place_the_part_has(
    said: list[str], axes: tuple[str, ...], expected: tuple[str, ...]
) -> None:
    assert expected == compose(places(*said), axes)


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        (["front left", "right"], ("front left", "front right")),
        (["front left", "rear right"], ("front left", "rear right")),
        (["rear right", "front"], ("front right", "rear right")),
        (["front left", "front left"], ("front left",)),
        (["front left", "left"], ("front left",)),
    ],
)
def test_a_lone_side_or_end_is_read_with_the_corner_named_beside_it(said: list[str], expected: tuple[str, ...]) -> None:
    assert expected == compose(places(*said), CORNERS)


def test_the_order_of_the_words_makes_no_difference() -> None:
    assert compose(places("rear right", "front left"), CORNERS) == compose(places("front left", "rear right"), CORNERS)


@pytest.mark.parametrize(
    ("location", "tokens", "expected"),
    [
        ("front left", {"left"}, True),
        ("front left", {"front", "left"}, True),
        ("front left", {"right"}, False),
        ("front left", {"both"}, True),
        ("rear right", {"front", "right"}, False),
    ],
)
def test_a_place_covers_the_locations_it_can_mean(location: str, tokens: set[str], expected: bool) -> None:
    assert expected is covers(location, frozenset(tokens))


def test_both_names_no_side_of_a_part_there_is_only_one_of() -> None:
    assert () == compose(places("both"), ())
