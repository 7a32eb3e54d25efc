"""The distance on the clock: how it is said with its thousands left out, and what tells that it is meant."""

from dataclasses import dataclass, replace
from decimal import Decimal

from narrate.find.numbers import DIGITS, TEENS, TENS
from narrate.find.spelled import LONG, Spelled, read_group
from narrate.find.talk import Reading, Talk, fill

LAKH = 100_000
FAR = 5000
"""From here on a distance that is hardly told may be what stands on a clock."""


@dataclass(frozen=True, slots=True)
class Distance:
    """A distance on the clock, the token after it, and whether the thousands were left out or only meant."""

    value: Decimal
    end: int
    short: bool
    unit: str | None = None


def read_distance(talk: Talk, at: int) -> Distance | None:
    """A distance on the clock, thousands said or left out.

    "ninety eight six" is 98,600, "one forty two" 142,000, "one oh four five fifty" 104,550, "120k" 120,000.
    """
    read = _whole_distance(talk, at) or _grouped_distance(talk, at)
    if read is None:
        return None
    value, end, short = read.value, read.end, read.short
    if talk.word(end) == "k" and value < LONG:
        value, end, short = value * LONG, end + 1, False
    if talk.words[end : end + 2] == ("and", "change"):
        end += 2
    unit = None
    said = talk.unit(end)
    if said and said[0] in ("mi", "km"):
        unit, end = said
    elif talk.word(end) in ("k", "ks", "klicks", "kilometer"):
        unit, end = "km", end + 2 if talk.word(end + 1) == "'s" else end + 1
    if unit is None and short and read.value < LONG:
        value = read.value * LONG
    elif unit is not None and short:
        value = value if value >= LONG else read.value
    return Distance(value, end, short, unit)


def _whole_distance(talk: Talk, at: int) -> Distance | None:
    number = talk.number(at)
    if number is None:
        return None
    if talk.word(number.end) in ("lakh", "lakhs") and not talk.ends_at(number.end):
        rest = _whole_distance(talk, number.end + 1)
        value = number.value * LAKH + (rest.value if rest and rest.value < LAKH else 0)
        return Distance(value, rest.end if rest else number.end + 1, False)
    if not number.written:
        scaled = any(word in ("thousand", "grand") for word in talk.words[at : number.end])
        return Distance(number.value, number.end, False) if scaled else None
    following = talk.word(number.end)
    if number.value < LONG and following.isdecimal() and len(following) == 3 and not talk.ends_at(number.end):
        return Distance(number.value * LONG + int(following), number.end + 1, False)
    return Distance(number.value, number.end, number.value < LONG)


def _grouped_distance(talk: Talk, at: int) -> Distance | None:
    groups: list[str] = []
    end = at
    while end < len(talk.words) and not (groups and talk.ends_at(end)):
        group = read_group(talk, end)
        if group is None:
            break
        if talk.word(group.end) == "hundred" and not talk.ends_at(group.end):
            after = group.end + 2 if talk.word(group.end + 1) == "and" else group.end + 1
            rest = read_group(talk, after)
            hundreds = int(group.text) * 100 + (int(rest.text) if rest else 0)
            group = Spelled(str(hundreds), rest.end if rest else group.end + 1)
        groups.append(group.text)
        end = group.end
    digits = "".join(groups)
    if not digits or digits.startswith("0"):
        return None
    alone = len(groups) > 1 and len(groups[-1]) == 1 and (len(groups[-2]) > 1 or groups[-3:-2] == ["0"])
    if (alone and len(digits) in (3, 4)) or (len(digits) == 4 and "0" in groups):
        return Distance(Decimal(digits) * 100, end, True)
    return Distance(Decimal(digits), end, len(digits) <= 3) if len(digits) in (2, 3, 5, 6) else None


def odometer_named(talk: Talk, at: int) -> Reading | None:
    end = talk.phrase("heading_odometer", at)
    weak = None if end else talk.phrase("heading_odometer_at", at)
    if end is None and weak is None:
        return None
    start = fill(talk, end or weak or at)
    distance = read_distance(talk, start)
    if distance is None or (talk.ends_at(start) and talk.stops_at(start)):
        return None
    if weak and (distance.short or distance.value < FAR):
        return None
    if (distance.unit is None and talk.unit(distance.end)) or distance.value < 10:
        return None
    unit = distance.unit or _unit_in(talk, at, end or at)
    return replace(_distance_read(talk, distance, at), unit=unit)


def _unit_in(talk: Talk, first: int, end: int) -> str | None:
    """ "kilometres 88,000" says its unit before the number."""
    unit = talk.unit(first)
    return unit[0] if unit and unit[1] <= end and unit[0] in ("mi", "km") else None


def _distance_read(talk: Talk, distance: Distance, first: int) -> Reading:
    after = talk.phrase("heading_odometer_after", distance.end) or talk.phrase("heading_odometer_on_it", distance.end)
    return Reading((("odometer", f"{distance.value:f}"),), first, after or distance.end, distance.unit)


def odometer_value(talk: Talk, at: int) -> Reading | None:
    distance = read_distance(talk, at)
    return _distance_read(talk, distance, at) if distance and distance.value >= LONG else None


def odometer_told(talk: Talk, at: int, *, listed: bool) -> Reading | None:
    """A distance told by what follows it, by its size with its unit, or by standing in a row of such values."""
    distance = read_distance(talk, at) if _may_count(talk.word(at)) else None
    if distance is None or (distance.value < LONG and not distance.short):
        return None
    after = None if talk.ends_at(distance.end) else talk.phrase("heading_not_after", distance.end)
    if talk.phrase_before("heading_not_before", at) is not None or after is not None:
        return None
    clock = talk.phrase("heading_odometer_after", distance.end)
    on_it = talk.phrase("heading_odometer_on_it", distance.end)
    far = distance.value >= FAR
    shortened = distance.short and distance.end - at > 1 and distance.value % LONG != 0
    told = (
        clock is not None
        or (on_it is not None and far and (shortened or not distance.short))
        or (distance.unit is not None and not distance.short and distance.value >= LONG)
        or (listed and far and not distance.short and talk.ends_at(at) and talk.ends_at(distance.end))
    )
    if not told or (distance.unit is None and talk.unit(distance.end)):
        return None
    return _distance_read(talk, distance, at)


def _may_count(word: str) -> bool:
    return word in DIGITS or word in TEENS or word in TENS or word in ("a", "hundred") or word[:1].isdecimal()
