"""What is said at the start about the job: its number, the vehicle, the distance on the clock, who speaks.

Numbers of the heading are no measurements: `hush_heading` is the stage that says so to the stages behind it.
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from narrate.find.draft import Draft
from narrate.find.evidence import said
from narrate.find.odometer import odometer_named, odometer_told, odometer_value
from narrate.find.prices import AFTER
from narrate.find.speaker import read_speaker
from narrate.find.spelled import read_spelled
from narrate.find.talk import REPAIRS, Reading, Talk, fill, talk_of
from narrate.find.vehicle_names import read_vehicle
from narrate.find.vocabulary import Vocabulary

STARTS = 60
"""How many tokens from the start belong to the heading in any case."""
GOES_ON = 20
"""How many tokens behind one of its values the heading goes on."""
VIN_LENGTH = 17
LONGEST_ORDER, LONGEST_PLATE = 10, 10
FEWEST_PLATE = 3
OPENING = 8
"""How many tokens the first words take, in which a number of the shop's is plain."""
REST = 3
"""How many tokens behind a plate it may be said that this is not all of it."""
OTHER_VEHICLE = 14
"""How many tokens behind the words that open another vehicle's story nothing is believed."""


@dataclass(frozen=True, slots=True)
class Said:
    """One value of the heading: the words it was said in, by inclusive word numbers, and those words."""

    value: str
    first_word: int
    last_word: int
    said: str
    unit: str | None = None
    """Of a distance: mi or km, if it was said."""


@dataclass(frozen=True, slots=True)
class Heading:
    """What was said of the job and the vehicle, a value for each field that was said."""

    values: MappingProxyType[str, Said] = field(default_factory=lambda: MappingProxyType({}))
    """By field: order_number, plate, vin, odometer, year, make, model, technician."""
    spans: tuple[tuple[int, int], ...] = ()
    """Stretches of tokens (inclusive) that speak of these and of nothing else."""

    def moved(self, by: int) -> "Heading":
        """The same with its words counted from `by` words earlier."""
        values = {
            name: replace(said, first_word=said.first_word + by, last_word=said.last_word + by)
            for name, said in self.values.items()
        }
        return Heading(MappingProxyType(values), self.spans)


_Reader = Callable[[Talk, int], Reading | None]


def read_heading(draft: Draft, vocabulary: Vocabulary) -> Heading:
    """The heading of a recording, or of its part about one vehicle; of what is said twice, the first."""
    return heading_from(talk_of(draft, vocabulary), 0)


def heading_from(talk: Talk, start: int, *, reach: int | None = None) -> Heading:
    """The heading that begins at a token; no value that begins more than `reach` tokens behind it."""
    draft = talk.draft
    stories = [m.last for m in draft.mentions if m.family == "cue" and m.key == "other_vehicle" and m.first >= start]
    values: dict[str, Said] = {}
    spans: list[tuple[int, int]] = []
    at, limit = start, start + STARTS
    end = len(talk.words) if reach is None else min(len(talk.words), start + reach + 1)
    while at < min(limit, end):
        read = _read(talk, at, listed=bool(spans) and spans[-1][1] == at - 1)
        if read is None or any(last < read.first <= last + OTHER_VEHICLE for last in stories):
            at += 1
            continue
        first, last = draft.tokens[read.first].first_word, draft.tokens[read.end - 1].last_word
        for name, value in read.values:
            values.setdefault(name, Said(value, first, last, said(draft, first, last).strip(" ,.;"), read.unit))
        spans.append((read.first, read.end - 1))
        at, limit = read.end, max(limit, read.end + GOES_ON)
    return Heading(MappingProxyType(values), tuple(spans))


def hush_heading(draft: Draft, vocabulary: Vocabulary) -> Draft:
    """The stage behind the amounts: what the heading says measures nothing and names no part."""
    spans = read_heading(draft, vocabulary).spans
    if not spans:
        return draft

    def within(first: int, last: int) -> bool:
        return any(begin <= first and last <= end for begin, end in spans)

    amounts = tuple(
        replace(a, kind="quiet", why="said of the job or the vehicle") if _touched(a.first, a.last, spans) else a
        for a in draft.amounts
    )
    # What takes a value back stays: reading the heading again must come to the same.
    kept = tuple(m for m in draft.mentions if m.key in REPAIRS or not within(m.first, m.last))
    return replace(draft, amounts=amounts, mentions=kept, heading=spans)


def _touched(first: int, last: int, spans: tuple[tuple[int, int], ...]) -> bool:
    return any(first <= end and begin <= last for begin, end in spans)


def _read(talk: Talk, at: int, *, listed: bool) -> Reading | None:
    """What stands at a token; `listed` if another value of the heading ends right before it."""
    for reader in (_vin, _order, _plate, odometer_named, _other_number):
        read = reader(talk, at)
        if read:
            return _corrected(talk, read, _VALUES.get(reader))
    vehicle = _vehicle(talk, at)
    if vehicle:
        return vehicle
    distance = odometer_told(talk, at, listed=listed)
    if distance:
        return _corrected(talk, distance, odometer_value)
    return read_speaker(talk, at, listed=listed) or _plate_unnamed(talk, at)


def _corrected(talk: Talk, read: Reading, value: _Reader | None) -> Reading:
    """The value that takes the place of the one just read: "4417, sorry, 4471"."""
    after = talk.repairs.get(read.end)
    if value is None or after is None or not read.values:
        return read
    for at in (after, fill(talk, after)):
        again = value(talk, at)
        if again and again.values:
            values = tuple((name, _mended(name, dict(read.values).get(name, ""), new)) for name, new in again.values)
            return replace(again, values=values, first=read.first, unit=again.unit or read.unit)
    return read


def _mended(name: str, old: str, new: str) -> str:
    """Of a long number often only the end is said again: "WE779, no wait, 778" is WE778."""
    shorter = name in ("plate", "order_number") and len(new) < len(old)
    return old[: -len(new)] + new if shorter else new


def _order(talk: Talk, at: int) -> Reading | None:
    head, mark, rest = talk.word(at).partition("#")
    if mark and rest and (head,) in talk.phrases.get("heading_order", ()):
        return Reading((("order_number", rest.upper()),), at, at + 1)
    end = talk.phrase("heading_order", at)
    if end is None or (
        talk.stops_at(end) and end < len(talk.words) and not talk.draft.tokens[end - 1].punctuation == "."
    ):
        return None
    value = fill(talk, end)
    partial = talk.phrase("heading_partial", value)
    if partial:
        numbered = read_spelled(talk, partial, longest=LONGEST_ORDER, letters=False)
        return Reading((), at, numbered.end) if numbered else None
    if talk.ends_at(value) and value == end and ":" not in talk.draft.tokens[end - 1].punctuation:
        return None
    read = _order_value(talk, value)
    bare = talk.phrase("heading_order_bare", at) == end and value == end
    if read is None or (bare and sum(c.isdigit() for c in read.values[0][1]) < 2):
        return None
    return replace(read, first=at)


def _order_value(talk: Talk, at: int) -> Reading | None:
    spelled = read_spelled(talk, at, longest=LONGEST_ORDER, letters=False)
    if spelled is None or not any(c.isdigit() for c in spelled.text):
        return None
    following = talk.word(spelled.end)
    measured = not talk.ends_at(spelled.end) and (
        following in AFTER
        or following in talk.vocabulary.cue_words.get("counted", ())
        or talk.unit(spelled.end) is not None
        or (spelled.end in talk.part_starts and len(spelled.text) < 3)
    )
    return None if measured else Reading((("order_number", spelled.text),), at, spelled.end)


def _plate(talk: Talk, at: int) -> Reading | None:
    end = talk.phrase("heading_plate", at)
    if end is None:
        return None
    value = fill(talk, end)
    read = _plate_value(talk, value)
    return replace(read, first=at) if read else None


def _plate_value(talk: Talk, at: int) -> Reading | None:
    spelled = read_spelled(talk, at, longest=LONGEST_PLATE, letters=True)
    if spelled is None or len(spelled.text) < FEWEST_PLATE or not any(c.isdigit() for c in spelled.text):
        return None
    partial = next((e for n in range(REST) if (e := talk.phrase("heading_partial", spelled.end + n))), None)
    text = spelled.text.replace("-", "")
    return Reading((() if partial else (("plate", text),)), at, partial or spelled.end)


def _plate_unnamed(talk: Talk, at: int) -> Reading | None:
    """Two letters of the spelling alphabet with digits are a plate though nobody says so."""
    read = _plate_value(talk, at)
    if read is None:
        return None
    letters = talk.vocabulary.lexicon.letters
    count = sum(word in letters and len(word) > 1 for word in talk.words[at : read.end])
    return read if count >= 2 else None


def _vin(talk: Talk, at: int) -> Reading | None:
    end = talk.phrase("heading_vin", at)
    if end is None:
        before = talk.phrase("heading_partial", at)
        return _vin_tail(talk, at, before) if before and talk.word(at) == "last" else None
    read = read_spelled(talk, fill(talk, end), longest=VIN_LENGTH, letters=True)
    if read is None or len(read.text) < 6:
        return None
    whole = len(read.text) == VIN_LENGTH
    return Reading(((("vin", read.text.replace("O", "0")),) if whole else ()), at, read.end)


def _vin_tail(talk: Talk, at: int, after: int) -> Reading | None:
    """The last six of the VIN: numbers that are no measurements."""
    for number in range(after, after + 4):
        end = talk.phrase("heading_vin", number)
        if end:
            read = read_spelled(talk, fill(talk, end), longest=8, letters=True)
            return Reading((), at, read.end if read else end)
    return None


def _other_number(talk: Talk, at: int) -> Reading | None:
    """The number of a bay or a fleet's vehicle."""
    end = talk.phrase("heading_other_number", at)
    # At the start or where a thought begins: "an exchange unit, eighty five" is a price.
    begins = end is not None and (at <= OPENING or talk.ends_at(at)) and not talk.ends_at(end)
    read = read_spelled(talk, end, longest=6, letters=False) if end and begins else None
    return Reading((), at, read.end) if read and any(c.isdigit() for c in read.text) else None


def _vehicle(talk: Talk, at: int) -> Reading | None:
    read = read_vehicle(talk, at)
    return Reading(tuple(read[0].items()), at, read[1]) if read else None


_VALUES: dict[_Reader, _Reader] = {_order: _order_value, _plate: _plate_value, odometer_named: odometer_value}
"""What reads the value alone, where one that was just said may be taken back."""
