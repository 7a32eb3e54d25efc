"""What else the words of a finding may mean: parts, places, faults, work and numbers heard in them and close by.

Nothing here is decided: it is what a person who puts a finding right is offered first. Within the words what was
named comes first, then what they sound like, then what was named close by.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TypeVar

from narrate.find.boundaries import boundary_mass
from narrate.find.draft import Amount, Draft, Mention
from narrate.find.places import AXES, compose, resolve
from narrate.find.scopes import scopes_by_token
from narrate.find.sounds_near import sounds_like_action, sounds_like_condition, sounds_like_part
from narrate.find.stages import READING, run_stages
from narrate.find.vocabulary import Vocabulary
from narrate.records.recording import Word
from narrate.records.walkaround import Status
from narrate.words.entries import Measure

Item = TypeVar("Item", Mention, Amount)
Thing = TypeVar("Thing")
Pieces = Sequence[tuple[int, int]]
"""First and last word of each piece of evidence, both inclusive."""
ANYWHERE = tuple("|".join(axis) for axis in AXES)
"""Where a part may be that is not known yet."""
CLOSE, FAR = 12, 40
"""How many words beside a finding's own are close by; and how far back a place still holds."""
MOST = 6
"""So many of a kind are offered: more takes longer to read than to type."""
BEFORE, BEHIND, ENDS = 8, 14, 0.6
"""How far around a part's name what is told of it is looked for, unless a thought ends or another part is named."""


@dataclass(frozen=True, slots=True)
class Number:
    """A number heard, in the unit that was said or is usual for the part."""

    value: Decimal
    high: Decimal | None
    unit: str
    about: bool


@dataclass(frozen=True, slots=True)
class Told:
    """What the words seem to tell of a part, as far as it can be read off them."""

    places: tuple[str, ...]
    status: Status
    conditions: tuple[str, ...]
    action: str | None
    numbers: tuple[Number, ...]


@dataclass(frozen=True, slots=True)
class Nearby:
    """Ids of what may be meant, the likeliest first."""

    parts: tuple[str, ...]
    places: tuple[tuple[str, ...], ...]
    conditions: tuple[str, ...]
    actions: tuple[str, ...]
    numbers: tuple[Number, ...]


@dataclass(frozen=True, slots=True)
class Unlisted:
    """A part that was named and is in no finding; `first` and `last` are words, both inclusive."""

    part: str
    first: int
    last: int


def read_words(words: Iterable[Word], vocabulary: Vocabulary) -> Draft:
    """The words of one recording, read for `nearby`, `told` and `unlisted`."""
    return run_stages(words, vocabulary, READING)


def nearby(
    draft: Draft, vocabulary: Vocabulary, pieces: Pieces, part: str | None, *, drive_side: str, market: str
) -> Nearby:
    """What may be meant in these words; `part`: what they were taken to be about."""
    lexicon = vocabulary.lexicon
    stretches = [stretch for piece in pieces if (stretch := tokens_under(draft, *piece))]
    known = part if part in lexicon.components else None
    near = _by_distance(draft.mentions, stretches)

    def keys(family: str, most: int = CLOSE) -> list[tuple[int, str]]:
        return [(away, m.key) for away, m in near if m.family == family and away <= most]

    inside = [m for away, m in near if m.family == "component" and not away]
    parts = [m.key for m in inside] + [m.runner_up for m in inside if m.runner_up]
    parts += sounds_like_part(draft, vocabulary, stretches)
    parts += [key for away, key in keys("component") if away]
    faults = [key for away, key in keys("condition") if not away]
    faults += sounds_like_condition(draft, vocabulary, stretches, known)
    faults += [key for away, key in keys("condition") if away and (known is None or lexicon.legal(known, key))]
    work = [key for away, key in keys("action") if not away]
    work += [_asked(vocabulary, known) for away, key in keys("cue") if not away and key == "offer"]
    work += sounds_like_action(draft, vocabulary, stretches)
    work += [key for away, key in keys("action") if away]
    return Nearby(
        parts=_few(each for each in parts if each != part),
        places=_places(near, vocabulary, known, drive_side),
        conditions=_few(faults),
        actions=_few(work),
        numbers=_numbers(_by_distance(draft.amounts, stretches), vocabulary, known, market),
    )


def told(
    draft: Draft, vocabulary: Vocabulary, words: tuple[int, int], part: str | None, *, drive_side: str, market: str
) -> Told:
    """What these words tell of a part, read off them without weighing what belongs to what."""
    first, last = tokens_under(draft, *words) or (0, -1)
    here = [m for m in draft.mentions if first <= m.first and m.last <= last]
    scopes = scopes_by_token(draft)
    denied = {m.key for m in here if "denied" in scopes[m.first]}
    cues = {m.key for m in here if m.family == "cue"}
    conditions = _few(m.key for m in here if m.family == "condition" and m.key not in denied)
    action = next((m.key for m in here if m.family == "action" and m.key not in denied), None)
    if action is None and "offer" in cues:
        action = _asked(vocabulary, part)
    amounts = [(0, a) for a in draft.amounts if first <= a.first and a.last <= last]
    entry = vocabulary.lexicon.components.get(part or "")
    places = [resolve(vocabulary.lexicon, m.key, drive_side) for m in here if m.family == "location"]
    status: Status = "fault"
    if "unchecked" in cues:
        status = "unchecked"
    elif ("approval" in cues or denied) and not action and not conditions:
        status = "ok"
    elif action and not conditions:
        status = "work"
    fine = status in ("ok", "unchecked")
    return Told(
        places=compose(places, entry.places if entry else ANYWHERE),
        status=status,
        conditions=() if fine else conditions,
        action=None if fine else action,
        numbers=_numbers(amounts, vocabulary, part, market),
    )


def unlisted(draft: Draft, vocabulary: Vocabulary, listed: Sequence[tuple[str, int, int]]) -> tuple[Unlisted, ...]:
    """Parts that were named and are in no finding, in the order they were named, each with the words around it.

    listed: part, first and last word of each piece of evidence of each finding.
    """
    mass = boundary_mass(draft)
    parts = sorted((m for m in draft.mentions if m.family == "component"), key=lambda m: m.first)
    made: list[Unlisted] = []
    for number, mention in enumerate(parts):
        words = draft.tokens[mention.first].first_word, draft.tokens[mention.last].last_word
        if any(part == mention.key and a - CLOSE <= words[0] and words[1] <= b + CLOSE for part, a, b in listed):
            continue
        floor = parts[number - 1].last + 1 if number else 0
        ceiling = parts[number + 1].first - 1 if number + 1 < len(parts) else len(draft.tokens) - 1
        first, last = _thought(draft, mass, (mention.first, mention.last), (floor, ceiling))
        made.append(Unlisted(mention.key, draft.tokens[first].first_word, draft.tokens[last].last_word))
    return tuple(made)


def thought_around(draft: Draft, words: tuple[int, int]) -> tuple[int, int]:
    """The words of a stretch and those beside it up to where a thought ends, or another part is named."""
    stretch = tokens_under(draft, *words)
    if stretch is None:
        return words
    parts = [m for m in draft.mentions if m.family == "component"]
    floor = max((m.last + 1 for m in parts if m.last < stretch[0]), default=0)
    ceiling = min((m.first - 1 for m in parts if m.first > stretch[1]), default=len(draft.tokens) - 1)
    first, last = _thought(draft, boundary_mass(draft), stretch, (floor, ceiling))
    return draft.tokens[first].first_word, draft.tokens[last].last_word


def _thought(draft: Draft, mass: list[float], stretch: tuple[int, int], most: tuple[int, int]) -> tuple[int, int]:
    first, last = stretch
    while first > max(most[0], stretch[0] - BEFORE) and mass[stretch[0]] - mass[first - 1] < ENDS:
        first -= 1
    while last < min(most[1], stretch[1] + BEHIND) and mass[last + 1] - mass[stretch[1]] < ENDS:
        last += 1
    return first, last


def tokens_under(draft: Draft, first_word: int, last_word: int) -> tuple[int, int] | None:
    """The first and the last token of a stretch of words, both inclusive; None where there is none."""
    inside = [n for n, t in enumerate(draft.tokens) if t.last_word >= first_word and t.first_word <= last_word]
    return (inside[0], inside[-1]) if inside else None


def _by_distance(items: Iterable[Item], stretches: Sequence[tuple[int, int]]) -> list[tuple[int, Item]]:
    """(tokens away from the nearest stretch, item): the nearest first, of equals the one said first."""
    away = ((min(max(a - i.last, i.first - b, 0) for a, b in stretches), i) for i in items if stretches)
    return sorted(away, key=lambda pair: (pair[0], pair[1].first))


def _few(things: Iterable[Thing]) -> tuple[Thing, ...]:
    return tuple(dict.fromkeys(things))[:MOST]


def _places(
    near: Sequence[tuple[int, Mention]], vocabulary: Vocabulary, part: str | None, drive_side: str
) -> tuple[tuple[str, ...], ...]:
    """All place words of the stretch together, each alone, and what was said of places before it."""
    lexicon = vocabulary.lexicon
    axes = lexicon.components[part].places if part else ANYWHERE
    said = [(away, resolve(lexicon, m.key, drive_side)) for away, m in near if m.family == "location" and away <= FAR]
    inside = [tokens for away, tokens in said if not away]
    outside = [tokens for away, tokens in said if away]
    together = [inside, *([*inside, tokens] for tokens in outside[:2]), *([tokens] for _, tokens in said)]
    return _few(place for each in together if each and (place := compose(each, axes)))


def _asked(vocabulary: Vocabulary, part: str | None) -> str:
    """What "needs a …" asks for."""
    entry = vocabulary.lexicon.components.get(part or "")
    return (entry and entry.asked) or "replace"


def _numbers(
    amounts: Sequence[tuple[int, Amount]], vocabulary: Vocabulary, part: str | None, market: str
) -> tuple[Number, ...]:
    entry = vocabulary.lexicon.components.get(part or "")
    measures: Sequence[Measure] = entry.measures if entry else ()
    found: list[tuple[bool, Number]] = []
    for away, amount in amounts:
        if away > CLOSE or amount.kind not in ("measure", "bare"):
            continue
        fitting = [m for m in measures if m.allows(amount.value) and amount.unit in (None, m.unit)]
        fitting.sort(key=lambda m: market != "us" and m.unit == "1/32in")
        unit = amount.unit or (fitting[0].unit if fitting else None)
        if unit:
            found.append((not fitting, Number(amount.value, amount.high, unit, amount.about)))
    # What the part is measured by comes before what it is not.
    return _few(number for _, number in sorted(found, key=lambda pair: pair[0]))
