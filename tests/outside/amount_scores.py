"""Values with their units in quantulum3's sentences, where the unit is one that narrate knows."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from asking import Asked
from published import Quantity

from narrate.find.draft import Amount
from narrate.score.counts import Share

# quantulum3's names of units -> symbols of lexicon/units.toml, and currencies. Its other units (areas, masses,
# metres, days, gallons, dollars an hour, …) are none that narrate has.
UNITS = {
    "inch": "in", "mile": "mi", "kilometre": "km", "year": "year", "month": "month", "hour": "h", "litre": "l",
    "degree Celsius": "degC", "degree fahrenheit": "degF", "percentage": "percent", "kilometre per hour": "km/h",
    "dollar": "USD", "euro": "EUR", "pound sterling": "GBP",
}  # fmt: skip


@dataclass(frozen=True)
class AmountScores:
    """`found` of the quantities asked for; `wrong` of the amounts with a unit that narrate gives."""

    found: Share
    missed: tuple[str, ...]
    wrong: Share
    wrong_ones: tuple[str, ...]


def score_amounts(asked: Asked, cases: Sequence[tuple[str, Sequence[Quantity]]]) -> AmountScores:
    """Both ways: what is there and not found, and what is found and not there."""
    found, wrong = Share(), Share()
    missed: list[str] = []
    wrong_ones: list[str] = []
    for text, expected in cases:
        given = [_said(amount) for amount in asked.read(text).amounts if amount.unit is not None]
        wanted = [(one.low, one.high, UNITS[one.unit]) for one in expected if one.unit in UNITS]
        for quantity in wanted:
            found += Share(quantity in given, 1)
            missed += [] if quantity in given else [f"{_shown(quantity)} in: {text}"]
        for amount in given:
            wrong += Share(amount not in wanted, 1)
            wrong_ones += [] if amount in wanted else [f"{_shown(amount)} in: {text}"]
    return AmountScores(found, tuple(missed), wrong, tuple(wrong_ones))


def _said(amount: Amount) -> tuple[Decimal, Decimal, str | None]:
    low, high = sorted((amount.value, amount.value if amount.high is None else amount.high))
    return low, high, amount.unit


def _shown(amount: tuple[Decimal, Decimal, str | None]) -> str:
    low, high, unit = amount
    return f"{low} {unit}" if low == high else f"{low} to {high} {unit}"
