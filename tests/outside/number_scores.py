"""Spoken numbers, measures and prices of NeMo's inverse text normalisation cases (`spoken~written`)."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from asking import Asked

from narrate.find.numbers import read_number
from narrate.score.counts import Share

SCALES = {"thousand": 10**3, "million": 10**6, "billion": 10**9, "trillion": 10**12}
IN_WORDS = {"zero": "0", "one": "1", "twelve": "12"}
"""Cardinals that NeMo leaves in words."""
WRITTEN = re.compile(r"-?\d*\.?\d+")

# Units that narrate has, by their written form. The others (areas, data, metres and feet, power in MW, …) are
# out of scope: nothing on a car is measured per square kilometre, and such a number stays without a unit.
UNITS = {
    "km": "km", "mi": "mi", "mm": "mm", "v": "V", "mv": "mV", "kW": "kW", "kw": "kW", "%": "percent", "h": "h",
    "mph": "mph", "km/h": "km/h", "°c": "degC", "°f": "degF",
}  # fmt: skip
NO_AMOUNTS = ("date", "time", "telephone", "electronic", "ordinal", "word", "whitelist")
"""Kinds of case in which nothing is measured and nothing costs anything."""


def cases(folder: Path, kind: str) -> list[tuple[str, str]]:
    """(spoken, written) of one kind, in lower case, each once: one file has no capitals, its twin has them too."""
    files = [folder / f"test_cases_{kind}.txt", folder / f"test_cases_{kind}_cased.txt"]
    lines = [line.lower().partition("~") for file in files for line in file.read_text("utf-8").splitlines()]
    pairs = {spoken.strip(): written.strip() for spoken, _, written in lines if written.strip()}
    return list(pairs.items())


def value_of(written: str) -> Decimal | None:
    """The number in a written form, scale words multiplied out."""
    digits = WRITTEN.search(IN_WORDS.get(written, written))
    if digits is None:
        return None
    value = Decimal(digits[0])
    for word in written.split():
        value *= SCALES.get(word, 1)
    return value


def numbers_read(pairs: list[tuple[str, str]]) -> Share:
    """The cases whose number read_number gives, exactly."""
    numbers = [(read_number(spoken.split(), 0), value_of(written)) for spoken, written in pairs]
    return Share(sum(number is not None and number.value == value for number, value in numbers), len(numbers))


def measures_right(asked: Asked, pairs: list[tuple[str, str]]) -> Share:
    """Of the measures with a unit that narrate has: value and unit right, and nothing else found in the text."""
    right = Share()
    for spoken, written in pairs:
        digits, _, unit = written.partition(" ")
        if unit in UNITS:
            found = [(amount.value, amount.unit) for amount in asked.read(spoken).amounts]
            right += Share(found == [(Decimal(digits), UNITS[unit])], 1)
    return right


def units_mistaken(asked: Asked, pairs: list[tuple[str, str]]) -> list[tuple[str, str]]:
    """(spoken, unit) where the unit is none that narrate has, and narrate gives one all the same."""
    foreign = (spoken for spoken, written in pairs if written.partition(" ")[2] not in UNITS)
    return [(spoken, amount.unit) for spoken in foreign for amount in asked.read(spoken).amounts if amount.unit]


def prices_right(asked: Asked, pairs: list[tuple[str, str]]) -> Share:
    """Of the prices in dollars: amount and currency right, the whole text being one price."""
    right = Share()
    for spoken, written in pairs:
        if written.startswith("$"):
            found = [(amount.kind, amount.value, amount.unit) for amount in asked.read(spoken).amounts]
            right += Share(found == [("price", value_of(written), "USD")], 1)
    return right


@dataclass(frozen=True)
class NoAmounts:
    """Dates, times, telephone numbers, addresses: texts in which narrate sees a measure or a price."""

    seen: Share
    texts: tuple[str, ...]


def amounts_seen(asked: Asked, folder: Path) -> NoAmounts:
    """Over all the kinds in which there is nothing to see."""
    spoken = list(dict.fromkeys(text for kind in NO_AMOUNTS for text, _ in cases(folder, kind)))
    seen = [f"{text} -> {', '.join(units)}" for text in spoken if (units := list(_units(asked, text)))]
    return NoAmounts(Share(len(seen), len(spoken)), tuple(seen))


def _units(asked: Asked, text: str) -> Iterator[str]:
    for amount in asked.read(text).amounts:
        if amount.kind in ("measure", "price") and amount.unit:
            yield f"{amount.value} {amount.unit}"
