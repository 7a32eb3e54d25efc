"""Year, make and model of a vehicle, as they are said: "twenty fourteen Ford Focus", "an oh eight Corolla"."""

import re
from collections import defaultdict
from dataclasses import dataclass
from functools import lru_cache

from narrate.find.spelled import Spelled, read_year
from narrate.find.talk import Talk
from narrate.words.lexicon import Lexicon
from narrate.words.phrases import phrase_words

LONGEST_MODEL = 4
"""In tokens: Town and Country, F one fifty."""
SHORTEST_ALONE = 4
"""Letters of a model's name from which it is believed without its make or a year."""
ARTICLES = ("a", "an", "the", "this", "our", "his", "her", "my", "old", "'")
BEFORE_A_NAME = ("is", "'s", "it's", "on", "plate", "got", "with")
NO_LETTERS = ("a", "i", "to", "for")
"""Small words that begin no model's name: "a four", "i twenty"; written in one word they do."""
SHORT = ("'", "oh", "o")
"""What a year without its century begins with: '97, oh eight."""
_NOT_KEY = re.compile(r"[^a-z0-9]")


@dataclass(frozen=True, slots=True)
class Named:
    """Make and model, as they are written, and the token after."""

    make: str | None
    model: str | None
    end: int


@dataclass(frozen=True, slots=True)
class _Names:
    """By what is said: makes by their words, models by their letters and digits run together."""

    makes: dict[tuple[str, ...], str]
    models: dict[str, dict[str, str]]
    """Letters and digits of a model -> id of each make that has it -> how it is written."""


@lru_cache(maxsize=4)
def _names(lexicon: Lexicon) -> _Names:
    makes: dict[tuple[str, ...], str] = {}
    models: dict[str, dict[str, str]] = defaultdict(dict)
    for key, make in lexicon.makes.items():
        for said in (make.name, *make.aliases):
            makes[phrase_words(said, lexicon.spelling)] = key
        for model in make.models:
            models[_NOT_KEY.sub("", model.lower())][key] = model
    return _Names(makes, dict(models))


def read_vehicle(talk: Talk, at: int) -> tuple[dict[str, str], int] | None:
    """Year, make and model that begin at a token, whichever are said, and the token after."""
    told = talk.phrase("heading_year", at)
    if told is not None:
        while talk.phrase("heading_number", told):
            told = talk.phrase("heading_number", told) or told
        year = _long_year(talk, told)
        return ({"year": year.text}, year.end) if year else None
    year = read_year(talk, at)
    if year:
        return _with_year(talk, at, year)
    named = read_name(talk, at)
    if named is None:
        return None
    values = _values(named)
    after = _year_after(talk, named.end)
    return (values | {"year": after.text}, after.end) if after else (values, named.end)


def _with_year(talk: Talk, at: int, year: Spelled) -> tuple[dict[str, str], int] | None:
    if talk.ends_at(year.end):
        return None
    long = _long_year(talk, at) is not None
    # "twenty fourteen silver Focus": a colour may stand between.
    for start in (year.end, year.end + 1) if long and not talk.ends_at(year.end + 1) else (year.end,):
        named = read_name(talk, start, dated=long or talk.word(at) in SHORT)
        if named:
            return _values(named) | {"year": year.text}, named.end
    certain = long or talk.word(at) in SHORT or talk.word(at - 1) in ARTICLES
    body = talk.phrase("heading_body", year.end) or (talk.phrase("heading_body", year.end + 1) if long else None)
    model = long and talk.word(year.end) == "model"
    if (certain and body) or model:
        return {"year": year.text}, body or year.end + 1
    return None


def _long_year(talk: Talk, at: int) -> Spelled | None:
    """A year said whole, century included."""
    year = read_year(talk, at)
    short = talk.word(at) in SHORT or (talk.word(at).isdecimal() and len(talk.word(at)) == 2)
    if year is None or short or (year.end - at == 1 and not talk.word(at).isdecimal()):
        return None
    number = talk.number(at)
    return year if talk.word(at) in ("19", "20", "nineteen", "twenty", "two") or (number and number.written) else None


def _year_after(talk: Talk, at: int) -> Spelled | None:
    """A year right behind the name: "Focus, 2014", "Octavia year two thousand twelve"."""
    if talk.stops_at(at):
        return None
    told = talk.phrase("heading_year", at) or talk.phrase("heading_year_after", at)
    year = _long_year(talk, told or at)
    far = year is not None and not talk.ends_at(year.end) and talk.unit(year.end) is not None
    if year is None or far:
        return None
    return Spelled(year.text, year.end + 1) if talk.word(year.end) == "model" else year


def _values(named: Named) -> dict[str, str]:
    return {name: value for name, value in (("make", named.make), ("model", named.model)) if value}


def read_name(talk: Talk, at: int, *, dated: bool = False, awaited: bool = False) -> Named | None:
    """A make with or without its model, or a model that can be nothing else.

    `dated` if its year stands before, `awaited` if a vehicle must follow by what was said before.
    """
    names = _names(talk.vocabulary.lexicon)
    for length in (3, 2, 1):
        key = names.makes.get(talk.words[at : at + length]) if at + length <= len(talk.words) else None
        if key is None:
            continue
        make = talk.vocabulary.lexicon.makes[key]
        model = None if talk.ends_at(at + length) else _model(talk, at + length, key)
        if model:
            return Named(make.name, model[0], model[1])
        alone = dated or (not make.everyday and _is_name(talk, at, at + length))
        return Named(make.name, None, at + length) if alone else None
    return _model_alone(talk, at, dated=dated, awaited=awaited)


def _model(talk: Talk, at: int, make: str) -> tuple[str, int] | None:
    models = _names(talk.vocabulary.lexicon).models
    for key, end in reversed(_keys(talk, at)):
        if make in models.get(key, {}):
            return models[key][make], end
    return None


def _model_alone(talk: Talk, at: int, *, dated: bool, awaited: bool) -> Named | None:
    lexicon = talk.vocabulary.lexicon
    models = _names(lexicon).models
    for key, end in reversed(_keys(talk, at)):
        makers = models.get(key)
        if makers is None or key.isdecimal():
            continue
        words = talk.words[at:end]
        mixed = any(c.isdigit() for c in key) and words[0].isalnum() and words[0] not in NO_LETTERS and len(key) >= 3
        everyday = any(w in talk.vocabulary.explained for w in words)
        written = talk.raw[at][:1].isupper() and not talk.stops_at(at)
        strange = len(key) >= SHORTEST_ALONE and (written or not everyday)
        sure = strange and words[0] not in lexicon.letters and _is_name(talk, at, end)
        sure = sure and (awaited or _introduced(talk, at))
        if dated or mixed or sure:
            # Some makers sell one model under one name each: then the make stays open.
            only = next(iter(makers)) if len(makers) == 1 else None
            return Named(lexicon.makes[only].name if only else None, next(iter(makers.values())), end)
    return None


def _is_name(talk: Talk, at: int, end: int) -> bool:
    """Whether a make or model by itself is meant as a name: "through the ford again" and "kia ora" are none."""
    if talk.capitals:
        return talk.raw[at][:1].isupper()
    kind = talk.phrase("heading_body", end) is not None
    goes_on = not talk.ends_at(end) and talk.word(end) not in talk.vocabulary.explained
    return kind or not (goes_on or talk.word(at) in talk.vocabulary.lexicon.everyday)


def _introduced(talk: Talk, at: int) -> bool:
    """Whether what stands before a name lets a vehicle follow."""
    return at == 0 or talk.word(at - 1) in (*ARTICLES, *BEFORE_A_NAME) or talk.stops_at(at)


def _keys(talk: Talk, at: int) -> list[tuple[str, int]]:
    """Letters and digits of the next one, two, … words run together, spoken numbers as digits."""
    keys: list[tuple[str, int]] = []
    text, end = "", at
    while end < min(at + LONGEST_MODEL, len(talk.words)) and not (text and talk.ends_at(end)):
        number = talk.number(end)
        if number and number.value == int(number.value) and not talk.words[end].startswith("a"):
            text, end = text + str(int(number.value)), number.end
        else:
            text, end = text + _NOT_KEY.sub("", talk.words[end]), end + 1
        keys.append((text, end))
    return keys
