"""Stage 6: numbers with their units, prices, fault codes, and numbers that measure nothing.

Precision first: a number whose meaning is not plain stays `bare` and counts only if its part says the unit.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from narrate.find.codes import read_code
from narrate.find.draft import Amount, Draft, Mention
from narrate.find.numbers import Number, may_begin, read_number
from narrate.find.prices import read_price
from narrate.find.vocabulary import Vocabulary

OPTIONS = tuple(
    f"part_{option}" for option in ("new", "used", "rebuilt", "reconditioned", "original_maker", "other_maker")
)
OR_SO = (("and", "a", "bit"), ("or", "so"), ("give", "or", "take"))
POUNDS = ("pound", "pounds")
"""Of a tire pressure; of anything else, money."""
TIME_UNITS = frozenset({"s", "min", "h", "mph", "km/h"})
_GLUED_32NDS = re.compile(r"^(\d{1,2}?)/?32n?d?s?$")
_TREAD_SECONDS = re.compile(r"^(\d{1,2})[.\-]?30$")
_TREAD = frozenset({"tire", "spare_tire", "tread"})
_TIRES = _TREAD | {"tire_pressure"}
MOST_PSI = 150
"""Pounds of a tire above this are money."""
TREAD_REACH = 30


@dataclass(frozen=True, slots=True)
class _Reader:
    """What the readers of one draft share."""

    words: tuple[str, ...]
    draft: Draft
    vocabulary: Vocabulary
    cues: dict[int, tuple[Mention, ...]]
    starts: dict[int, Mention]
    """Components and places by the token they begin at."""

    def cue_before(self, at: int, key: str, reach: int) -> Mention | None:
        """A cue of this kind that ends at most `reach` tokens before token `at`."""
        for end in range(at - 1, max(-1, at - 1 - reach), -1):
            for cue in self.cues.get(end, ()):
                if cue.key == key:
                    return cue
        return None

    def speaks_of(self, at: int, parts: frozenset[str]) -> bool:
        """Whether the nearest part named before or just after is one of these."""
        for distance in range(TREAD_REACH):
            for place in (at - distance, at + distance) if distance <= 4 else (at - distance,):
                named = self.starts.get(place)
                if named and named.family == "component":
                    return named.key in parts
        return False


def find_amounts(draft: Draft, vocabulary: Vocabulary) -> Draft:
    """Read every number once, left to right; then tie spoken limits to the value they limit."""
    cues: dict[int, tuple[Mention, ...]] = {}
    for mention in draft.mentions:
        if mention.family == "cue":
            cues[mention.last] = (*cues.get(mention.last, ()), mention)
    reader = _Reader(
        words=tuple(token.text for token in draft.tokens),
        draft=draft,
        vocabulary=vocabulary,
        cues=cues,
        starts={m.first: m for m in draft.mentions if m.family in ("component", "location")},
    )
    amounts: list[Amount] = []
    at = 0
    named = {
        number: m.last
        for m in draft.mentions
        if m.family in ("component", "action") and m.last > m.first
        for number in range(m.first, m.last + 1)
    }
    while at < len(reader.words):
        if at in named:
            # "twelve volt battery", "four wheel alignment": the number is part of a name.
            at = named[at] + 1
            continue
        if not may_begin(reader.words[at]):
            at += 1
            continue
        read = read_code(reader.words, at) or _amount(reader, at)
        if read is None:
            at += 1
            continue
        because = tuple(f"t{number}" for number in range(read.first, read.last + 1))
        amounts.append(replace(read, id=f"a{len(amounts)}", because=because))
        at = read.last + 1
    return replace(draft, amounts=tuple(_with_limits(amounts)), mentions=tuple(_outside(draft.mentions, amounts)))


def _amount(reader: _Reader, at: int) -> Amount | None:
    words = reader.words
    tread = _tread_depth(reader, at)
    if tread:
        return tread
    price = read_price(words, at)
    if price and not (words[price.end - 1] in POUNDS and reader.speaks_of(at, _TIRES) and price.value < MOST_PSI):
        return Amount("", at, price.end - 1, price.value, None, price.currency, "price", why="its currency is said")
    number = read_number(words, at)
    if number is None:
        return None
    high, end = _range_end(words, at, number)
    unit, scale, end = _unit(reader, end, number.written)
    if unit and high is None and words[end : end + 1] == ("to",):
        high, end = _second_end(reader, end, number, unit)
    about = reader.cue_before(at, "approximate", 2) is not None or any(words[end : end + len(s)] == s for s in OR_SO)
    kind, unit, why, end = _kind(reader, at, end, number, unit)
    if kind == "nothing":
        return None
    return Amount(
        id="",
        first=at,
        last=end - 1,
        value=number.value * scale if scale != 1 else number.value,
        high=high * scale if high is not None else None,
        unit=unit,
        kind=kind,
        about=about,
        why=why,
    )


def _second_end(reader: _Reader, at: int, number: Number, unit: str) -> tuple[Decimal | None, int]:
    """The upper end where both have their unit: 3 mm to 4 mm."""
    high = read_number(reader.words, at + 1) if at + 1 < len(reader.words) else None
    same, scale, end = _unit(reader, high.end, high.written) if high else (None, Decimal(1), at)
    return (high.value * scale, end) if high and same == unit and high.value > number.value else (None, at)


def _range_end(words: Sequence[str], at: int, number: Number) -> tuple[Decimal | None, int]:
    """The upper end of "five to six", "two or three", "between 3 and 4", "5-6", if it is above the lower."""
    end = number.end
    joints = ("to", "or", "and") if at and words[at - 1] == "between" else ("to", "or")
    if end + 1 < len(words) and words[end] in joints:
        high = read_number(words, end + 1)
        if high and high.value > number.value and not high.cents and high.value < max(number.value * 4, Decimal(12)):
            return high.value, high.end
    return None, end


def _unit(reader: _Reader, at: int, written: bool) -> tuple[str | None, Decimal, int]:
    """The unit that stands at a token: (symbol, scale, token after), the longest wording first."""
    for length in range(4, 0, -1):
        words = reader.words[at : at + length]
        if len(words) < length:
            continue
        unit = reader.vocabulary.units.get(words)
        # One letter, or "in", is a unit only behind digits: "a" after a spoken number is an article.
        if unit and (written or len(words[0]) > 1) and (words != ("in",) or written):
            entry = reader.vocabulary.lexicon.units[unit]
            return entry.symbol, entry.scale, at + length
    return None, Decimal(1), at


def _tread_depth(reader: _Reader, at: int) -> Amount | None:
    """Thirty-seconds of an inch as recognisers write them: 4/32, 432nds, 430 seconds, for 30 seconds."""
    words = reader.words
    word, following = words[at], words[at + 1] if at + 1 < len(words) else ""
    value, end = None, at
    glued = _GLUED_32NDS.match(word)
    if glued and (not word.isdecimal()) and glued[1]:
        value, end = glued[1], at
    elif following in ("seconds", "second") and reader.speaks_of(at, _TREAD):
        joined = _TREAD_SECONDS.match(word)
        if joined and 0 < int(joined[1]) <= 20:
            value, end = joined[1], at + 1
    elif (
        word in ("for", "to", "too", "ate")
        and (following == "30" or following == "thirty")
        and words[at + 2 : at + 3] in (("seconds",), ("second",))
        and reader.speaks_of(at, _TREAD)
    ):
        value, end = {"for": "4", "to": "2", "too": "2", "ate": "8"}[word], at + 2
    elif word.isdecimal() and int(word) <= 20 and following == "over" and words[at + 2 : at + 3] in (("32",),):
        value, end = word, at + 2
    if value is None:
        return None
    return Amount("", at, end, Decimal(value), None, "1/32in", "measure", why="tread depth as recognisers write it")


def _kind(reader: _Reader, start: int, end: int, number: Number, unit: str | None) -> tuple[str, str | None, str, int]:
    """(kind, unit, why, token after)."""
    words = reader.words
    following = words[end] if end < len(words) else ""
    if following in POUNDS:
        return "measure", "psi", "pounds of a tire", end + 1
    if number.cents:
        return "price", None, "said like a price", end
    if unit in TIME_UNITS:
        return "quiet", unit, "time or speed measures no part", end
    if reader.cue_before(start, "limit", 3) and unit != "l":
        return "limit", unit, "a limit is named before it", end
    if unit:
        return "measure", unit, "unit said", end
    if reader.cue_before(start, "not_measure", 1) or words[max(0, start - 1)] in ("all", "both"):
        return "quiet", None, "numbers a thing and measures nothing", end
    if end - start == 1 and words[start] in ("one", "ones", "oh", "zero", "a") and number.value <= 1:
        return "nothing", None, "", end
    if following in reader.vocabulary.cue_words["counted"] or _counts(reader, end, number):
        return "quiet", None, "counts things", end
    if _money_near(reader, start, end) and number.value >= 5:
        return "price", None, "money is spoken of", end
    return "bare", None, "no unit said", end


def _counts(reader: _Reader, end: int, number: Number) -> bool:
    """A small whole number right before a part, or before a place and a part, counts it: two front tires."""
    if number.value > 12 or number.value != int(number.value):
        return False
    following = reader.starts.get(end)
    if following and following.family == "location":
        following = reader.starts.get(following.last + 1)
    return following is not None and following.family == "component"


def _money_near(reader: _Reader, start: int, end: int) -> bool:
    # "a rebuilt one is one forty": an option with a number has a price.
    if reader.cue_before(start, "money_context", 3) or any(reader.cue_before(start, o, 4) for o in OPTIONS):
        return True
    for last in range(end, end + 5):
        for cue in reader.cues.get(last, ()):
            if cue.key == "money_context" and end <= cue.first <= end + 2:
                return True
    return False


def _with_limits(amounts: list[Amount]) -> list[Amount]:
    """A limit spoken after (or just before) a value limits that value."""
    tied = list(amounts)
    for number, limit in enumerate(amounts):
        if limit.kind != "limit":
            continue
        for other in (*range(number - 1, max(-1, number - 3), -1), number + 1):
            if not 0 <= other < len(tied) or tied[other].kind not in ("measure", "bare"):
                continue
            value = tied[other]
            if abs(value.first - limit.first) <= 14 and (limit.unit in (None, value.unit) or value.unit is None):
                tied[other] = replace(
                    value,
                    limit=limit.value,
                    unit=value.unit or limit.unit,
                    kind="measure" if value.unit or limit.unit else value.kind,
                )
                break
    return tied


def _outside(mentions: tuple[Mention, ...], amounts: list[Amount]) -> list[Mention]:
    """Mentions that are not made of an amount's own words (the unit words, "for", a pronoun "one")."""
    inside = {number for amount in amounts if amount.kind != "bare" for number in range(amount.first, amount.last + 1)}
    return [m for m in mentions if not inside.issuperset(range(m.first, m.last + 1))]
