"""Which operation of the book does what a finding asks for, and why; a guess is told as a doubt.

What the book has under the finding's own component and action goes first. Where it has none, the same work under
another name is tried (SAME_WORK), then, for work that is no part's own, the system the part belongs to.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from narrate.price.book_index import BookIndex, is_for, narrowest
from narrate.price.places import lies_in, may_lie_in, say_places
from narrate.price.quantities import Counted, count_places
from narrate.records.price_book import Operation
from narrate.records.walkaround import Vehicle
from narrate.words.lexicon import Lexicon

SAME_WORK = {
    "replace": ("install",),
    "install": ("replace",),
    "order": ("replace", "install"),
    "rebuild": ("repair",),
    "inspect": ("diagnose",),
    "diagnose": ("inspect",),
    "measure": ("inspect",),
    "fasten": ("tighten",),
    "bleed_air": ("flush",),
}
"""Actions that come to the same work in a shop; common practice, no source."""
SAME_FOR_FLUIDS = {"replace": ("flush", "drain"), "flush": ("replace",), "drain": ("flush", "replace")}
"""Of fluids alone: a new one goes in when the old one is flushed or drained."""
OF_THE_SYSTEM = frozenset(
    (
        "diagnose",
        "inspect",
        "measure",
        "recharge",
        "align",
        "adjust",
        "flush",
        "top_up",
        "bleed_air",
        "program",
        "calibrate",
    )
)
"""Work on a system, which may stand in the book under the system or under what is in it."""


@dataclass(frozen=True, slots=True)
class Asked:
    """Work as a finding, an operation or a suggestion asks for it."""

    component: str
    action: str
    locations: tuple[str, ...]
    heard: str = ""


@dataclass(frozen=True, slots=True)
class Match:
    """An operation of the book for some of the places asked for."""

    operation: Operation
    counted: Counted
    why: str
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Unmatched:
    """Places that the book has no operation for, and why."""

    places: tuple[str, ...]
    why: str


@dataclass(frozen=True, slots=True)
class _Row:
    """Where in the book to look, and what to say of it."""

    component: str
    action: str
    why: str
    doubt: str | None = None


def match(asked: Asked, index: BookIndex, vehicle: Vehicle, lexicon: Lexicon) -> list[Match | Unmatched]:
    """The operations for what is asked, one for each group of places, and what the book has none for."""
    rows = [
        (row, index.operations_of(row.component, row.action, vehicle))
        for row in _where_to_look(asked, index, lexicon)
        if row.action in index.operations.get(row.component, {})
    ]
    if not rows:
        return [Unmatched(asked.locations, f"The book has no operation to {_say(asked, lexicon)}.")]
    fitting = [(row, [each for each in operations if is_for(each.scope, vehicle)]) for row, operations in rows]
    fitting = [(row, operations) for row, operations in fitting if operations]
    if not fitting:
        return [Unmatched(asked.locations, f"The book can {_say(asked, lexicon)} on other vehicles only.")]
    row, operations = fitting[0]
    groups: dict[str, list[str]] = {}
    found: dict[str, tuple[Operation, str | None]] = {}
    lost: list[str] = []
    for place in asked.locations or ("",):
        operation, doubt = _operation_at(place, operations, vehicle)
        if operation is None:
            lost.append(place)
            continue
        groups.setdefault(operation.key, []).append(place)
        found[operation.key] = operation, found.get(operation.key, (operation, None))[1] or doubt
    made: list[Match | Unmatched] = []
    for key, places in groups.items():
        operation, doubt = found[key]
        told = tuple(place for place in places if place)
        counted = count_places(operation.component, asked.heard, told, lexicon, per=operation.per)
        doubts = tuple(each for each in (row.doubt, doubt, *counted.doubts) if each)
        made.append(Match(operation, counted, row.why.format(key=key), doubts))
    if lost:
        told = tuple(place for place in lost if place)
        others = say_places(sorted({place for each in operations for place in each.locations}))
        where = f"at {say_places(told)}" if told else "where no place is told"
        made.append(Unmatched(told, f"The book can {_say(asked, lexicon)} at {others} only, not {where}."))
    return made


def _operation_at(place: str, operations: Sequence[Operation], vehicle: Vehicle) -> tuple[Operation | None, str | None]:
    """The operation for one place, and a doubt where the place is not fully told."""
    there = narrowest([each for each in operations if lies_in(place, each.locations)], vehicle)
    if there:
        # Of one vehicle's rows the one that names the place goes before the one for any place.
        return max(there, key=lambda each: max((len(row.split()) for row in each.locations), default=0)), None
    maybe = narrowest([each for each in operations if may_lie_in(place, each.locations)], vehicle)
    if len(maybe) != 1:
        return None, None
    where = f"Of the place only “{place}” was told" if place else "No place was told"
    return maybe[0], f"{where}; the book has this work at {say_places(maybe[0].locations)} only."


def _where_to_look(asked: Asked, index: BookIndex, lexicon: Lexicon) -> Iterator[_Row]:
    component, action = asked.component, asked.action
    entry = lexicon.components.get(component)
    yield _Row(component, action, "The book's {key}, by part, work and place.")
    for other, why in _other_actions(component, action, lexicon):
        yield _Row(component, other, f"The book's {{key}}: {why}")
    if entry and entry.kind == "lamp" and action in ("replace", "install"):
        for bulb in (f"{component}_bulb", "bulb") if "bulb" in asked.heard else (f"{component}_bulb",):
            doubt = f"The book has no {entry.name}, only a bulb: look whether the bulb is meant."
            yield _Row(bulb, "replace", "The book's {key}: the bulb of the lamp.", doubt)
    if entry and action == "reseal":
        for gasket in _gaskets_of(component, index, lexicon):
            name = lexicon.components[gasket].name
            unsure = None if gasket == component else f"Priced as a new {name}: look whether that is the seal meant."
            yield _Row(gasket, "replace", f"The book's {{key}}: resealed with a new {name}.", unsure)
    if action in OF_THE_SYSTEM:
        for other in _systems_of(component, action, index, lexicon):
            name = lexicon.components[other].name
            doubt = f"The book has this work under {name}: look whether it is the same."
            yield _Row(other, action, f"The book's {{key}}, under {name}.", doubt)


def _other_actions(component: str, action: str, lexicon: Lexicon) -> Iterator[tuple[str, str]]:
    entry = lexicon.components.get(component)
    if entry and entry.asked and entry.asked != action and action in ("replace", "adjust", "install", "inspect"):
        yield entry.asked, f"to {_name(entry.asked, lexicon)} is what is done to it."
    if entry and lexicon.kinds[entry.kind].mass:
        for other in SAME_FOR_FLUIDS.get(action, ()):
            yield other, f"to {_name(other, lexicon)} a fluid is to {_name(action, lexicon)} it."
    for other in SAME_WORK.get(action, ()):
        yield other, f"to {_name(other, lexicon)} is the same work as to {_name(action, lexicon)}."


def _gaskets_of(component: str, index: BookIndex, lexicon: Lexicon) -> list[str]:
    """The seal itself, else the only seal of the part that the book can replace."""
    if lexicon.components[component].kind == "seal":
        return [component]
    offered = (other for other, actions in index.operations.items() if "replace" in actions)
    seals = [each for each in offered if (entry := lexicon.components.get(each)) and entry.kind == "seal"]
    within = [each for each in seals if lexicon.components[each].parent == component]
    return within if len(within) == 1 else []


def _systems_of(component: str, action: str, index: BookIndex, lexicon: Lexicon) -> Iterator[str]:
    """The parts it belongs to, then the only one of its system, or within it, that the book has this work for."""
    seen = {component}
    parent = lexicon.components[component].parent if component in lexicon.components else None
    while parent and parent not in seen:
        seen.add(parent)
        yield parent
        parent = lexicon.components[parent].parent
    system = lexicon.system_of.get(component)
    offered = [
        other for other, actions in index.operations.items() if action in actions and other in lexicon.components
    ]
    within = [other for other in offered if lexicon.components[other].parent == component]
    beside = [o for o in offered if lexicon.system_of.get(o) == system and lexicon.components[o].kind == "system"]
    for only in (within, beside):
        if len(only) == 1 and only[0] not in seen:
            yield only[0]


def _name(action: str, lexicon: Lexicon) -> str:
    return lexicon.actions[action].name if action in lexicon.actions else action.replace("_", " ")


def _say(asked: Asked, lexicon: Lexicon) -> str:
    entry = lexicon.components.get(asked.component)
    name = entry.name if entry else asked.component.replace("_", " ")
    return f"{_name(asked.action, lexicon)} {'an' if name[0] in 'aeiou' else 'a'} {name}"
