"""One walkaround that has something of everything, made by hand."""

from decimal import Decimal

import pytest
from made_findings import BEARING, DROPPED, SEAL, TIRES, heard

from narrate.records.recording import Recording, Word
from narrate.records.walkaround import (
    Concern,
    Contradiction,
    MadeBy,
    Odometer,
    Suggestion,
    Unplaced,
    Vehicle,
    Walkaround,
)


@pytest.fixture(scope="session")
def walkaround() -> Walkaround:
    return Walkaround(
        made_by=MadeBy(program="narrate 0.1.0", lexicon="sha256:0", settings="sha256:0"),
        vehicle=Vehicle(year=2014, make="Ford", odometer=Odometer(value=Decimal("48210"), unit="mi")),
        recordings=(Recording(name="bay2.m4a", duration_s=125.0, model="base", words=(Word(text="the"),) * 20),),
        concerns=(Concern(id="c1", text="grinding when turning", state="answered"),),
        findings=(BEARING, TIRES, SEAL, DROPPED),
        unplaced=(Unplaced(id="u1", why="no part named", evidence=(heard(15, 19, "-it is shot"),)),),
        suggestions=(Suggestion(id="s1", kind="goes_with", text="Hub nut", source="common practice"),),
        contradictions=(Contradiction(between=("f1", "f2"), about="verdict", text="Two verdicts on it."),),
        not_mentioned=("wiper blades",),
    )


@pytest.fixture(scope="session")
def nothing() -> Walkaround:
    return Walkaround(made_by=MadeBy(program="narrate 0.1.0", lexicon="sha256:0", settings="sha256:0"))
