"""A thing without a name in the lexicon keeps what is said of it from the parts around, and nothing is lost."""

from collections.abc import Callable

import pytest

from narrate.find.draft import Draft
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


def unknown(draft: Draft) -> list[str]:
    """The words named like parts that nothing explains."""
    return [draft.tokens[m.first].text for m in draft.mentions if m.family == "unknown"]


def listed(mined: Mined) -> str:
    """All words listed as not understood."""
    return " ".join(piece.said for item in mined.unplaced for piece in item.evidence)


@pytest.mark.parametrize("before", ["the", "a", "this", "that", "another", "both"])
def test_a_strange_word_behind_an_article_is_an_unknown_part(read: Callable[[str], Draft], before: str) -> None:
    assert ["blarg"] == unknown(read(f"{before} blarg is leaking"))


@pytest.mark.parametrize(
    "said",
    [
        "well blarg I said",
        "the strut is leaking",
        "the weather is awful",
        "the kaliper is seized",
        "the 12v is low",
        "",
    ],
)
def test_what_is_known_guessed_or_no_name_is_no_unknown_part(read: Callable[[str], Draft], said: str) -> None:
    assert [] == unknown(read(said))


@pytest.mark.parametrize("said", ["the blarg is leaking", "this wibbet is cracked, replace it"])
def test_an_unknown_part_is_no_finding_and_is_listed(found: Found, said: str) -> None:
    mined = found(said)
    assert ((), True) == (mined.findings, said.split()[1] in listed(mined))


@pytest.mark.parametrize(
    ("said", "part", "unsaid"),
    [
        ("The radiator looks good. The flumbert is bent.", "radiator", "bent"),
        ("The left strut is fine. The glorpix is broken.", "strut", "broken"),
        ("the zindle is noisy, the alternator is fine", "alternator", "noisy"),
    ],
)
def test_an_unknown_parts_fault_does_not_spoil_a_fine_part(found: Found, said: str, part: str, unsaid: str) -> None:
    mined = found(said)
    assert [(part, "ok", ())] == [(f.component.id, f.status, f.conditions) for f in mined.findings]
    assert unsaid in listed(mined)


@pytest.mark.parametrize(
    ("said", "part", "unsaid"),
    [
        ("tire is at 4 thirty seconds. the blarg is leaking", "tire", "leaking"),
        ("The left front tire is at 5 thirty seconds. The blorple is torn.", "tire", "torn"),
        ("Front pads are at 3 mil. The blorple is torn.", "brake_pad", "torn"),
        ("The battery is at twelve volts. This wibbet is cracked.", "battery", "cracked"),
    ],
)
def test_an_unknown_parts_fault_does_not_go_to_the_part_measured_before(
    found: Found, said: str, part: str, unsaid: str
) -> None:
    mined = found(said)
    assert [(part, ())] == [(f.component.id, f.conditions) for f in mined.findings]
    assert unsaid in listed(mined)


def test_the_work_on_an_unknown_part_is_not_lost(found: Found) -> None:
    assert "replacing" in listed(found("Battery is good. the zindle needs replacing"))
