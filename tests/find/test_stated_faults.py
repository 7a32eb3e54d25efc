"""Whatever part it is: a fault said plainly of it, with nothing approved, never comes out as fine."""

from collections.abc import Callable

import pytest

from narrate.find.findings import Context
from narrate.find.mining import Mined, mine, text_recording
from narrate.find.stages import run_stages
from narrate.find.vocabulary import Vocabulary
from narrate.words.lexicon import Lexicon

Found = Callable[[str], Mined]

PARTS = (
    *"strut tire alternator water_pump brake_rotor brake_caliper wheel_bearing battery radiator drive_belt".split(),
    *"ball_joint wiper_blade headlight windshield horn coolant muffler blower_motor".split(),
)
CONDITIONS = "leaking worn cracked noisy seized corroded not_working bent loose dirty".split()
IMPOSSIBLE = (
    *"radiator:cloudy windshield:low air_filter:loose battery:noisy drive_belt:leaking".split(),
    *"coolant:cracked tire:seized battery:cloudy radiator:flat headlight:seized".split(),
)
"""Pairs that kinds.toml rules out: misheard or misspoken, and no praise."""

MISSPELLED = {
    "Rare roters are scored.": "brake_rotor",
    "coolent reservoir is cracked": "coolant_reservoir",
    "the suspention is sagging": "suspension",
    "the radiater is leaking": "radiator",
    "offside swaybarr is loose": "sway_bar",
    "strutt mount is noisy": "strut_mount",
    "the kaliper is seized": "brake_caliper",
}


@pytest.fixture(scope="module")
def found(ready: Vocabulary) -> Found:
    """What a text gives."""
    context = Context("us", "left", "r1")
    return lambda text: mine(run_stages(text_recording(text).words, ready), ready, context)


@pytest.fixture(scope="module")
def grid(lexicon: Lexicon) -> list[tuple[str, str]]:
    """Every (part, condition) of the grid that makes sense."""
    return [(part, c) for part in PARTS for c in CONDITIONS if lexicon.legal(part, c)]


def test_the_grid_is_large_and_every_part_of_it_has_something(grid: list[tuple[str, str]]) -> None:
    assert (len(grid) >= 60, set(PARTS)) == (True, {part for part, _ in grid})


@pytest.mark.parametrize(
    "frame", ["the {part} is {condition}", "{part} {condition}", "the left {part} is {condition}, replace it"]
)
def test_a_fault_stated_plainly_is_a_fault(
    found: Found, lexicon: Lexicon, grid: list[tuple[str, str]], frame: str
) -> None:
    expected: dict[str, list[tuple[str, str, list[str]]]] = {}
    told: dict[str, list[tuple[str, str, list[str]]]] = {}
    for part, condition in grid:
        said = frame.format(part=lexicon.name(part, "us"), condition=lexicon.conditions[condition].name)
        expected[said] = [(part, "fault", [condition])]
        told[said] = [(f.component.id, f.status, [c.id for c in f.conditions]) for f in found(said).findings]
    assert {} == {said: told[said] for said in told if told[said] != expected[said]}


def test_the_impossible_pairs_are_impossible(lexicon: Lexicon) -> None:
    assert [] == [pair for pair in IMPOSSIBLE if lexicon.legal(*pair.split(":"))]


def test_low_pads_are_worn_pads(found: Found) -> None:
    assert ["fault"] == [f.status for f in found("The front brake pads are low.").findings]


def test_a_condition_such_a_part_cannot_have_does_not_make_it_fine(found: Found, lexicon: Lexicon) -> None:
    fine = []
    for pair in IMPOSSIBLE:
        part, condition = pair.split(":")
        said = f"the {lexicon.name(part, 'us')} is {lexicon.conditions[condition].name}"
        fine += [said for finding in found(said).findings if finding.status == "ok"]
    assert [] == fine


@pytest.mark.parametrize("said", MISSPELLED)
def test_a_fault_of_a_part_spelled_wrong_is_found_or_listed_and_not_fine(found: Found, said: str) -> None:
    mined = found(said)
    assert [] == [finding for finding in mined.findings if finding.status == "ok"]
    assert mined.findings or mined.unplaced


def test_a_fault_of_a_part_spelled_wrong_is_a_fault(found: Found) -> None:
    told = {said: [(f.component.id, f.status) for f in found(said).findings] for said in MISSPELLED}
    assert {said: [(part, "fault")] for said, part in MISSPELLED.items()} == told
