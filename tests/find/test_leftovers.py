"""Words that sound like a finding and fit nowhere are listed, so that nothing said is lost."""

from collections.abc import Callable

import pytest

from narrate.find.findings import Context
from narrate.find.mining import Mined, mine, text_recording
from narrate.find.stages import run_stages
from narrate.find.vocabulary import Vocabulary

Found = Callable[[str], Mined]


@pytest.fixture(scope="module")
def found(ready: Vocabulary) -> Found:
    """What a text gives."""
    context = Context("us", "left", "r1")
    return lambda text: mine(run_stages(text_recording(text).words, ready), ready, context)


def listed(mined: Mined) -> list[str]:
    """The words listed."""
    return [piece.said for item in mined.unplaced for piece in item.evidence]


@pytest.mark.parametrize(
    ("said", "telling"),
    [
        ("the doohickey is bent", "bent"),
        ("the thingamajig under there is leaking", "leaking"),
        ("the gizmo reads fourteen volts", "fourteen volts"),
        ("three millimeters", "three millimeters"),
        ("code P0301", "P0301"),
        ("something squeaky under the dash", "squeaky"),
        ("that whatsit needs replacing", "replacing"),
    ],
)
def test_what_was_said_of_no_known_part_is_listed(found: Found, said: str, telling: str) -> None:
    mined = found(said)
    assert ((), 1, True) == (mined.findings, len(listed(mined)), telling in listed(mined)[0])


def test_it_says_which_words_it_is_about(found: Found) -> None:
    (item,) = found("the doohickey is bent").unplaced
    named, told = item.why.split("; ")
    assert "'doohickey' was named and nothing was understood of it" == named
    assert "'bent' belongs to no part that was understood" == told


def test_the_unknown_part_is_shown_with_its_condition(found: Found) -> None:
    assert ["the doohickey is bent"] == listed(found("the doohickey is bent"))


def test_what_stands_close_together_is_listed_as_one(found: Found) -> None:
    (item,) = found("the doohickey is bent and needs replacing").unplaced
    assert ("the doohickey is bent and needs replacing", 2) == (item.evidence[0].said, item.why.count("belongs to"))


def test_what_stands_far_apart_is_listed_apart(found: Found) -> None:
    said = "the doohickey is bent. so anyway I went and had a good long look around. the gizmo is leaking"
    assert ["u1", "u2"] == [item.id for item in found(said).unplaced]


def test_only_the_clause_it_stands_in_is_shown(found: Found) -> None:
    assert ["the doodah is bent."] == listed(found("the doodah is bent. the front pads are worn out"))


def test_a_finding_beside_it_is_found_all_the_same(found: Found) -> None:
    mined = found("the doodah is bent. the front pads are worn out")
    assert ["brake_pad"] == [f.component.id for f in mined.findings]


@pytest.mark.parametrize(
    "said",
    [
        "the left front strut is leaking and needs replacing",
        "the phone rang twice and I had a coffee",
        "",
    ],
)
def test_what_was_understood_or_says_nothing_is_not_listed(found: Found, said: str) -> None:
    assert [] == listed(found(said))


@pytest.mark.parametrize(
    "said",
    [
        "if it breaks the doohickey will leak",
        "customer says something is leaking",
        "last week we had one with something bent",
    ],
)
def test_what_is_only_supposed_or_another_cars_or_the_customers_is_no_loss(found: Found, said: str) -> None:
    assert [] == listed(found(said))


def test_a_part_not_looked_at_is_a_finding_and_not_listed(found: Found) -> None:
    mined = found("I didn't check the spare tire")
    assert (["unchecked"], []) == ([f.status for f in mined.findings], listed(mined))


def test_a_reason_that_belongs_to_no_finding_is_listed(found: Found) -> None:
    said = "so flush the brake fluid, that'll help the soft pedal, okay tires, front are at five"
    assert any("soft pedal" in words for words in listed(found(said)))
