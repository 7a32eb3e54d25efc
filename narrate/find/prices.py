"""Prices that say they are prices: a currency sign or word, with cents or pence behind it."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from narrate.find.numbers import read_number

BEFORE = {"$": "USD", "£": "GBP", "€": "EUR"}
AFTER = {
    "dollar": "USD", "dollars": "USD", "buck": "USD", "bucks": "USD", "quid": "GBP", "pound": "GBP",
    "pounds": "GBP", "euro": "EUR", "euros": "EUR", "rand": "ZAR", "rupees": "INR",
}  # fmt: skip
HUNDREDTHS = {"cent": "USD", "cents": "USD", "pence": "GBP"}


@dataclass(frozen=True, slots=True)
class Price:
    """An amount of money, its ISO 4217 currency, and the token after it."""

    value: Decimal
    currency: str
    end: int


def read_price(words: Sequence[str], at: int) -> Price | None:
    """The price that begins at a token, if the words say it is one.

    >>> read_price("eleven dollars and fifty one cents".split(), 0)
    Price(value=Decimal('11.51'), currency='USD', end=6)
    """
    sign = BEFORE.get(words[at])
    number = read_number(words, at + 1 if sign else at) if at + bool(sign) < len(words) else None
    if number is None:
        return None
    if sign:
        return Price(number.value, sign, number.end)
    following = words[number.end] if number.end < len(words) else ""
    if following in HUNDREDTHS:
        return Price(number.value / 100, HUNDREDTHS[following], number.end + 1)
    if following not in AFTER:
        return None
    whole = Price(number.value, AFTER[following], number.end + 1)
    rest = whole.end + 1 if list(words[whole.end : whole.end + 1]) == ["and"] else whole.end
    small = read_number(words, rest) if rest < len(words) else None
    if small and small.end < len(words) and words[small.end] in HUNDREDTHS and small.value < 100:
        return Price(whole.value + small.value / 100, whole.currency, small.end + 1)
    return whole
