"""Which fields of a finding are right, each against every acceptable answer."""

from collections.abc import Iterable
from dataclasses import dataclass

from narrate.records.case import Expected
from narrate.records.walkaround import Finding
from narrate.score.counts import FIELDS, Field
from narrate.score.names import Names, name_keys

_PLACE_ORDER = ("front", "rear", "left", "right", "upper", "lower", "inner", "outer")
_SIDES = frozenset(("left", "right"))


@dataclass(frozen=True)
class Rightness:
    """For each field: right, wrong, or None where the case does not score it."""

    component: bool | None
    location: bool | None
    status: bool | None
    condition: bool | None
    action: bool | None

    def of(self, field: Field) -> bool | None:
        """The field called so."""
        verdict: bool | None = getattr(self, field)
        return verdict

    @property
    def whole(self) -> bool:
        """No scored field is wrong."""
        return all(self.of(field) is not False for field in FIELDS)


def compare_fields(expected: Expected, finding: Finding, *, names: Names) -> Rightness:
    """Compare a finding with what was expected.

    A condition is right when any of the finding's conditions is an acceptable one; an action when the
    first one recommended is, or when none may be given and none is. Locations are right when they are
    exactly one of the acceptable lists, in any order.
    """
    action = finding.recommendation.action
    return Rightness(
        component=same_component(expected.component, finding, names=names),
        location=None if expected.locations is None else _located(expected, finding),
        status=None if expected.status is None else expected.status == finding.status,
        condition=bool(_conditions_right(expected, finding, names)) if expected.conditions else None,
        action=None if expected.actions is None else _same_action(expected.actions, action, names),
    )


def same_component(accepted: Iterable[str], finding: Finding, *, names: Names) -> bool:
    """Whether any accepted name is a name of the finding's component."""
    component = finding.component
    own = {component.name, component.id} | names.of_component(component.id)
    return not name_keys(accepted).isdisjoint(name_keys(own))


def conditions_beyond(expected: Expected, finding: Finding, *, names: Names) -> int:
    """How many of the finding's conditions are none of the acceptable ones."""
    return len(finding.conditions) - _conditions_right(expected, finding, names)


def side_swapped(expected: Expected, finding: Finding) -> bool | None:
    """Whether the finding names the other side; None where one side alone is not what was asked for.

    One side is asked for when some acceptable answer names it and none names the other.
    """
    asked = {side for answer in expected.locations or () for side in _sides(answer)}
    if len(asked) != 1:
        return None
    return bool(_sides(finding.locations)) and asked.isdisjoint(_sides(finding.locations))


def verdict_flipped(expected: Expected, finding: Finding) -> bool | None:
    """Whether ok was turned into a fault or a fault into ok; None where neither was expected."""
    if expected.status not in ("ok", "fault"):
        return None
    return finding.status in ("ok", "fault") and finding.status != expected.status


def place_key(location: str) -> tuple[str, ...]:
    """The words of a location in canonical order; unknown words come last."""
    order = {word: number for number, word in enumerate(_PLACE_ORDER)}
    return tuple(sorted(location.lower().split(), key=lambda word: (order.get(word, 99), word)))


def places_overlap(expected: Expected, finding: Finding) -> float:
    """How near the locations are to the nearest acceptable answer, 0 to 1, by their words."""
    found = {word for location in finding.locations for word in place_key(location)}
    answers = [{word for place in answer for word in place_key(place)} for answer in expected.locations or ()]
    return max((len(found & answer) / len(found | answer) for answer in answers if found | answer), default=0.0)


def _sides(locations: Iterable[str]) -> set[str]:
    return {word for location in locations for word in place_key(location)} & _SIDES


def _located(expected: Expected, finding: Finding) -> bool:
    found = {place_key(location) for location in finding.locations}
    return any(found == {place_key(place) for place in answer} for answer in expected.locations or ())


def _conditions_right(expected: Expected, finding: Finding, names: Names) -> int:
    accepted = name_keys(expected.conditions or ())
    return sum(
        not accepted.isdisjoint(name_keys({condition.name, condition.id} | names.of_condition(condition.id)))
        for condition in finding.conditions
    )


def _same_action(accepted: tuple[str, ...], action: str | None, names: Names) -> bool:
    if action is None or not accepted:
        return action is None and not accepted
    return not name_keys(accepted).isdisjoint(name_keys({action} | names.of_action(action)))
