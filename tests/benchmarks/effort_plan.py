"""Which keys of the review page lead from one state of a finding to another, in the fewest presses.

An action is a key pressed (a letter, `Enter`, a chord such as `Shift+Enter`) or a click, written `click NAME`.
Nothing here touches a browser; what the page really does with the keys is seen by driving them.
"""

from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from itertools import product, takewhile
from typing import Any

from narrate.records.case import Expected
from narrate.records.walkaround import Finding, Measurement
from narrate.score.amounts import amounts_right, amounts_taken_back
from narrate.score.fields import compare_fields, place_key
from narrate.score.names import Names, name_keys
from narrate.words.lexicon import Lexicon
from narrate.words.search import Sort, search_names

Keys = tuple[str, ...]
MOST_LETTERS = 12
LETTERS_OF_A_WORD = 3
PAD = {
    "7": "front left", "8": "front", "9": "front right", "4": "left", "6": "right",
    "1": "rear left", "2": "rear", "3": "rear right",
}  # fmt: skip
CORNERS = ("front left", "front right", "rear left", "rear right")
MODIFIERS = {"u": "upper", "l": "lower", "i": "inner", "o": "outer"}
OPPOSITE = {"upper": "lower", "lower": "upper", "inner": "outer", "outer": "inner"}
MOST_PLACES = 4
SHORT_PLACES = {
    "front left": "fl", "front right": "fr", "rear left": "rl", "rear right": "rr", "front": "f", "rear": "r",
}  # fmt: skip
STATUS_KEYS = {"fault": "f", "ok": "o", "unclear": "u", "unchecked": "n", "work": "w"}
NOTHING_WRONG = ("ok", "unchecked")
DROP: Keys = ("x",)
SETTLE: Keys = ("j",)
DIGITS = 9
LETTERS = "abcdef"
OTHERS = ({"left": "right", "right": "left"}, {"front": "rear", "rear": "front"})
NOTHING_HEARD: dict[str, Any] = {"components": [], "places": [], "conditions": [], "actions": [], "numbers": []}
"""What the page offers where nothing was heard."""

Chosen = tuple[tuple[str, frozenset[str]], ...]
"""Places as the page's editor holds them: where, and upper, lower, inner, outer."""


@dataclass(frozen=True, eq=False)
class Planner:
    """Plans against one lexicon, as one market names things. `units`: each unit's symbol and its shortest word."""

    lexicon: Lexicon
    names: Names
    market: str
    units: Mapping[str, str]
    must_not: tuple[str, ...] = ()
    """Parts that may not be listed as a fault."""
    heard: Callable[[str], Mapping[str, Any]] = field(default=lambda _: NOTHING_HEARD)
    """What the page offers for a finding, by its id: the answer of /nearby."""

    def pick(self, sort: Sort, accepted: Iterable[str]) -> Keys | None:
        """The fewest keys that take an entry of an accepted name from a picker; None where there is none."""
        return _pick(self, sort, frozenset(name_keys(accepted)))

    def fixes(self, finding: Finding, expected: Expected, *, typed: bool = False) -> dict[str, Keys]:
        """For each wrong field that the page can put right: the keys. `typed`: not from what is offered."""
        right = compare_fields(expected, finding, names=self.names)
        needed = expected.status or ("fault" if expected.conditions and finding.status in NOTHING_WRONG else None)
        numbers = "measurements" in expected.model_fields_set or amounts_taken_back(expected, finding)
        wrong: dict[str, tuple[Keys | None, Keys | None]] = {}
        offered = NOTHING_HEARD
        if not (right.component and right.location is not False and right.condition is not False) or (
            right.action is False or numbers
        ):
            offered = NOTHING_HEARD if typed else self.heard(finding.id)
        if not right.component:
            by_letters = self.pick("component", expected.component)
            wrong["component"] = by_letters, self._offered_component(finding, expected, offered, typed)
        if needed and needed != finding.status:
            wrong["status"] = (STATUS_KEYS[needed],), None
        if right.location is False:
            answers = expected.locations or ()
            letter = () if typed else offered_place(finding.locations, offered["places"], answers)
            wrong["locations"] = places(finding.locations, answers), letter
        if right.condition is False:
            picked = self.pick("condition", expected.conditions or ())
            present = {each.id for each in finding.conditions}
            digit = self._digit("condition", offered["conditions"], present, expected.conditions or ())
            wrong["conditions"] = picked and ("Backspace",) * len(finding.conditions) + picked + ("Enter",), digit
        if right.action is False:
            picked = self.pick("action", expected.actions or ()) if expected.actions else ("Backspace",)
            present = {finding.recommendation.action or ""}
            digit = self._digit("action", offered["actions"], present, expected.actions or ())
            wrong["recommendation"] = picked, digit
        if numbers:
            line = self._numbers(finding, expected)
            wrong["measurements"] = line, line and self._heard_line(finding, expected, offered["numbers"])
        if wrong.get("status") and needed in NOTHING_WRONG:
            # What is fine has nothing wrong with it, and nothing is to be done.
            wrong = {name: both for name, both in wrong.items() if name not in ("conditions", "recommendation")}
        elif (
            wrong.get("status")
            and needed == "fault"
            and finding.status != "unclear"
            and any(wrong.get("conditions", ()))
        ):
            # With something wrong it is a fault.
            del wrong["status"]
        opened = {"component": "c", "status": "s", "locations": "p", "conditions": "w", "recommendation": "r"}
        chosen = {name: min((each for each in both if each), key=len, default=()) for name, both in wrong.items()}
        return {name: (opened.get(name, "n"), *keys) for name, keys in chosen.items() if keys}

    def cost(self, finding: Finding, expected: Expected) -> int:
        """How many keys put the finding right."""
        return sum(map(len, self.fixes(finding, expected).values()))

    def _offered_component(
        self, finding: Finding, expected: Expected, offered: Mapping[str, Any], typed: bool
    ) -> Keys | None:
        if typed:
            return None
        doubted = [name for doubt in finding.doubts if doubt.field == "component" for name in doubt.instead]
        first: list[str] = []
        for name in doubted:
            found = search_names(self.lexicon, "component", name, market=self.market)
            first += [each.id for each in found if each.name == name and each.id != finding.component.id]
        heard = [{"id": each} for each in first] + list(offered["components"])
        return self._digit("component", heard, set(), expected.component)

    def _digit(
        self, sort: Sort, offered: Sequence[Mapping[str, Any]], present: Iterable[str], accepted: Iterable[str]
    ) -> Keys | None:
        """The digit under which the page offers an accepted entry."""
        place = self.place_of(sort, [each["id"] for each in offered if each["id"] not in set(present)], accepted)
        return (str(place),) if place else None

    def id_of(self, name: str) -> str | None:
        """An entry of the lexicon that the score takes for a component of this name."""
        return min(_ids(self, "component", frozenset(name_keys([name]))), default=None)

    def place_of(self, sort: Sort, offered: Iterable[str], accepted: Iterable[str]) -> int | None:
        """From 1: where in a list of ids an entry of an accepted name stands, as far as digits reach."""
        ids = _ids(self, sort, frozenset(name_keys(accepted)))
        shown = list(dict.fromkeys(offered))[:DIGITS]
        return next((place for place, id_ in enumerate(shown, 1) if id_ in ids), None)

    def _heard_line(self, finding: Finding, expected: Expected, heard: Sequence[Mapping[str, Any]]) -> Keys | None:
        """Arrow keys to a line of numbers that was heard and is right."""
        numbers = [_measurement(each) for each in heard]
        for place, line in enumerate(number_lines(finding.measurements, numbers), 1):
            wanted = expected.measurements
            all_met = all(any(_meets(w, m, finding) for m in line) for w in wanted)
            taken_back = amounts_taken_back(expected, _with_numbers(finding, *line))
            exact = "measurements" not in expected.model_fields_set or len(line) == len(wanted)
            if all_met and exact and not taken_back:
                return (*("ArrowDown",) * place, "Enter")
        return None

    def _numbers(self, finding: Finding, expected: Expected) -> Keys | None:
        """Keys that make the numbers the expected ones; () where they are."""
        wanted = expected.measurements
        if "measurements" in expected.model_fields_set:
            kept = [m for m in finding.measurements if any(_meets(w, m, finding) for w in wanted)]
        else:
            kept = [m for m in finding.measurements if not amounts_taken_back(expected, _with_numbers(finding, m))]
        missing = [w for w in wanted if not any(_meets(w, m, finding) for m in kept)]
        if not missing and len(kept) == len(finding.measurements):
            return ()
        if any(unit not in self.units for _, unit, *_ in missing):
            return None
        texts = [*map(shown_number, kept), *(self._typed(amount, finding.locations) for amount in missing)]
        before = ", ".join(map(shown_number, finding.measurements))
        return min((line_edit(before, comma.join(texts)) for comma in (",", ", ")), key=len)

    def _typed(self, amount: Sequence[str], locations: Sequence[str]) -> str:
        value, unit, *place = amount
        told = f"{value}/32" if unit == "1/32in" else f"{value}{self.units[unit]}"
        alone = len(locations) == 1 and place and place_key(locations[0]) == place_key(place[0])
        return told if not place or alone else f"{told} {SHORT_PLACES.get(place[0], place[0])}"

    def adding(self, expected: Expected, component: Keys | None = None) -> Keys | None:
        """The keys after `i` or `t` that add the expected finding; None where the lexicon has no such part.

        component: the keys that pick it, where they are not its letters.
        """
        component = component or self.pick("component", expected.component)
        if component is None:
            return None
        reached = places((), expected.locations) if expected.locations is not None else ()
        owed = expected.status
        if owed is None and not name_keys(expected.component).isdisjoint(name_keys(self.must_not)):
            owed = "work" if expected.conditions else "ok"
        condition = None if owed in NOTHING_WRONG else self.pick("condition", expected.conditions or ())
        action = self.pick("action", expected.actions or ())
        status = STATUS_KEYS[owed] if owed and owed != "fault" else None
        there = located((), reached or ())
        numbers = ",".join(self._typed(each, there) for each in expected.measurements if each[1] in self.units)
        return (*component, *_steps(reached or None, condition and (*condition, "Enter"), action, status, numbers))


def _steps(place: Keys | None, condition: Keys | None, action: Keys | None, status: str | None, numbers: str) -> Keys:
    """The keys from the open editor of places to the finding as it should be, and out of every editor."""
    keys: list[str] = []
    # free: no line of text has the keys.
    free = True
    if place or condition:
        keys += place or ("Escape",)
        free = False
        if condition or action:
            keys += condition or ("Escape",)
        if action:
            keys += action
            free = True
    elif action:
        keys += ("r", *action)
    if status:
        keys += ("s" if free else "click Status", status)
        free = True
    if numbers:
        keys += ("n" if free else "click Numbers", *numbers, "Enter")
        free = True
    if not keys:
        return ("ArrowDown",)
    if not free:
        # Escape leaves the last line; from the line before it a click into the list is shorter.
        keys += ("Escape",) if condition else ("click list",)
    return tuple(keys)


def going_on(keys: Keys) -> Keys:
    """The same keys, the last with Shift where that keeps the change and goes on to the next."""
    last = keys[-1]
    if last == "Enter" or (len(last) == 1 and last.isalnum()):
        return (*keys[:-1], f"Shift+{last.upper() if len(last) == 1 else last}")
    return keys


def places(present: Sequence[str], answers: Iterable[Sequence[str]]) -> Keys | None:
    """The fewest keys from these places to any of the answers, with Enter; None where the keypad cannot say them.

    Nothing to do is ().
    """
    wanted = frozenset(frozenset(place_key(place) for place in answer) for answer in answers)
    keys = _toggles(tuple(map(_split, present)), wanted)
    return (*keys, "Enter") if keys else keys


def located(present: Sequence[str], keys: Keys) -> list[str]:
    """The places that the editor keeps after these keys."""
    chosen: Chosen = tuple(map(_split, present))
    for key in keys:
        chosen = _pressed(chosen, key) if key != "Enter" else chosen
    return [" ".join(place) for place in sorted(_said(chosen))]


def offered_place(present: Sequence[str], heard: Iterable[Sequence[str]], answers: Iterable[Sequence[str]]) -> Keys:
    """The letter under which the page offers right places; () where it does not."""
    wanted = {frozenset(place_key(place) for place in answer) for answer in answers}
    other = [[" ".join(swap.get(t, t) for t in place.split()) for place in present] for swap in OTHERS]
    shown: list[frozenset[str]] = []
    swapped = [each for each in other if len({*each, *present}) > len(present)]
    alone = [[place] for place in present] if len(present) > 1 else [[]] if present else []
    for each in (*swapped, *alone, *heard):
        if frozenset(each) != frozenset(present) and frozenset(each) not in shown:
            shown.append(frozenset(each))
    for letter, each in zip(LETTERS, shown, strict=False):
        if frozenset(place_key(place) for place in each) in wanted:
            return (letter,)
    return ()


def number_lines(present: Sequence[Measurement], heard: Sequence[Measurement]) -> list[tuple[Measurement, ...]]:
    """The lines of numbers that the page offers, as static/fields.js has it."""
    here = tuple(present)
    new = [each for each in heard if not any(m.value == each.value and m.unit == each.unit for m in here)]
    alone = [(each,) for each in here] if len(here) > 1 else []
    more = [(*here, each) for each in new[:2]] if here else []
    pairs = [tuple(new[:2])] if not here and len(new) > 1 else []
    lines = [*alone, *more, *((each,) for each in new[:3]), *pairs]
    return list({", ".join(map(shown_number, line)): line for line in lines}.values())[:6]


def _measurement(heard: Mapping[str, Any]) -> Measurement:
    return Measurement(**{key: heard[key] for key in ("value", "high", "unit", "about", "location")}, said="")


@cache
def _toggles(start: Chosen, wanted: frozenset[frozenset[tuple[str, ...]]]) -> Keys | None:
    """Breadth first over what the editor may hold."""
    seen = {start}
    waiting: deque[tuple[Chosen, Keys]] = deque([(start, ())])
    while waiting:
        chosen, keys = waiting.popleft()
        if _said(chosen) in wanted:
            return keys
        for key in (*PAD, "5", *MODIFIERS, "0"):
            after = _pressed(chosen, key)
            if after not in seen and len(after) <= max(MOST_PLACES, len(start)):
                seen.add(after)
                waiting.append((after, (*keys, key)))
    return None


def _split(place: str) -> tuple[str, frozenset[str]]:
    words = place.split()
    return " ".join(w for w in words if w not in OPPOSITE), frozenset(w for w in words if w in OPPOSITE)


def _said(chosen: Chosen) -> frozenset[tuple[str, ...]]:
    return frozenset(place_key(" ".join((base, *more))) for base, more in chosen)


def _pressed(chosen: Chosen, key: str) -> Chosen:
    """What the editor of places holds after a key, as static/places.js has it."""
    more = chosen[0][1] if chosen else frozenset()
    bases = [base for base, _ in chosen]
    if key == "0":
        return ()
    if key == "5":
        return () if set(CORNERS) <= set(bases) else tuple((corner, more) for corner in CORNERS)
    if key in PAD:
        base = PAD[key]
        return tuple(c for c in chosen if c[0] != base) if base in bases else (*chosen, (base, more))
    token = MODIFIERS[key]
    if any(token in each for _, each in chosen):
        changed = [(base, each - {token}) for base, each in chosen]
    else:
        changed = [(base, each - {OPPOSITE[token]} | {token}) for base, each in chosen or (("", frozenset()),)]
    return tuple((base, each) for base, each in changed if base or each)


def line_edit(before: str, after: str) -> Keys:
    """The fewest keys that make one line of text another, with Enter: written anew, or its end changed."""
    if before == after:
        return ()
    same = sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(before, after, strict=False)))
    anew = (("Control+a",) if before else ()) + (tuple(after) or ("Backspace",))
    ending = ("End", *["Backspace"] * (len(before) - same), *after[same:])
    return (*min(anew, ending, key=len), "Enter")


def shown_number(number: Measurement) -> str:
    """A number as the page's line of numbers shows it."""
    inch = number.unit == "1/32in"
    value = f"{number.value}-{number.high}" if number.high else f"{number.value}{'/32' if inch else ''}"
    parts = ("about" if number.about else "", value, "" if inch else number.unit, number.location or "")
    return " ".join(part for part in parts if part)


def _meets(amount: Sequence[str], number: Measurement, finding: Finding) -> bool:
    """Whether the score takes a number of a finding for an expected amount."""
    wanted = Expected(component=("any",), measurements=(tuple(amount),))
    return amounts_right(wanted, _with_numbers(finding, number)) == 1


def _with_numbers(finding: Finding, *numbers: Measurement) -> Finding:
    return finding.model_copy(update={"measurements": numbers})


@cache
def _ids(planner: "Planner", sort: Sort, accepted: frozenset[str]) -> frozenset[str]:
    """The entries that the score takes for any of the accepted names."""
    lexicon = planner.lexicon
    entries = {"component": lexicon.components, "condition": lexicon.conditions, "action": lexicon.actions}[sort]
    return frozenset(id_ for id_ in entries if accepted & name_keys(_called(planner, sort, id_)))


def _called(planner: "Planner", sort: Sort, id_: str) -> set[str]:
    names, lexicon = planner.names, planner.lexicon
    if sort == "component":
        return {id_, lexicon.name(id_, planner.market)} | names.of_component(id_)
    if sort == "condition":
        return {id_, lexicon.conditions[id_].name} | names.of_condition(id_)
    return {id_} | names.of_action(id_)


@cache
def _pick(planner: "Planner", sort: Sort, accepted: frozenset[str]) -> Keys | None:
    ids = _ids(planner, sort, accepted)
    names = {name.lower() for id_ in ids for name in _called(planner, sort, id_)}
    # A digit takes what is offered, where something is.
    queries = {query for name in names for query in _short_forms(name) if not query[0].isdigit()}
    best: Keys | None = None
    for query in sorted(queries, key=lambda each: (len(each), each)):
        if best and len(query) + 1 >= len(best):
            break
        found = _offered(planner.lexicon, planner.market, sort, query)
        place = next((place for place, id_ in enumerate(found) if id_ in ids), None)
        if place is not None and (best is None or len(query) + place + 1 < len(best)):
            best = (*query, *["ArrowDown"] * place, "Enter")
    return best


@cache
def _offered(lexicon: Lexicon, market: str, sort: Sort, query: str) -> tuple[str, ...]:
    """What the page's picker lists for these letters: the same search that answers /api/names."""
    return tuple(match.id for match in search_names(lexicon, sort, query, market=market))


def _short_forms(name: str) -> Iterator[str]:
    """Beginnings of a name, and beginnings of its words written together: `brp` for brake pad."""
    yield from (name[:size] for size in range(1, min(len(name), MOST_LETTERS) + 1))
    words = name.replace("-", " ").split()[:3]
    for sizes in product(range(LETTERS_OF_A_WORD + 1), repeat=len(words)):
        if sizes[0]:
            yield "".join(word[:size] for word, size in zip(words, sizes, strict=True))
