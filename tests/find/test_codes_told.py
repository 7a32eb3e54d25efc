"""A trouble code belongs to the nearest finding, also where another part stands nearer."""

from collections.abc import Callable

import pytest

from narrate.find.findings import Context
from narrate.find.mining import mine, text_recording
from narrate.find.stages import run_stages
from narrate.find.vocabulary import Vocabulary
from narrate.records.walkaround import Finding

Found = Callable[[str], tuple[Finding, ...]]


@pytest.fixture(scope="module")
def found(ready: Vocabulary) -> Found:
    """The findings of a text."""
    context = Context("us", "left", "r1")
    return lambda text: mine(run_stages(text_recording(text).words, ready), ready, context).findings


@pytest.mark.parametrize(
    ("said", "codes"),
    [
        ("Gas cap seal's split. That's your P zero four five five. Cap's eighteen bucks.", {"fuel_cap": ("P0455",)}),
        (
            "The left boot is torn. The oxygen sensor is dead, that's the P0135.",
            {"cv_boot": (), "oxygen_sensor": ("P0135",)},
        ),
    ],
)
def test_a_code_belongs_to_the_nearest_finding(found: Found, said: str, codes: dict[str, tuple[str, ...]]) -> None:
    assert codes == {finding.component.id: finding.codes for finding in found(said)}


def test_a_code_far_from_all_findings_is_none_of_theirs(found: Found) -> None:
    said = "The left boot is torn. " + "We talked about the weather and the game last night. " * 6 + "P0135."
    assert [()] == [finding.codes for finding in found(said)]
