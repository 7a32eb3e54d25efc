"""What to ask back while the technician is still at the car: only what matters and is unsure."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from narrate.judge.spoken import SIDES, UNITS, say_part, say_places
from narrate.records.recording import Word
from narrate.records.walkaround import Finding, Measurement, Verdict
from narrate.words.conversion import convertible, in_unit
from narrate.words.lexicon import Lexicon
from narrate.words.phrases import phrase_words

MATTERS = ("fault", "work")
"""Findings of which the side is asked: what is fine on one side is not worth a question."""
ORDER = ("front", "rear", "left", "right", "upper", "lower", "inner", "outer")
WHOLE = ("both", "all")
IDLE = frozenset(
    "it its 's is that the a on one ones side i mean said say yes yeah yep no uh um er okay ok so just think "
    "in at of for please there".split()
)
"""Words that an answer may hold and that answer nothing."""
FINE = ("okay", "ok", "fine", "good", "all good", "no fault", "passes", "pass")
FAULTY = ("fault", "bad", "a fault", "no good", "not good", "not okay", "needs work", "fails", "fail", "faulty")
PUNCTUATION = ' .,;:!?…()[]"“”'

Field = Literal["location", "status", "unit"]


@dataclass(frozen=True, slots=True)
class Question:
    """One thing to ask back about a finding."""

    finding: str
    """Its id."""
    field: Field
    text: str
    """A few words, to be said."""
    answers: tuple[str, ...]
    """Values to choose from by touch. A location may be answered by others too: `front left`."""
    means: Mapping[tuple[str, ...], str]
    """Words -> value, or for a location one or more of its tokens."""


def question_about(finding: Finding, lexicon: Lexicon, *, drive_side: str = "left") -> Question | None:
    """The one question worth asking about a finding: its side, whether it is a fault, what a number was told in."""
    return _side(finding, lexicon, drive_side) or _status(finding, lexicon) or _unit(finding, lexicon)


def answer_in(words: Sequence[Word] | Sequence[str], question: Question) -> str | None:
    """The value that words answer a question with; None where they are anything but an answer.

    Every word must belong to the answer or mean nothing: "left pads are at three" is another finding.
    """
    said = [part for word in words for part in _plain(word)]
    values: list[str] = []
    longest = max(map(len, question.means), default=0)
    at = 0
    while at < len(said):
        lengths = range(min(longest, len(said) - at), 0, -1)
        length = next((n for n in lengths if tuple(said[at : at + n]) in question.means), 0)
        if length:
            values.append(question.means[tuple(said[at : at + length])])
        elif said[at] not in IDLE:
            return None
        at += length or 1
    if question.field == "location":
        return _location({token for value in values for token in value.split()})
    return values[0] if len(set(values)) == 1 else None


def _side(finding: Finding, lexicon: Lexicon, drive_side: str) -> Question | None:
    entry = lexicon.components.get(finding.component.id)
    if entry is None or finding.status not in MATTERS or "left|right" not in entry.places or entry.at:
        return None
    told = {token for place in finding.locations for token in place.split()}
    if told.intersection(SIDES):
        return None
    where = say_places(finding.locations)
    name = " ".join(each for each in (where, say_part(finding, lexicon)) if each)
    corner = "front|rear" in entry.places and not told
    return Question(
        finding=finding.id,
        field="location",
        text=f"{name}: which corner?" if corner else f"{name}: left or right?",
        answers=("front left", "front right", "rear left", "rear right") if corner else ("left", "right", "both"),
        means=dict(_places(lexicon, drive_side, entry.places)),
    )


def _places(lexicon: Lexicon, drive_side: str, axes: Iterable[str]) -> Iterator[tuple[tuple[str, ...], str]]:
    """Words for a place of such a part -> its tokens, `both` or `all`."""
    near = "right" if drive_side == "left" else "left"
    sides = {"driver": drive_side, "passenger": near, "nearside": near, "offside": drive_side}
    legal = {token for axis in axes for token in axis.split("|")}
    for entry in lexicon.locations.values():
        tokens = {token for place in entry.places for token in place.split()}
        tokens |= {sides[entry.means]} if entry.means in sides else set()
        value = entry.means if entry.means in WHOLE else " ".join(sorted(tokens, key=ORDER.index))
        if value in WHOLE or (tokens and tokens <= legal):
            for said in entry.words:
                yield phrase_words(said, lexicon.spelling), value


def _location(tokens: set[str]) -> str | None:
    """Tokens in their fixed order; nothing for both of two opposites at once."""
    if not tokens or any({one, other} <= tokens for one, other in zip(ORDER[::2], ORDER[1::2], strict=True)):
        return None
    whole = next((word for word in WHOLE if word in tokens), None)
    if whole:
        return whole if not tokens.intersection(SIDES) else None
    return " ".join(sorted(tokens, key=ORDER.index))


def _status(finding: Finding, lexicon: Lexicon) -> Question | None:
    """Whether it is fine or a fault, where what was said is not plain."""
    if finding.status not in ("ok", "fault") or all(doubt.field != "status" for doubt in finding.doubts):
        return None
    name = " ".join(each for each in (say_places(finding.locations), say_part(finding, lexicon)) if each)
    means = {tuple(said.split()): "ok" for said in FINE} | {tuple(said.split()): "fault" for said in FAULTY}
    return Question(finding.id, "status", f"{name}: okay, or a fault?", ("ok", "fault"), means)


def _unit(finding: Finding, lexicon: Lexicon) -> Question | None:
    """What a number was told in, where none was said and a limit hangs on it."""
    for number in finding.measurements:
        units = _units(finding, number, lexicon)
        if len(units) > 1:
            names = [UNITS.get(unit, (unit, unit))[1] for unit in units]
            means = {
                phrase_words(said, lexicon.spelling): unit
                for unit in units
                for entry in lexicon.units.values()
                if entry.symbol == unit and entry.scale == 1
                for said in entry.words
            }
            text = f"{number.said.strip(PUNCTUATION)} what: {' or '.join(names)}?"
            return Question(finding.id, "unit", text, tuple(units), means)
    return None


def _units(finding: Finding, number: Measurement, lexicon: Lexicon) -> list[str]:
    """The unit taken, and others that fit such a part by which a limit would be kept or not kept otherwise."""
    entry = lexicon.components.get(finding.component.id)
    verdicts = [v for v in (number.verdict, number.shop_verdict) if v and v.limit is not None and v.unit]
    if entry is None or not verdicts or unit_said(number, lexicon):
        return []
    others = [
        measure.unit
        for measure in entry.measures
        if measure.quantity == number.quantity and measure.unit != number.unit and measure.allows(number.value)
        if any(_decides(number, measure.unit, verdict) for verdict in verdicts)
    ]
    return [number.unit, *dict.fromkeys(others)] if others else []


def _decides(number: Measurement, unit: str, verdict: Verdict) -> bool:
    assert verdict.limit is not None
    assert verdict.unit is not None
    if not convertible(unit, verdict.unit) or not convertible(number.unit, verdict.unit):
        return False
    here, there = (in_unit(number.value, each, verdict.unit) for each in (number.unit, unit))
    return (here >= verdict.limit) != (there >= verdict.limit)


def unit_said(number: Measurement, lexicon: Lexicon) -> bool:
    """Whether the unit was among the words of the number."""
    said = [part for word in number.said.split() for part in _plain(word)]
    spoken = {words for unit in lexicon.units.values() for phrase in unit.words for words in [tuple(phrase.split())]}
    return any(
        tuple(said[at : at + length]) in spoken for at in range(1, len(said)) for length in range(1, len(said) - at + 1)
    ) or any(character.isalpha() for word in said for character in word if word[0].isdecimal())


def _plain(word: Word | str) -> tuple[str, ...]:
    text = word if isinstance(word, str) else word.text
    return phrase_words(text.replace("’", "'").strip(PUNCTUATION), {})
