"""A larger part that is measured like one of its parts is that part."""

from collections.abc import Callable

import pytest

from narrate.find.findings import Context
from narrate.find.mining import mine, text_recording
from narrate.find.stages import run_stages
from narrate.find.vocabulary import Vocabulary

Parts = Callable[[str], list[str]]


@pytest.fixture(scope="module")
def parts(ready: Vocabulary) -> Parts:
    """The components of the findings of a text."""
    context = Context("us", "left", "r1")
    return lambda text: [
        f.component.id for f in mine(run_stages(text_recording(text).words, ready), ready, context).findings
    ]


@pytest.mark.parametrize(
    ("said", "component"),
    [
        ("rear brakes five millimeters, fine", "brake_pad"),
        ("front brakes are down to two mil, replace them", "brake_pad"),
        ("the brakes are squealing badly", "brake_system"),
    ],
)
def test_brakes_with_a_thickness_are_pads(parts: Parts, said: str, component: str) -> None:
    assert [component] == parts(said)
