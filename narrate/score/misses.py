"""What went wrong in a case, in words, for those who tune."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from narrate.records.case import Expected
from narrate.records.walkaround import Finding
from narrate.score.counts import FIELDS, Field
from narrate.score.fields import compare_fields
from narrate.score.names import Names
from narrate.score.pairing import Pairing


@dataclass(frozen=True)
class Miss:
    """One thing that went wrong."""

    kind: Literal["missing", "extra", "wrong"]
    component: str
    text: str
    """`location: rear right expected, rear left found`."""


def list_misses(pairs: Iterable[tuple[Expected, Finding]], pairing: Pairing, *, names: Names) -> tuple[Miss, ...]:
    """Owed findings not found, findings nobody expected, and wrong fields of the others."""
    missing = (Miss("missing", expected.component[0], _owed(expected)) for expected in pairing.missed)
    extra = (Miss("extra", finding.component.name, _given(finding)) for finding in pairing.extra)
    wrong = (
        Miss("wrong", finding.component.name, f"{name}: {_wanted(expected, name)} expected, {given} found")
        for expected, finding in pairs
        for name in FIELDS
        if compare_fields(expected, finding, names=names).of(name) is False
        for given in [_had(finding, name)]
    )
    return (*missing, *extra, *wrong)


def _owed(expected: Expected) -> str:
    return ", ".join(f"{name} {_wanted(expected, name)}" for name in FIELDS if name != "component")


def _given(finding: Finding) -> str:
    fields = ", ".join(f"{name} {_had(finding, name)}" for name in FIELDS if name != "component")
    return f"{fields}; said: {' … '.join(stretch.said for stretch in finding.evidence)}"


def _wanted(expected: Expected, name: Field) -> str:
    answers: dict[Field, tuple[str, ...] | None] = {
        "component": expected.component,
        "location": None if expected.locations is None else tuple(map(_listed, expected.locations)),
        "status": expected.status and (expected.status,),
        "condition": expected.conditions or None,
        "action": expected.actions,
    }
    accepted = answers[name]
    return "(not scored)" if accepted is None else " or ".join(accepted) or "none"


def _had(finding: Finding, name: Field) -> str:
    return {
        "component": finding.component.name,
        "location": _listed(finding.locations),
        "status": finding.status,
        "condition": _listed(tuple(condition.name for condition in finding.conditions)),
        "action": finding.recommendation.action or "none",
    }[name]


def _listed(items: tuple[str, ...]) -> str:
    return " + ".join(items) or "none"
