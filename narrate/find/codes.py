"""Fault codes, in one word or spelled out."""

import re
from collections.abc import Sequence
from decimal import Decimal

from narrate.find.draft import Amount
from narrate.find.numbers import DIGITS, TEENS, TENS

_CODE = re.compile(r"^[pbcu][0-3][0-9a-f]{3}$")
_BEGUN = re.compile(r"^([pbcu])([0-3]\d{0,2})$")


def read_code(words: Sequence[str], at: int) -> Amount | None:
    """P, B, C or U and four hexadecimal digits, in one word or spelled out: p zero three oh one."""
    if _CODE.match(words[at]):
        return _code_amount(words[at], at, at)
    begun = _BEGUN.match(words[at])
    if not begun and words[at] not in ("p", "b", "c", "u"):
        return None
    letter, digits = (begun[1], begun[2]) if begun else (words[at], "")
    end = at + 1
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
        return _code_amount(letter + digits, at, end - 1)
    return None


def _code_amount(text: str, first: int, last: int) -> Amount:
    return Amount("", first, last, Decimal(0), None, None, "code", text=text.upper(), why="fault code")
