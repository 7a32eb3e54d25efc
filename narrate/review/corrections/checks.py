"""What a correction must be right about: ids of the lexicon, legal places, and that nobody changed it meanwhile."""

from collections.abc import Iterable, Sequence

from narrate.errors import ConflictError, UsageError
from narrate.find.places import AXES, ORDER
from narrate.records.walkaround import Component, Condition, Finding, Status, Walkaround
from narrate.review.corrections.asked_fields import ConditionTo
from narrate.words.lexicon import Lexicon

NOTHING_WRONG = ("ok", "unchecked")
"""Statuses of findings that have no conditions."""


def finding_of(walkaround: Walkaround, id_: str) -> Finding:
    """The finding of this id, dropped or not."""
    for finding in walkaround.findings:
        if finding.id == id_:
            return finding
    message = f"There is no finding {id_} in this list any more; load the page again."
    raise UsageError(message)


def standing(walkaround: Walkaround, id_: str) -> Finding:
    """The finding of this id, which must not have been dropped."""
    finding = finding_of(walkaround, id_)
    if finding.review.state == "dropped":
        message = f"The {finding.component.name} ({id_}) was dropped; restore it first."
        raise UsageError(message)
    return finding


def same_as_seen(present: object, seen: object, to: object, what: str, by: str | None) -> bool:
    """Whether there is nothing to do, because it is so already; ConflictError where someone changed it meanwhile."""
    if present == to:
        return True
    if present != seen:
        shown = ", ".join(map(str, present)) if isinstance(present, tuple) else present
        who = f" by {by}" if by else ""
        told = shown if shown not in (None, "") else "nothing"
        message = f"The {what} was changed to {told}{who} since you loaded this; look at it again."
        raise ConflictError(message)
    return False


def component_of(lexicon: Lexicon, id_: str, market: str, heard: str) -> Component:
    """The component of this id as this market names it."""
    if id_ not in lexicon.components:
        message = f"There is no part '{id_}' in the lexicon; choose one that is listed."
        raise UsageError(message)
    return Component(id=id_, name=lexicon.name(id_, market), system=lexicon.system_of[id_], heard=heard)


def legal_place(place: str) -> str:
    """A place of the vehicle, its words in their fixed order: `front left`, never `left front`."""
    tokens = place.split()
    axes = [next((n for n, axis in enumerate(AXES) if token in axis), None) for token in tokens]
    twice = len(set(axes)) < len(axes)
    if not tokens or None in axes or twice or tokens != sorted(tokens, key=ORDER.__getitem__):
        order = ", ".join(" or ".join(axis) for axis in AXES)
        message = f"'{place}' is no place; give one word each, in this order: {order}."
        raise UsageError(message)
    return " ".join(tokens)


def legal_places(places: Iterable[str]) -> tuple[str, ...]:
    """Places, each once."""
    return tuple(dict.fromkeys(legal_place(place) for place in places))


def conditions_of(
    lexicon: Lexicon, asked: Sequence[ConditionTo], status: Status, known: Sequence[Condition] = ()
) -> tuple[Condition, ...]:
    """Conditions by their ids, each once; what was said of those known already is kept."""
    if asked and status in NOTHING_WRONG:
        word = "fine" if status == "ok" else "not looked at"
        message = f"It is listed as {word}; say first that it is a fault, then what is wrong with it."
        raise UsageError(message)
    before = {condition.id: condition for condition in known}
    made: dict[str, Condition] = {}
    for each in asked:
        entry = lexicon.conditions.get(each.id)
        if entry is None:
            message = f"There is no condition '{each.id}' in the lexicon; choose one that is listed."
            raise UsageError(message)
        said = before[each.id].said if each.id in before else ""
        made[each.id] = Condition(id=each.id, name=entry.name, certainty=each.certainty, said=said)
    return tuple(made.values())


def action_of(lexicon: Lexicon, id_: str | None) -> str | None:
    """An action of the lexicon, or none."""
    if id_ is not None and id_ not in lexicon.actions:
        message = f"There is no action '{id_}' in the lexicon; choose one that is listed."
        raise UsageError(message)
    return id_


def unit_of(lexicon: Lexicon, symbol: str) -> str:
    """A unit's symbol as records have it."""
    if symbol not in {unit.symbol for unit in lexicon.units.values()}:
        message = f"There is no unit '{symbol}' in the lexicon; choose one that is listed."
        raise UsageError(message)
    return symbol


def with_finding(walkaround: Walkaround, finding: Finding) -> Walkaround:
    """The same with this finding in the place of the one with its id."""
    findings = tuple(finding if each.id == finding.id else each for each in walkaround.findings)
    return walkaround.model_copy(update={"findings": findings})
