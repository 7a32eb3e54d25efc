"""Numbers as they are spoken or written, exact: integers, decimals, fractions, and trade shorthand.

One function, `read_number`, reads the number that begins at a token, or nothing.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

DIGITS = {
    "zero": 0, "oh": 0, "o": 0, "nought": 0, "naught": 0, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5,
    "six": 6, "seven": 7, "eight": 8, "nine": 9,
}  # fmt: skip
TEENS = {
    "ten": 10, "eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15, "sixteen": 16,
    "seventeen": 17, "eighteen": 18, "nineteen": 19,
}  # fmt: skip
TENS = {
    "twenty": 20, "thirty": 30, "forty": 40, "fourty": 40, "fifty": 50, "sixty": 60, "seventy": 70, "eighty": 80,
    "ninety": 90,
}  # fmt: skip
EACH = {
    "ones": 1,
    "twos": 2,
    "threes": 3,
    "fours": 4,
    "fives": 5,
    "sixes": 6,
    "sevens": 7,
    "eights": 8,
    "nines": 9,
}
DENOMINATORS = {
    "half": 2, "halves": 2, "third": 3, "thirds": 3, "quarter": 4, "quarters": 4, "fourth": 4, "fourths": 4,
    "eighth": 8, "eighths": 8, "sixteenth": 16, "sixteenths": 16,
}  # fmt: skip
PARTED = ("a", "an", "of", "inch", "millimeter", "mil", "quart", "liter")
"""What stands after a fraction of something: half an inch, a quarter of, one half inch."""
SCALES = {"thousand": 1_000, "million": 1_000_000, "billion": 1_000_000_000, "trillion": 10**12}
POINTS = ("point", "comma", "dot")
NAMED_POINTS = frozenset({"boiling", "freezing", "freeze", "melting", "jacking", "lifting"})
"""Before "point", they make it the name of something: "boiling point one hundred sixty" is no decimal."""
_WRITTEN = re.compile(r"^\d{1,3}(?:,\d{3})+(?:\.\d+)?$|^\d+(?:\.\d+)?$|^\.\d+$")
_FRACTION = re.compile(r"^(\d+)/(\d+)$")


@dataclass(frozen=True, slots=True)
class Number:
    """A number and the token after it. `words` counts its spoken parts; `written` says digits were used."""

    value: Decimal
    end: int
    written: bool = False
    fraction: bool = False
    cents: bool = False
    """Read as a price: one fifty nine ninety five."""


_BEGIN = frozenset(
    {*DIGITS, *TEENS, *TENS, *EACH, *POINTS, "a", "an", "half", "quarter", "hundred", "thousand", "minus", "negative"}
    | {"for", "to", "too", "ate", "p", "b", "c", "u", "$", "£", "€"}
)


def may_begin(word: str) -> bool:
    """Whether a number, price or code can begin with this word: a quick look before the readers are asked."""
    return word in _BEGIN or word[:1].isdecimal() or any(letter.isdecimal() for letter in word[1:2])


def read_number(words: Sequence[str], at: int) -> Number | None:
    """The longest number that begins at token `at`.

    >>> read_number("twelve point four volts".split(), 0).value
    Decimal('12.4')
    >>> read_number("two eighty eight thousand miles".split(), 0).value
    Decimal('288000')
    """
    sign = 1
    start = at
    if _word(words, at) in ("minus", "negative") and at + 1 < len(words):
        sign, at = -1, at + 1
    number = _written(words, at) or _fraction_alone(words, at) or _spoken(words, at)
    if number is None or (sign < 0 and number.end == start):
        return None
    return Number(sign * number.value, number.end, number.written, number.fraction, number.cents)


def _word(words: Sequence[str], at: int) -> str:
    return words[at] if 0 <= at < len(words) else ""


def _written(words: Sequence[str], at: int) -> Number | None:
    text = _word(words, at)
    fraction = _FRACTION.match(text)
    if fraction and int(fraction[2]) in (2, 4, 8, 16, 64):
        return Number(Decimal(fraction[1]) / Decimal(fraction[2]), at + 1, True, True)
    if not _WRITTEN.match(text):
        return None
    value = Decimal(text.replace(",", ""))
    end = at + 1
    scale = SCALES.get(_word(words, end))
    if scale:
        return Number(value * scale, end + 1, True)
    added = _added_fraction(words, end)
    if added:
        return Number(value + added[0], added[1], True, True)
    glued = _FRACTION.match(_word(words, end))
    if glued and int(glued[2]) in (2, 4, 8, 16) and value == int(value):
        return Number(value + Decimal(glued[1]) / Decimal(glued[2]), end + 1, True, True)
    return Number(value, end, True)


def _fraction_alone(words: Sequence[str], at: int) -> Number | None:
    """half a …, a quarter, an eighth of, three quarters, five sixteenths."""
    first, second = _word(words, at), _word(words, at + 1)
    if first in ("half", "quarter") and second in PARTED:
        end = at + 2 if second in ("a", "an") else at + 1
        return Number(Decimal(1) / DENOMINATORS[first], end, fraction=True)
    if first in ("a", "an") and second in DENOMINATORS and second not in ("third", "fourth"):
        end = at + 2
        if _word(words, end) == "of" and _word(words, end + 1) in ("an", "a"):
            end += 2
        return Number(Decimal(1) / DENOMINATORS[second], end, fraction=True)
    top = DIGITS.get(first) or TEENS.get(first)
    # "One half shaft" and "one fourth gear" name things; "one half inch" is a length.
    if second in ("half", "fourth") and not (top == 1 and _word(words, at + 2) in PARTED):
        return None
    if top and second in DENOMINATORS and DENOMINATORS[second] != 3:
        end = at + 2
        if _word(words, end) == "of" and _word(words, end + 1) in ("an", "a"):
            end += 2
        return Number(Decimal(top) / DENOMINATORS[second], end, fraction=True)
    return None


def _added_fraction(words: Sequence[str], at: int) -> tuple[Decimal, int] | None:
    """… and a half, and a quarter, and three quarters, and an eighth."""
    if _word(words, at) not in ("and", "an"):
        return None
    after = at + 1
    if _word(words, after) in ("a", "an"):
        after += 1
    top = 1
    if _word(words, after) in DIGITS and _word(words, after + 1) in DENOMINATORS:
        top, after = DIGITS[_word(words, after)], after + 1
    bottom = DENOMINATORS.get(_word(words, after))
    if not bottom or not top:
        return None
    value = Decimal(top) / bottom
    return (value, after + 1) if bottom != 3 else None


def _below_hundred(words: Sequence[str], at: int) -> tuple[int, int] | None:
    """0 to 99 and the token after; "thirty" of "thirty seconds" is a unit and no number."""
    word = _word(words, at)
    if word in DIGITS and word not in ("o",):
        return DIGITS[word], at + 1
    if word in TEENS:
        return TEENS[word], at + 1
    if word in TENS:
        following = _word(words, at + 1)
        if following in DIGITS and DIGITS[following] and following != "o":
            return TENS[word] + DIGITS[following], at + 2
        return TENS[word], at + 1
    return None


def _in_thirds(words: Sequence[str], at: int) -> bool:
    """Whether the number before counts thirds: "two thirds worn" is no two, and has no exact decimal."""
    if _word(words, at + 1) in ("second", "seconds"):
        return False
    return _word(words, at) == "thirds" or (_word(words, at - 1), _word(words, at)) == ("one", "third")


def _is_thirty_seconds(words: Sequence[str], at: int) -> bool:
    return _word(words, at) == "thirty" and _word(words, at + 1) in ("second", "seconds")


def _spoken(words: Sequence[str], at: int) -> Number | None:
    if _word(words, at) in POINTS and _word(words, at - 1) not in NAMED_POINTS:
        return _decimals(words, at, 0)
    if _word(words, at) in EACH:
        return Number(Decimal(EACH[_word(words, at)]), at + 1)
    whole = _integer(words, at)
    if whole is None or _in_thirds(words, whole[1]):
        return None
    value, end, cents = whole
    if cents is not None:
        return Number(Decimal(value) + Decimal(cents) / 100, end, cents=True)
    if _word(words, end) in POINTS:
        return _decimals(words, end, value) or Number(Decimal(value), end)
    added = _added_fraction(words, end)
    if added:
        return Number(value + added[0], added[1], fraction=True)
    return Number(Decimal(value), end)


def _integer(words: Sequence[str], at: int) -> tuple[int, int, int | None] | None:
    """(value, end, cents): a hundred and ten, two eighty, ninety eight thousand four hundred, one fifty nine …"""
    if _word(words, at) in ("a", "hundred", "thousand"):
        start = at + 1 if _word(words, at) == "a" else at
        if _word(words, start) not in ("hundred", "thousand", "grand"):
            return None
        first, end = 1, start
    else:
        small = _below_hundred(words, at)
        if small is None:
            return None
        first, end = small
    value, end, cents = _hundreds(words, first, end)
    scale = SCALES.get(_word(words, end)) or (1000 if _word(words, end) == "grand" else None)
    while scale:
        value, end = value * scale, end + 1
        after = end + 1 if _word(words, end) == "and" else end
        rest = _integer(words, after) if _below_hundred(words, after) or _word(words, after) == "a" else None
        if rest and rest[0] < scale and not _is_thirty_seconds(words, after):
            return value + rest[0], rest[1], None
        scale = SCALES.get(_word(words, end))
        cents = None
    return value, end, cents


def _hundreds(words: Sequence[str], first: int, end: int) -> tuple[int, int, int | None]:
    """What may follow the first one or two digits: hundred (and …), or two more digits said as a pair."""
    if _word(words, end) == "hundred":
        value, end = first * 100, end + 1
        after = end + 1 if _word(words, end) == "and" else end
        rest = None if _is_thirty_seconds(words, after) else _below_hundred(words, after)
        return (value + rest[0], rest[1], None) if rest else (value, end, None)
    if not first or _is_thirty_seconds(words, end):
        return first, end, None
    pair = _pair(words, end)
    if pair is None:
        return first, end, None
    value, end = first * 100 + pair[0], pair[1]
    second = None if _is_thirty_seconds(words, end) else _pair(words, end)
    if second and _word(words, end) not in ("oh", "zero") and value < 1000:
        return value, second[1], second[0]
    return value, end, None


def _pair(words: Sequence[str], at: int) -> tuple[int, int] | None:
    """Two digits said as one group: eighty, fifty nine, fifteen, oh five."""
    word = _word(words, at)
    if word in ("oh", "zero", "o") and _word(words, at + 1) in DIGITS:
        return DIGITS[_word(words, at + 1)], at + 2
    if word in TEENS or word in TENS:
        return _below_hundred(words, at)
    return None


def _decimals(words: Sequence[str], at: int, whole: int) -> Number | None:
    """The digits after `point`: one by one, or as a pair (point eighteen, point twenty five)."""
    end = at + 1
    digits = ""
    if _word(words, end) in TEENS or _word(words, end) in TENS:
        pair = _below_hundred(words, end)
        if pair is not None and not _is_thirty_seconds(words, end):
            digits, end = f"{pair[0]:02d}", pair[1]
    else:
        while _word(words, end) in DIGITS:
            digits += str(DIGITS[_word(words, end)])
            end += 1
        if _WRITTEN.match(_word(words, end)) and not digits and _word(words, end).isdecimal():
            digits, end = _word(words, end), end + 1
    if not digits:
        return None
    scale = SCALES.get(_word(words, end))
    value = Decimal(f"{whole}.{digits}")
    return Number(value * scale, end + 1) if scale else Number(value, end)
