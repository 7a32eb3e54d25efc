"""Which keys of the review page lead from one state of a finding to another, in the fewest presses.

An action is a key pressed (a letter, `Enter`, a chord such as `Shift+Enter`) or a click, written `click NAME`.
Nothing here touches a browser; what the page really does with the keys is seen by driving them.
"""

from collections import deque
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import product, takewhile

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
DROP: Keys = ("x", "Enter")

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

    def pick(self, sort: Sort, accepted: Iterable[str]) -> Keys | None:
        """The fewest keys that take an entry of an accepted name from a picker; None where there is none."""
        return _pick(self, sort, frozenset(name_keys(accepted)))

    def fixes(self, finding: Finding, expected: Expected, *, typed: bool = False) -> dict[str, Keys]:
        """For each wrong field that the page can put right: the keys. `typed`: not from what is offered."""
        right = compare_fields(expected, finding, names=self.names)
        wrong: dict[str, Keys | None] = {}
        if not right.component:
            wrong["component"] = self._component(finding, expected, typed)
        needed = expected.status or ("fault" if expected.conditions and finding.status in NOTHING_WRONG else None)
        if needed and needed != finding.status:
            wrong["status"] = (STATUS_KEYS[needed],)
        if right.location is False:
            wrong["locations"] = places(finding.locations, expected.locations or ())
        if right.condition is False:
            picked = self.pick("condition", expected.conditions or ())
            wrong["conditions"] = picked and ("Backspace",) * len(finding.conditions) + picked + ("Enter",)
        if right.action is False:
            picked = self.pick("action", expected.actions or ())
            wrong["recommendation"] = picked if expected.actions else ("Backspace",)
        if "measurements" in expected.model_fields_set or amounts_taken_back(expected, finding):
            wrong["measurements"] = self._numbers(finding, expected)
        opened = {"component": "c", "status": "s", "locations": "p", "conditions": "w", "recommendation": "r"}
        return {field: (opened.get(field, "n"), *keys) for field, keys in wrong.items() if keys}

    def cost(self, finding: Finding, expected: Expected) -> int:
        """How many keys put the finding right."""
        return sum(map(len, self.fixes(finding, expected).values()))

    def _component(self, finding: Finding, expected: Expected, typed: bool) -> Keys | None:
        by_letters = self.pick("component", expected.component)
        offered = [name for doubt in finding.doubts if doubt.field == "component" for name in doubt.instead]
        for place, name in enumerate(offered):
            found = search_names(self.lexicon, "component", name, market=self.market)
            here = [each.id for each in found if each.name == name]
            if not typed and here and name_keys(expected.component) & name_keys(_called(self, "component", here[0])):
                return ("ArrowDown",) * place + ("Enter",)
        return by_letters

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

    def adding(self, expected: Expected) -> Keys | None:
        """The keys after `i` or `t` that add the expected finding; None where the lexicon has no such part."""
        component = self.pick("component", expected.component)
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
    queries = {query for name in names for query in _short_forms(name)}
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
