"""What is spelled out at the start of a recording: numbers of jobs, plates, years.

Each reader takes the words from one token on and says what they spell and where that ends, or nothing.
"""

import re
from dataclasses import dataclass
from decimal import Decimal

from narrate.find.numbers import DIGITS, TEENS, TENS
from narrate.find.talk import Talk

TIMES = {"double": 2, "triple": 3, "treble": 3}
DASHES = ("dash", "hyphen")
LONG = 1000
"""From here on a number is said in thousands, and is no part of a plate or an order's number."""
YEARS = (1920, 2039)
_ALNUM = re.compile(r"^(?=.*\d)(?!\d+(?:st|nd|rd|th|s)$)[a-z0-9]+$")
_GROUPED = re.compile(r"^\d{1,3}(?:,\d{3})+$")


@dataclass(frozen=True, slots=True)
class Spelled:
    """What was spelled, and the token after it."""

    text: str
    end: int


def read_spelled(talk: Talk, at: int, *, longest: int, letters: bool) -> Spelled | None:
    """Letters and digits said one by one, in pairs or in one word: 5 5 1 2, forty four seventy one, AB12 CDE.

    Goes on over commas only where every single piece is followed by one.
    """
    text, end, commas, pieces = "", at, True, 0
    while end < len(talk.words):
        if pieces and talk.ends_at(end) and (talk.stops_at(end) or not (commas or (letters and _goes_on(talk, end)))):
            break
        commas = commas and (not pieces or (talk.ends_at(end) and not _goes_on(talk, end)))
        piece = _piece(talk, end, text, letters=letters)
        if piece is None or len(text.replace("-", "")) + len(piece.text) > longest:
            break
        if pieces == 1 and commas and (len(piece.text) > 1 or not talk.ends_at(piece.end)):
            break
        if text[-1:].isdigit() and talk.word(end).isdecimal() and len(talk.word(end - 1)) > 2 and piece.text != "-":
            # "order 5518 2 front tires": a number written whole is whole.
            break
        joint = "-" if pieces and text[-1] != "-" and piece.text != "-" and _hyphened(talk, end) else ""
        text, end, pieces = text + joint + piece.text, piece.end, pieces + 1
    while text.endswith("-"):
        text, end = text[:-1], end - 1
    return Spelled(text.upper(), end) if text else None


def _goes_on(talk: Talk, at: int) -> bool:
    """Whether spelling plainly goes on behind a comma: "delta one nine, uniform kilo papa"."""
    letters = talk.vocabulary.lexicon.letters
    return talk.word(at) in letters and talk.word(at + 1) in letters


def _hyphened(talk: Talk, at: int) -> bool:
    """Whether a token was written in one word with the one before: "JC-2093"."""
    tokens = talk.draft.tokens
    return tokens[at].first_word == tokens[at - 1].last_word and "-" in talk.raw[at]


def _piece(talk: Talk, at: int, before: str, *, letters: bool) -> Spelled | None:
    """One step of spelling: a letter, a digit, a pair, a whole written piece."""
    word = talk.word(at)
    joint = before and before[-1] != "-" and (word in DASHES or (word == "to" and "-" in talk.raw[at]))
    if joint:
        return Spelled("-", at + 1)
    if word in TIMES:
        again = _piece(talk, at + 1, before, letters=letters)
        return Spelled(again.text * TIMES[word], again.end) if again and len(again.text) == 1 else None
    if (word, talk.word(at + 1)) == ("x", "ray"):
        return Spelled("x", at + 2)
    spelled = talk.vocabulary.lexicon.letters.get(word)
    if spelled:
        return Spelled(spelled, at + 1)
    return _number_piece(talk, at, before) or _letter_piece(talk, at, before, letters=letters)


def _number_piece(talk: Talk, at: int, before: str) -> Spelled | None:
    word = talk.word(at)
    number = talk.number(at)
    if number and not number.written and before and number.value >= 100 and _scaled(talk, at, number.end):
        return None
    if number and before and _is_distance(talk, number.end, number.value):
        return None
    if number and not before and not number.written and number.value >= 100 and _scaled(talk, at, number.end):
        return Spelled(str(int(number.value)), number.end)
    if word == "o":
        return Spelled("o" if before[-1:].isalpha() else "0", at + 1)
    group = read_group(talk, at)
    if group:
        return group
    if _GROUPED.match(word):
        return None if before else Spelled(word.replace(",", ""), at + 1)
    if word.isdecimal():
        return None if before and len(word) > 4 else Spelled(word, at + 1)
    return Spelled(word, at + 1) if _ALNUM.match(word) else None


def _letter_piece(talk: Talk, at: int, before: str, *, letters: bool) -> Spelled | None:
    word = talk.word(at)
    if not (word.isalpha() and word.isascii()):
        return None
    raw = talk.raw[at]
    if len(word) == 1:
        likened = talk.word(at + 1) in ("for", "like", "as")
        named = at + 3 if talk.word(at + 2) == "in" else at + 2
        if likened and talk.word(named).startswith(word):
            return Spelled(word, named + 2 if (word, talk.word(named + 1)) == ("x", "ray") else named + 1)
        # An article is no letter: "AB12 CDE a blue van".
        article = word in ("a", "i") and not raw.isupper()
        if article and not (talk.ends_at(at + 1) or _spells(talk, at + 1)):
            return None
        return Spelled(word, at + 1)
    capitals = raw.strip(".,;:!?").isupper() and not talk.all_capitals
    numbered = _hyphened(talk, at + 1) if at + 1 < len(talk.words) else False
    strange = letters and word not in talk.vocabulary.explained
    fits = capitals and (letters or (not before and numbered))
    return Spelled(word, at + 1) if len(word) <= 4 and (fits or strange) else None


def _spells(talk: Talk, at: int) -> bool:
    word = talk.word(at)
    return len(word) == 1 or word in talk.vocabulary.lexicon.letters or word in DIGITS or word.isdecimal()


def _scaled(talk: Talk, first: int, end: int) -> bool:
    return any(word in ("hundred", "thousand") for word in talk.words[first:end])


def _is_distance(talk: Talk, end: int, value: Decimal) -> bool:
    """Whether the number before a token is the distance on the clock: enough of it, with its unit or "on the clock"."""
    unit = talk.unit(end)
    far = unit is not None and unit[0] in ("mi", "km") and value >= LONG
    return far or talk.phrase("heading_odometer_after", end) is not None


def read_group(talk: Talk, at: int) -> Spelled | None:
    """Digits of one spoken group below a hundred: seventy one -> 71, nineteen -> 19, oh -> 0."""
    word, following = talk.word(at), talk.word(at + 1)
    if word in DIGITS and word != "o":
        return Spelled(str(DIGITS[word]), at + 1)
    if word in TEENS:
        return Spelled(str(TEENS[word]), at + 1)
    if word in TENS:
        unit = DIGITS.get(following, 0) if following not in ("o", "oh") and not talk.ends_at(at + 1) else 0
        return Spelled(str(TENS[word] + unit), at + 2 if unit else at + 1)
    return None


def read_year(talk: Talk, at: int) -> Spelled | None:
    """The year a vehicle was built: twenty fourteen, 2014, nineteen ninety eight, '97, oh eight."""
    word = talk.word(at)
    if word == "'":
        return _short_year(talk.word(at + 1), at + 2)
    if word in ("oh", "o") and talk.word(at + 1) in DIGITS:
        return _short_year(f"0{DIGITS[talk.word(at + 1)]}", at + 2)
    if word.isdecimal() and len(word) == 2:
        return _short_year(word, at + 1)
    number = talk.number(at)
    if number and number.value == int(number.value) and YEARS[0] <= number.value <= YEARS[1]:
        return Spelled(str(int(number.value)), number.end)
    group = read_group(talk, at)
    if group and group.text in ("19", "20"):
        digit = DIGITS.get(talk.word(group.end + 1))
        if talk.word(group.end) in ("oh", "o") and digit is not None:
            return Spelled(f"{group.text}0{digit}", group.end + 2)
    return _short_year(group.text, group.end) if group and len(group.text) == 2 else None


def _short_year(text: str, end: int) -> Spelled | None:
    if not (text.isdecimal() and len(text) == 2):
        return None
    return Spelled(f"{'20' if int(text) <= YEARS[1] % 100 else '19'}{text}", end)
