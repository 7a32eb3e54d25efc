"""Short builders of findings, numbers and walkarounds, for the tests of judging."""

from collections.abc import Iterable
from decimal import Decimal
from functools import lru_cache
from typing import Any

from narrate.records.walkaround import (
    Component,
    Condition,
    Confidence,
    Evidence,
    Finding,
    MadeBy,
    Measurement,
    Recommendation,
    Status,
    Walkaround,
)
from narrate.words.lexicon import Lexicon
from narrate.words.load import load_lexicon
from narrate.words.rules import Rules, load_rules

SURE = Confidence(overall=0.9, component=0.9, location=0.9, condition=0.9, recommendation=0.9)
MADE_BY = MadeBy(program="narrate test", lexicon="sha256:0", settings="sha256:0")
Amount = Decimal | int | str


@lru_cache(maxsize=1)
def lexicon() -> Lexicon:
    """The lexicon that narrate comes with."""
    return load_lexicon()


@lru_cache(maxsize=1)
def rules() -> Rules:
    """The rules that narrate comes with."""
    return load_rules(lexicon())


def number(
    value: Amount,
    unit: str,
    quantity: str | None,
    at: str | None = None,
    limit: Amount | None = None,
    high: Amount | None = None,
    **fields: Any,
) -> Measurement:
    """A number as said: `number(3, "mm", "thickness", at="front left", limit=2)`."""
    made: dict[str, Any] = {
        "quantity": quantity,
        "value": Decimal(value),
        "high": None if high is None else Decimal(high),
        "unit": unit,
        "location": at,
        "spoken_limit": None if limit is None else Decimal(limit),
        "said": f"{value} {unit}",
    }
    return Measurement(**(made | fields))


def condition(given: str | tuple[str, str]) -> Condition:
    """An id, or an id with its certainty; the name is the lexicon's."""
    id_, certainty = (given, "stated") if isinstance(given, str) else given
    name = lexicon().conditions[id_].name
    return Condition.model_validate({"id": id_, "name": name, "certainty": certainty, "said": name})


def finding(
    component: str,
    *,
    id: str = "f1",
    at: str | Iterable[str] = (),
    status: Status = "fault",
    conditions: Iterable[str | tuple[str, str]] = (),
    action: str | None = None,
    numbers: Iterable[Measurement] = (),
    said: str = "it was said",
    start_s: float | None = None,
    **fields: Any,
) -> Finding:
    """A finding of a component of the lexicon; a component that it lacks is kept by its id."""
    entry = lexicon().components.get(component)
    name = entry.name if entry else component.replace("_", " ")
    end_s = None if start_s is None else start_s + 1
    last = max(len(said.split()) - 1, 0)
    made: dict[str, Any] = {
        "id": id,
        "component": Component(id=component, name=name, system=lexicon().system_of.get(component, ""), heard=name),
        "locations": (at,) if isinstance(at, str) else tuple(at),
        "status": status,
        "conditions": tuple(condition(each) for each in conditions),
        "recommendation": Recommendation(action=action),
        "measurements": tuple(numbers),
        "evidence": (Evidence(recording="r1", first_word=0, last_word=last, start_s=start_s, end_s=end_s, said=said),),
        "confidence": SURE,
    }
    return Finding(**(made | fields))


def walk(*findings: Finding, **fields: Any) -> Walkaround:
    """A walkaround of these findings; `fields` are any others of the record."""
    made: dict[str, Any] = {"made_by": MADE_BY, "findings": findings}
    return Walkaround(**(made | fields))
