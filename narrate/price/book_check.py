"""What must agree between the rows of a price book, and with the lexicon."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches
from functools import cache
from graphlib import CycleError, TopologicalSorter
from itertools import product
from typing import Literal, NamedTuple

from narrate.price.book_rows import quantity_of
from narrate.price.currencies import MINOR_DIGITS
from narrate.records.base import Written
from narrate.records.price_book import (
    Fee,
    Fluid,
    LaborRate,
    Markup,
    Minimum,
    Operation,
    Part,
    Scope,
    Supplies,
    TaxRule,
)
from narrate.words.lexicon import Lexicon

TAXED_KINDS = ("part", "labor", "fluid", "supplies", "fee", "sublet", "core")
AXES = (("front", "rear"), ("left", "right"), ("upper", "lower"), ("inner", "outer"))
"""The words of a location in their fixed order, at most one of each pair."""
Sort = Literal["component", "action"]
SEARCHED = 100
"""Unknown names for which the nearest known one is looked up; a file with more is of another lexicon."""


class Placed(NamedTuple):
    """A record and where it stands: the number of its row in the file, and its place in words."""

    number: int
    place: str
    record: Written


class Problem(NamedTuple):
    """One mistake between rows, told at the row `number`."""

    number: int
    text: str


@dataclass(slots=True)
class Names:
    """What the file names, rows with mistakes included: a row that is wrong elsewhere is there all the same."""

    operations: set[str] = field(default_factory=set)
    fluids: set[str] = field(default_factory=set)
    rates: set[str] = field(default_factory=set)
    parts: set[str] = field(default_factory=set)
    """Components that a part is for."""
    categories: set[str] = field(default_factory=set)
    markups: bool = False


def problems(placed: Sequence[Placed], names: Names, lexicon: Lexicon) -> Iterator[Problem]:
    """Every mistake between rows, and of rows with the lexicon, those of one kind together."""
    nearest = _Nearest(lexicon)
    seen: dict[object, Placed] = {}
    for each in placed:
        number, place, record = each
        for text in _alone(record, names, lexicon, nearest):
            yield Problem(number, f"{place}, {text}")
        for identity, text in _identities(record):
            first = seen.setdefault(identity, each)
            if first.number != number:
                yield Problem(number, f"{place}, {text} as {first.place}.")
    yield from _circles(placed)
    begins = {each.record.cost_from: each for each in placed if isinstance(each.record, Markup)}
    if begins and min(begins) > 0:
        number, place, _ = begins[min(begins)]
        yield Problem(
            number, f"{place}, cost_from: no markup begins at 0, so cheap parts would have no price; add one."
        )


def currency_problem(currency: str) -> str | None:
    """What is wrong with a currency, or None."""
    if currency in MINOR_DIGITS:
        return None
    near = get_close_matches(currency.upper(), MINOR_DIGITS, 1, 0.6)
    return f"currency: '{currency}' is no ISO 4217 code of a currency{_perhaps(near)}"


@cache
def legal_locations() -> frozenset[str]:
    """Every location that can be written."""
    every = (" ".join(filter(None, words)) for words in product(*(("", *pair) for pair in AXES)))
    return frozenset(filter(None, every))


class _Nearest:
    """The id nearest to an unknown one: what a component is also called, else the one spelled most alike."""

    def __init__(self, lexicon: Lexicon) -> None:
        self._lexicon = lexicon
        self._named = {name: id_ for id_, entry in lexicon.components.items() for name in entry.names}
        self._found: dict[tuple[Sort, str], str] = {}

    def __call__(self, sort: Sort, unknown: str) -> str:
        if (sort, unknown) not in self._found:
            if len(self._found) == SEARCHED:
                return "."
            components = sort == "component"
            ids = self._lexicon.components if components else self._lexicon.actions
            said = unknown.replace("_", " ").casefold()
            named = self._named.get(said) or self._named.get(said.removesuffix("s")) if components else None
            near = [named] if named else get_close_matches(unknown, ids, 1)
            self._found[sort, unknown] = _perhaps(near)
        return self._found[sort, unknown]


def _alone(record: Written, names: Names, lexicon: Lexicon, nearest: _Nearest) -> Iterator[str]:
    """What is wrong with a record beside the names of the file and the lexicon, as `column: why`."""
    match record:
        case Operation():
            yield from _operation(record, names, lexicon, nearest)
        case Part():
            yield from _part(record, names, lexicon, nearest)
        case Fee():
            yield from _fee(record, lexicon, nearest)
        case Supplies():
            yield from _supplies(record)
        case TaxRule():
            yield from _tax(record, names)


def _operation(record: Operation, names: Names, lexicon: Lexicon, nearest: _Nearest) -> Iterator[str]:
    if record.component not in lexicon.components:
        yield _unknown("component", record.component, nearest("component", record.component))
    if record.action not in lexicon.actions:
        yield _unknown("action", record.action, nearest("action", record.action))
    yield from _places(record.locations)
    yield from _years(record.scope)
    if record.sublet is None and "hours" not in record.model_fields_set:
        yield "hours: is empty, and rows of kind operation without a sublet price need it."
    if record.sublet is not None and record.hours:
        yield "sublet: the row tells hours as well; put one of the two into a row of its own."
    if record.rate not in names.rates and (record.hours or record.rate != "standard"):
        yield f"rate: no labor rate is called '{record.rate}'{_perhaps(get_close_matches(record.rate, names.rates, 1))}"
    if record.overlap_hours and not record.overlaps:
        yield "overlap_hours: the column overlaps names no group they are shared with."
    if record.overlap_hours > record.hours:
        yield "overlap_hours: more hours would be taken off than the work has."
    for key in record.requires:
        if key == record.key:
            yield "requires: the operation requires itself."
        elif key not in names.operations:
            yield f"requires: no operation is called '{key}'{_perhaps(get_close_matches(key, names.operations, 1))}"
    for item in record.fluids:
        key, quantity = quantity_of(item)
        if key not in names.fluids:
            yield f"fluids: no fluid is called '{key}'{_perhaps(get_close_matches(key, names.fluids, 1))}"
        if quantity is None:
            yield f"fluids: '{item}' tells no quantity above 0; write it like {key or 'oil'}*4.5."
    for item in record.with_parts:
        component, quantity = quantity_of(item)
        if component not in lexicon.components:
            yield _unknown("with_parts", component, nearest("component", component))
        elif component not in names.parts:
            yield f"with_parts: the book has no part for {component}."
        if quantity is None:
            yield f"with_parts: '{item}' tells no quantity above 0; write it like {component or 'brake_hardware'}*2."


def _part(record: Part, names: Names, lexicon: Lexicon, nearest: _Nearest) -> Iterator[str]:
    if record.component not in lexicon.components:
        yield _unknown("component", record.component, nearest("component", record.component))
    yield from _places(record.locations)
    yield from _years(record.scope)
    if record.price is None and record.cost is None:
        yield "price: the part has neither a price nor a cost."
    elif record.price is None and not names.markups:
        yield "cost: the part has no price, and the book no markup to make one from its cost."


def _fee(record: Fee, lexicon: Lexicon, nearest: _Nearest) -> Iterator[str]:
    if record.per == "document" and record.component:
        yield "component: a fee for each document has none; write component into per."
    elif record.per == "component" and not record.component:
        yield "component: is empty, and a fee for each component needs it."
    elif record.component and record.component not in lexicon.components:
        yield _unknown("component", record.component, nearest("component", record.component))


def _supplies(record: Supplies) -> Iterator[str]:
    if record.at_least is not None and record.at_most is not None and record.at_least > record.at_most:
        yield "at_least: is above at_most."


def _tax(record: TaxRule, names: Names) -> Iterator[str]:
    for kind in record.on:
        if kind not in TAXED_KINDS and kind not in names.categories:
            near = get_close_matches(kind, (*TAXED_KINDS, *names.categories), 1)
            yield f"on: '{kind}' is neither a kind of line nor a tax category of a row{_perhaps(near)}"


def _identities(record: Written) -> Iterator[tuple[object, str]]:
    """What no two rows may share: (what it is, how to say so)."""
    match record:
        case Operation():
            scope = record.scope
            yield ("operation", record.key), f"key: {record.key} is the same operation key"
            yield (
                ("work", record.component, record.action, frozenset(record.locations), *_told_scope(scope)),
                "component: it has the same component, action, locations and vehicles",
            )
        case Part() | Fluid() | Fee():
            yield (type(record), record.key), f"key: {record.key} is the same key"
        case LaborRate() | TaxRule():
            yield (type(record), record.name), f"name: {record.name} is the same name"
        case Markup():
            yield (Markup, record.cost_from), f"cost_from: {record.cost_from} is the same beginning"
        case Minimum():
            yield (Minimum, record.of), f"of: {record.of} is the same minimum"
        case Supplies():
            yield Supplies, "row: a book has one supplies rule, and this is one"


def _told_scope(scope: Scope) -> tuple[str, str, int | None, int | None]:
    return (scope.make or "").casefold(), (scope.model or "").casefold(), scope.year_from, scope.year_to


def _circles(placed: Sequence[Placed]) -> Iterator[Problem]:
    """The first circle of operations that require one another."""
    operations = {each.record.key: each for each in placed if isinstance(each.record, Operation)}
    graph = {
        key: [after for after in each.record.requires if after != key]
        for key, each in operations.items()
        if isinstance(each.record, Operation)
    }
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        circle: list[str] = error.args[1][::-1]
        number, place, _ = operations[circle[0]]
        yield Problem(number, f"{place}, requires: {' requires '.join(circle)}; break the circle.")


def _places(locations: Iterable[str]) -> Iterator[str]:
    for location in locations:
        if location not in legal_locations():
            words = frozenset(location.replace("_", " ").lower().split())
            same = [legal for legal in legal_locations() if frozenset(legal.split()) == words]
            near = same or get_close_matches(location, sorted(legal_locations()), 1)
            yield f"locations: '{location}' is no location{_perhaps(near)}"


def _years(scope: Scope) -> Iterator[str]:
    if scope.year_from and scope.year_to and scope.year_from > scope.year_to:
        yield f"year_from: {scope.year_from} is after year_to {scope.year_to}."


def _unknown(column: str, id_: str, perhaps: str) -> str:
    sort = "action" if column == "action" else "component"
    return f"{column}: the lexicon has no {sort} '{id_}'{perhaps}"


def _perhaps(near: Sequence[str]) -> str:
    return f"; did you mean {near[0]}?" if near else "."
