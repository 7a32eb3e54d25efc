"""Hand-made findings, expected and found."""

from collections.abc import Callable

import pytest

from narrate.records.case import Case
from narrate.records.recording import Recording, Word
from narrate.records.walkaround import (
    Component,
    Condition,
    Confidence,
    Evidence,
    Finding,
    MadeBy,
    Recommendation,
    Walkaround,
)
from narrate.score.names import Names

OTHER_NAMES = {
    "brake_rotor": {"brake disc", "disc rotor"},
    "worn": {"worn out"},
    "monitor": {"watch"},
    "sway_bar_link": {"anti roll bar link"},
}


def other_names(identifier: str) -> frozenset[str]:
    return frozenset(OTHER_NAMES.get(identifier, ()))


@pytest.fixture(scope="session")
def names() -> Names:
    return Names(of_component=other_names, of_condition=other_names, of_action=other_names)


def build_finding(
    name: str,
    *locations: str,
    status: str = "fault",
    conditions: tuple[str, ...] = (),
    action: str | None = None,
    words: tuple[int, int] = (0, 0),
    **more: object,
) -> Finding:
    evidence = Evidence(recording="r1", first_word=words[0], last_word=words[1], said="…")
    fields = {
        "id": "f1",
        "component": Component(id=name.replace(" ", "_"), name=name, system="s", heard=name),
        "locations": locations,
        "status": status,
        "conditions": tuple(Condition(id=c.replace(" ", "_"), name=c, said=c) for c in conditions),
        "recommendation": Recommendation(action=action),
        "evidence": (evidence,),
        "confidence": Confidence(overall=1, component=1, location=1, condition=1, recommendation=1),
    }
    return Finding.model_validate(fields | more)


def build_walkaround(*findings: Finding, said: str = "", **more: object) -> Walkaround:
    fields = {
        "made_by": MadeBy(program="p", lexicon="l", settings="s"),
        "recordings": (Recording(name="text", words=tuple(Word(text=word) for word in said.split())),),
        "findings": findings,
    }
    return Walkaround.model_validate(fields | more)


def build_case(*expected: dict[str, object], said: str = "", **more: object) -> Case:
    fields = {
        "schema": "narrate.case/1",
        "id": "c",
        "origin": "made up",
        "said": said,
        "finding": expected,
    }
    return Case.model_validate(fields | more)


@pytest.fixture(scope="session")
def finding() -> Callable[..., Finding]:
    return build_finding


@pytest.fixture(scope="session")
def walkaround() -> Callable[..., Walkaround]:
    return build_walkaround


@pytest.fixture(scope="session")
def case() -> Callable[..., Case]:
    return build_case
