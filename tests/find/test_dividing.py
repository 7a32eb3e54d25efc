"""What of a statement is said of each of two opposite places."""

from collections.abc import Callable

import pytest

from narrate.find.dividing import Division, divide
from narrate.find.fields import look_up
from narrate.find.mining import text_recording
from narrate.find.scene import Scene
from narrate.find.stages import run_stages
from narrate.find.vocabulary import Vocabulary

Divided = Callable[[str], Division | None]
SIDES = ("left", "right")


@pytest.fixture(scope="module")
def divided(ready: Vocabulary) -> Divided:
    """How the first statement of a text falls into left and right."""

    def find(text: str) -> Division | None:
        draft = run_stages(text_recording(text).words, ready)
        scene = Scene(draft, ready)
        return divide(scene, look_up(draft, draft.groups)[0], "left", SIDES)

    return find


@pytest.mark.parametrize(
    ("said", "stories"),
    [
        (
            "rear shocks, driver side is wet, passenger side is dry",
            {"left": frozenset({"fault wet"}), "right": frozenset({"fine"})},
        ),
        (
            "the front pads are torn on the left, fine on the right",
            {"left": frozenset({"fault torn"}), "right": frozenset({"fine"})},
        ),
        (
            "Wheel cylinders, just the left one damp, other side's dry.",
            {"left": frozenset({"fault wet"}), "right": frozenset({"fine"})},
        ),
    ],
)
def test_each_place_has_its_own_story(divided: Divided, said: str, stories: dict[str, frozenset[str]]) -> None:
    division = divided(said)
    assert division is not None
    assert stories == division.stories


def test_numbers_go_to_the_place_before_or_tied_behind_them(divided: Divided) -> None:
    division = divided("Front pads are worn, two mil on the left and three mil on the right.")
    assert division is not None
    assert {"left": ["2"], "right": ["3"]} == {
        place: [str(n.value) for n in division.numbers(place)] for place in SIDES
    }


@pytest.mark.parametrize("said", ["left and right struts are leaking", "the left strut is leaking"])
def test_places_in_one_breath_or_one_alone_divide_nothing(divided: Divided, said: str) -> None:
    assert divided(said) is None
