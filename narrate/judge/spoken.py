"""Places, parts and numbers as a voice says them."""

from collections.abc import Iterable, Sequence
from decimal import Decimal

from narrate.records.walkaround import Finding, Measurement
from narrate.words.lexicon import Lexicon
from narrate.words.phrases import plural

UNITS = {
    "mm": ("millimeter", "millimeters"), "1/32in": ("thirty-second", "thirty-seconds"), "in": ("inch", "inches"),
    "V": ("volt", "volts"), "mV": ("millivolt", "millivolts"), "A": ("amp", "amps"), "mA": ("milliamp", "milliamps"),
    "ohm": ("ohm", "ohms"), "CCA": ("cold cranking amp", "cold cranking amps"), "psi": ("P S I", "P S I"),
    "bar": ("bar", "bar"), "kPa": ("kilopascal", "kilopascals"), "degC": ("degree Celsius", "degrees Celsius"),
    "degF": ("degree Fahrenheit", "degrees Fahrenheit"), "deg": ("degree", "degrees"),
    "N.m": ("newton meter", "newton meters"), "lbf.ft": ("foot pound", "foot pounds"), "mi": ("mile", "miles"),
    "km": ("kilometer", "kilometers"), "l": ("liter", "liters"), "percent": ("percent", "percent"),
    "rpm": ("R P M", "R P M"),
}  # fmt: skip
"""How a voice says units: one, several."""
SMALL = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen "
    "eighteen nineteen"
).split()
TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()
SIDES, ENDS = ("left", "right"), ("front", "rear")


def say_places(places: Iterable[str]) -> str:
    """Places as they are said in the shop: the side before the end.

    >>> say_places(["front left"]), say_places(["front left", "front right"]), say_places(["rear left", "front left"])
    ('left front', 'both front', 'left front and left rear')
    """
    split = sorted((place.split() for place in places), key=lambda tokens: " ".join(tokens))
    if len(split) == 2 and _without(split[0], SIDES) == _without(split[1], SIDES) and split[0] != split[1]:
        return " ".join(["both", *_without(split[0], SIDES)]) if _without(split[0], SIDES) else "both sides"
    if len(split) == 4 and all(len(tokens) == 2 for tokens in split):
        return "all four"
    return " and ".join(_place(tokens) for tokens in split)


def say_part(finding: Finding, lexicon: Lexicon) -> str:
    """The part by its name, several where several were said: `brake pads`."""
    name = finding.component.name
    entry = lexicon.components.get(finding.component.id)
    several = finding.component.heard.strip(" .,").endswith("s") and not name.endswith("s")
    if entry is None or not several or lexicon.kinds[entry.kind].mass:
        return name
    return entry.irregular_plural or plural(name)


def say_number(number: Measurement, places: Sequence[str] = ()) -> str:
    """`about three millimeters`, `two to three millimeters left front`."""
    one, many = UNITS.get(number.unit, (number.unit, number.unit))
    value = _spoken(number.value) if number.high is None else f"{_spoken(number.value)} to {_spoken(number.high)}"
    unit = one if number.value == 1 and number.high is None else many
    where = say_places([number.location]) if number.location and len(places) > 1 else ""
    return " ".join(each for each in ("about" if number.about else "", value, unit, where) if each)


def _place(tokens: Sequence[str]) -> str:
    sides, ends = [t for t in tokens if t in SIDES], [t for t in tokens if t in ENDS]
    return " ".join([*sides, *ends, *(t for t in tokens if t not in (*SIDES, *ENDS))])


def _without(tokens: Sequence[str], left_out: Sequence[str]) -> list[str]:
    return [token for token in tokens if token not in left_out]


def _spoken(value: Decimal) -> str:
    """Small whole numbers in words, others as digits, which every voice reads."""
    if value != value.to_integral_value() or not 0 <= value < 100:
        return format(value.normalize(), "f")
    return say_count(int(value))


def say_count(number: int) -> str:
    """`three`, `forty-two`; from a hundred on in digits."""
    if number < len(SMALL):
        return SMALL[number]
    if number >= 100:
        return str(number)
    tens, ones = divmod(number, 10)
    return TENS[tens - 2] + (f"-{SMALL[ones]}" if ones else "")
