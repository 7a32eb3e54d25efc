"""Values with units in written sentences."""

from pathlib import Path

import pytest
from amount_scores import AmountScores, score_amounts
from asking import Asked
from published import quantities


@pytest.fixture(scope="session")
def scores(asked: Asked, data: Path) -> AmountScores:
    """quantulum3's own test cases (MIT)."""
    return score_amounts(asked, quantities(data / "quantulum3" / "quantities.json"))


# Measured: 32 of 42 (0.762). Missed: millions and trillions of money with a letter ("€10M"), "(320- to 640-inch)",
# "0.5k miles", "one-half miles", "(-18 °C to -34 °C)" as one range, negative money in brackets.
def test_value_and_unit_are_right_where_narrate_has_the_unit(scores: AmountScores) -> None:
    """Source: quantulum3, tests/quantities.json, the units of amount_scores.UNITS."""
    assert scores.found.of == 42
    assert scores.found.part >= 31


# Measured: 21 of 53 (0.396), among them cubic kilometers ("4km^3"), prices for an hour or a kilogram, "5 fb-1 in".
def test_most_amounts_with_a_unit_are_what_the_sentence_says(scores: AmountScores) -> None:
    """Source: quantulum3; physics and finance, where narrate's units mean other things."""
    assert scores.wrong.part <= 22
