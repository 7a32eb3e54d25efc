"""Stage 5: numbers with their units, prices, fault codes, and numbers that measure nothing.

Precision first: a number whose meaning is not plain stays `bare` and counts only if its part says the unit.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from narrate.find.draft import Amount, Draft, Mention
from narrate.find.numbers import DIGITS, TEENS, TENS, Number, read_number
from narrate.find.prices import read_price
from narrate.find.vocabulary import Vocabulary

POUNDS = ("pound", "pounds")
"""Of a tire pressure; of anything else, money."""
TIME_UNITS = frozenset({"s", "min", "h", "mph", "km/h"})
_GLUED_32NDS = re.compile(r"^(\d{1,2}?)/?32n?d?s?$")
_TREAD_SECONDS = re.compile(r"^(\d{1,2})[.\-]?30$")
_CODE = re.compile(r"^[pbcu][0-3][0-9a-f]{3}$")
_QUIET_NEXT = frozenset(
    "poster doors door owners people hours hour minutes minute weeks week days day o'clock am pm times time "
    "years-old percenters wheel wheels corners people bolts stud studs cylinder cylinders th st nd rd speed "
    "liter-engine pages keys".split()
)
_TREAD = frozenset({"tire", "spare_tire", "tread"})
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

    def tread_spoken_of(self, at: int) -> bool:
        """Whether the nearest part named before or just after is one that is measured in thirty-seconds."""
        for distance in range(TREAD_REACH):
            for place in (at - distance, at + distance) if distance <= 4 else (at - distance,):
                named = self.starts.get(place)
                if named and named.family == "component":
                    return named.key in _TREAD
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
        read = _code(reader, at) or _amount(reader, at)
        if read is None:
            at += 1
            continue
        because = tuple(f"t{number}" for number in range(read.first, read.last + 1))
        amounts.append(replace(read, id=f"a{len(amounts)}", because=because))
        at = read.last + 1
    return replace(draft, amounts=tuple(_with_limits(amounts)), mentions=tuple(_outside(draft.mentions, amounts)))


def _code(reader: _Reader, at: int) -> Amount | None:
    """P, B, C or U and four hexadecimal digits, in one word or spelled out: p zero three oh one."""
    words = reader.words
    if _CODE.match(words[at]):
        return _code_amount(words[at], at, at)
    if words[at] not in ("p", "b", "c", "u"):
        return None
    digits, end = "", at + 1
    while end < len(words) and len(digits) < 4:
        word = words[end]
        if word in DIGITS:
            digits += str(DIGITS[word])
        elif word in TEENS:
            digits += str(TEENS[word])
        elif word in TENS:
            follows = words[end + 1] if end + 1 < len(words) else ""
            unit = DIGITS.get(follows, 0)
            digits += str(TENS[word] + unit)
            end += 1 if unit else 0
        elif word == "hundred" and digits:
            digits += "00"
        elif re.fullmatch(r"[0-9a-f]{1,4}", word) and (word.isdecimal() or len(word) == 1):
            digits += word
        else:
            break
        end += 1
    if len(digits) == 4 and digits[0] in "0123":
        return _code_amount(words[at] + digits, at, end - 1)
    return None


def _code_amount(text: str, first: int, last: int) -> Amount:
    return Amount("", first, last, Decimal(0), None, None, "code", text=text.upper(), why="fault code")


def _amount(reader: _Reader, at: int) -> Amount | None:
    words = reader.words
    tread = _tread_depth(reader, at)
    if tread:
        return tread
    price = read_price(words, at)
    if price and not (words[price.end - 1] in POUNDS and reader.tread_spoken_of(at)):
        return Amount("", at, price.end - 1, price.value, None, price.currency, "price", why="its currency is said")
    number = read_number(words, at)
    if number is None:
        return None
    high, end = _range_end(words, number)
    unit, scale, end = _unit(reader, end, number.written)
    about = reader.cue_before(at, "approximate", 2) is not None or words[end : end + 3] == (
        "and",
        "a",
        "bit",
    )
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


def _range_end(words: Sequence[str], number: Number) -> tuple[Decimal | None, int]:
    """The upper end of "five to six", "two or three", "5-6", if it is above the lower."""
    end = number.end
    if end + 1 < len(words) and words[end] in ("to", "or"):
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
    elif following in ("seconds", "second") and reader.tread_spoken_of(at):
        joined = _TREAD_SECONDS.match(word)
        if joined and 0 < int(joined[1]) <= 20:
            value, end = joined[1], at + 1
    elif (
        word in ("for", "to", "too", "ate")
        and (following == "30" or following == "thirty")
        and words[at + 2 : at + 3] in (("seconds",), ("second",))
        and reader.tread_spoken_of(at)
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
    if reader.cue_before(start, "not_measure", 1):
        return "quiet", None, "numbers a thing and measures nothing", end
    if end - start == 1 and words[start] in ("one", "ones", "oh", "zero", "a") and number.value <= 1:
        return "nothing", None, "", end
    if following in _QUIET_NEXT or _counts(reader, end, number):
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
    if reader.cue_before(start, "money_context", 3):
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
