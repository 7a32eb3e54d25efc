"""In which unit a number told of a part is meant, and what it measures."""

from collections.abc import Callable

import pytest

from narrate.find.findings import Context
from narrate.find.mining import mine, text_recording
from narrate.find.stages import run_stages
from narrate.find.vocabulary import Vocabulary

Numbers = Callable[[str, str], list[tuple[str, str]]]


@pytest.fixture(scope="module")
def numbers(ready: Vocabulary) -> Numbers:
    """(value, unit) of every measurement of a text in a market."""

    def find(text: str, market: str) -> list[tuple[str, str]]:
        context = Context(market, "left" if market == "us" else "right", "r1")
        mined = mine(run_stages(text_recording(text).words, ready), ready, context)
        return [(str(m.value), m.unit) for f in mined.findings for m in f.measurements]

    return find


@pytest.mark.parametrize(
    ("said", "market", "expected"),
    [
        ("Front left tire is at five, replace it.", "us", [("5", "1/32in")]),
        ("Nearside front tyre is at two point one, replace it.", "gb", [("2.1", "mm")]),
        (
            "Left front tire is at four mil. Right front tire is at three.",
            "us",
            [("4", "mm"), ("3", "mm")],
        ),
        ("brake fluid boils at two hundred and ten degrees, that's fine", "gb", [("210", "degC")]),
    ],
)
def test_a_unit_is_said_or_carried_or_usual(
    numbers: Numbers, said: str, market: str, expected: list[tuple[str, str]]
) -> None:
    assert expected == numbers(said, market)
