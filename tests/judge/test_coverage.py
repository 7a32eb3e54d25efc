"""What a full inspection would have looked at and nobody spoke of."""

import pytest
from judged import finding, lexicon, rules, walk

from narrate.judge.coverage import list_not_mentioned
from narrate.records.reviewed import Review
from narrate.records.walkaround import Finding, Status, Walkaround

ITEMS = {key: item.name for key, item in rules().inspection.items()}


def covered(*findings: Finding, inspection: bool = True) -> Walkaround:
    """Findings with what is missing beside them."""
    return list_not_mentioned(walk(*findings), rules(), lexicon(), inspection=inspection)


def test_without_findings_everything_is_missing_in_the_order_of_the_list() -> None:
    assert tuple(ITEMS.values()) == covered().not_mentioned
    assert () == covered().without_verdict


def test_without_an_inspection_nothing_is_listed() -> None:
    left = covered(finding("oil_pan", status="unclear"), inspection=False)
    assert ((), ()) == (left.not_mentioned, left.without_verdict)


def test_lists_of_an_inspection_go_when_none_is_wanted_any_more() -> None:
    before = covered(finding("brake_pad", status="unclear"))
    assert before.not_mentioned
    assert before.without_verdict
    after = list_not_mentioned(before, rules(), lexicon(), inspection=False)
    assert ((), ()) == (after.not_mentioned, after.without_verdict)


@pytest.mark.parametrize("key", sorted(ITEMS))
def test_a_word_of_its_first_part_touches_every_item(key: str) -> None:
    item = rules().inspection[key]
    left = covered(finding(item.components[0], status="ok"))
    assert item.name not in left.not_mentioned
    assert item.name not in left.without_verdict
    assert item.source.strip()


@pytest.mark.parametrize(
    ("part", "item"),
    [
        ("brake_pad", "brake_linings"),
        ("brake_shoe", "brake_linings"),
        ("parking_brake_cable", "parking_brake"),
        ("wheel_speed_sensor", "antilock_brakes"),
        ("abs_module", "antilock_brakes"),
    ],
)
def test_a_part_touches_the_whole_it_belongs_to(part: str, item: str) -> None:
    assert ITEMS[item] not in covered(finding(part)).not_mentioned


def test_one_part_does_not_touch_its_neighbors() -> None:
    left = covered(finding("brake_pad")).not_mentioned
    assert len(ITEMS) - 1 == len(left)
    assert ITEMS["brake_rotors_and_drums"] in left


def test_the_whole_does_not_touch_an_item_of_its_parts() -> None:
    assert ITEMS["brake_linings"] in covered(finding("disc_brake", status="ok")).not_mentioned


@pytest.mark.parametrize("statuses", [("unclear",), ("unchecked",), ("unclear", "unchecked")])
def test_talk_without_a_verdict_is_listed_apart(statuses: tuple[Status, ...]) -> None:
    findings = [finding("brake_pad", id=f"f{n}", status=each) for n, each in enumerate(statuses)]
    left = covered(*findings)
    assert (ITEMS["brake_linings"],) == left.without_verdict
    assert ITEMS["brake_linings"] not in left.not_mentioned


@pytest.mark.parametrize("status", ["fault", "ok", "work"])
def test_one_verdict_is_enough(status: Status) -> None:
    left = covered(finding("brake_pad", status="unclear"), finding("brake_shoe", id="f2", status=status))
    assert () == left.without_verdict


def test_a_dropped_finding_touches_nothing() -> None:
    left = covered(finding("brake_pad", review=Review(state="dropped")))
    assert ITEMS["brake_linings"] in left.not_mentioned


def test_an_unknown_part_touches_nothing_and_does_no_harm() -> None:
    assert len(ITEMS) == len(covered(finding("ghost")).not_mentioned)


def test_listing_again_gives_the_same() -> None:
    once = covered(finding("brake_pad", status="unclear"))
    assert once == list_not_mentioned(once, rules(), lexicon(), inspection=True)
