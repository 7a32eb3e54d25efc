"""Findings as wholes: confirmed, dropped, restored, added, made two, made one."""

import pytest
from corrected import AT, confirmed, corrected, found, of, word

from narrate.errors import UsageError
from narrate.judge.unsettled import what_blocks
from narrate.records.recording import Recording
from narrate.records.walkaround import Evidence, Unplaced, Walkaround


def state(walkaround: Walkaround, id_: str) -> str:
    """The state of a finding."""
    return next(f.review.state for f in walkaround.findings if f.id == id_)


def with_unplaced() -> Walkaround:
    """The example with words that fit nowhere."""
    piece = Evidence(recording="r1", first_word=0, last_word=2, said="Customer says it")
    return found().model_copy(update={"unplaced": (Unplaced(id="u1", why="…", evidence=(piece,)),)})


def test_confirming_says_who_and_when_and_is_made_once() -> None:
    walkaround = confirmed(found())
    assert {f.review.state for f in walkaround.findings} == {"confirmed"}
    assert {(f.review.by, f.review.at) for f in walkaround.findings} == {("Ann", AT)}
    assert corrected(walkaround, "confirm", by="Bo", findings=["f1"]) is walkaround


def test_what_was_corrected_stays_corrected_when_it_is_confirmed() -> None:
    walkaround = corrected(found(), "status", finding="f1", to="unclear", seen="fault")
    assert state(confirmed(walkaround), "f1") == "corrected"


def test_a_dropped_finding_is_kept_with_why_and_counts_for_nothing() -> None:
    before = found()
    walkaround = corrected(before, "drop", finding="f1", why="that was the other car")
    dropped = walkaround.findings[0]
    assert dropped.review.why == "that was the other car"
    assert "f1" not in walkaround.review_order
    assert "f1" not in [block.about for block in what_blocks(walkaround)]
    assert [s for s in before.suggestions if s.for_ == "f1"]
    assert not [s for s in walkaround.suggestions if s.for_ == "f1"]
    assert walkaround.concerns[0].state == "open"


def test_restoring_gives_back_the_state_before() -> None:
    walkaround = corrected(found(), "drop", finding="f1", why="no")
    assert corrected(walkaround, "restore", finding="f1").findings[0].review.state == "unreviewed"
    walkaround = corrected(confirmed(found()), "drop", finding="f1", why="no")
    assert state(corrected(walkaround, "restore", finding="f1"), "f1") == "confirmed"
    added = corrected(found(), "add", component="tire", status="ok")
    id_ = of(added, "tire").id
    added = corrected(added, "drop", finding=id_, why="no")
    assert state(corrected(added, "restore", finding=id_), id_) == "added"
    assert corrected(added, "restore", finding="f1") is added


def test_an_added_finding_has_the_words_that_were_marked() -> None:
    walkaround = found()
    first = word(walkaround, "serpentine")
    evidence = {"recording": "r1", "first_word": first, "last_word": first + 1}
    after = corrected(
        walkaround, "add", component="engine_oil", locations=["front"], status="fault",
        conditions=[{"id": "leaking", "certainty": "suspected"}], action="replace", evidence=evidence,
    )  # fmt: skip
    oil = of(after, "engine_oil")
    assert oil.evidence[0].said == "Serpentine belt"
    assert (oil.review.state, oil.confidence.overall, oil.recommendation.action) == ("added", 1.0, "replace")
    assert oil.conditions[0].certainty == "suspected"
    assert oil.id == "f5"


def test_an_added_brake_brings_its_caution() -> None:
    assert of(corrected(found(), "add", component="brake_hose", status="fault"), "brake_hose").cautions == ("brakes",)


def test_words_that_fit_nowhere_and_suggestions_are_taken_up() -> None:
    walkaround = with_unplaced()
    [*_, suggestion] = walkaround.suggestions
    assert "u1" in [block.about for block in what_blocks(walkaround)]
    after = corrected(
        walkaround, "add", component="tire", status="ok", unplaced="u1", suggestion=suggestion.id
    )  # fmt: skip
    assert of(after, "tire").evidence == walkaround.unplaced[0].evidence
    assert {(d.about, d.decided) for d in after.decisions} == {("u1", "taken_up"), (suggestion.id, "taken_up")}
    assert "u1" not in [block.about for block in what_blocks(after)]
    assert after.unplaced == walkaround.unplaced


@pytest.mark.parametrize(
    "keys",
    [
        {"component": "nothing"},
        {"evidence": {"recording": "r1", "first_word": 3, "last_word": 900}},
        {"evidence": {"recording": "r9", "first_word": 0, "last_word": 0}},
        {"evidence": {"recording": "r1", "first_word": 3, "last_word": 2}},
        {"unplaced": "u9"},
        {"suggestion": "s99"},
        {"locations": ["left front"]},
        {"status": "ok", "conditions": [{"id": "worn", "certainty": "stated"}]},
    ],
)
def test_what_cannot_be_added_is_refused(keys: dict[str, object]) -> None:
    with pytest.raises(UsageError):
        corrected(found(), "add", **{"component": "tire", "status": "fault", **keys})


def test_a_finding_is_split_and_its_numbers_follow_their_places() -> None:
    walkaround = found()
    after = corrected(walkaround, "split", finding="f1", parts=[["front left"], ["front right"]])
    left, right = [f for f in after.findings if f.component.id == "brake_pad"]
    assert (left.id, right.id) == ("f1", "f5")
    assert [str(m.value) for m in left.measurements] == ["3"]
    assert [str(m.value) for m in right.measurements] == ["4"]
    assert left.evidence == right.evidence == walkaround.findings[0].evidence
    assert right.review.state == "corrected"
    assert [f.id for f in after.findings[:2]] == ["f1", "f5"]


def test_a_finding_without_places_is_copied() -> None:
    after = corrected(found(), "split", finding="f4", parts=[[], []])
    one, other = [f for f in after.findings if f.component.id == "drive_belt"]
    assert one.conditions == other.conditions
    assert one.quoted_prices == other.quoted_prices
    assert one.id != other.id


def test_a_finer_place_may_be_given_and_none_may_get_lost() -> None:
    finer = [["front left inner"], ["front left outer", "front right"]]
    assert len(corrected(found(), "split", finding="f1", parts=finer).findings) == 5
    for parts in ([["front left"], ["rear"]], [["front left", "front right"], []], [["front left"], ["front left"]]):
        with pytest.raises(UsageError, match="place"):
            corrected(found(), "split", finding="f1", parts=parts)


def test_two_findings_are_made_one_and_nothing_of_the_second_is_lost() -> None:
    walkaround = found()
    split = corrected(walkaround, "split", finding="f1", parts=[["front left"], ["front right"]])
    after = corrected(split, "merge", findings=["f1", "f5"])
    pads = of(after, "brake_pad")
    before = walkaround.findings[0]
    assert (pads.locations, pads.measurements, pads.evidence) == (
        before.locations,
        before.measurements,
        before.evidence,
    )
    assert [c.id for c in pads.conditions] == [c.id for c in before.conditions]
    second = next(f for f in after.findings if f.id == "f5")
    assert (second.review.state, second.review.why) == ("dropped", "merged into f1")
    with pytest.raises(UsageError, match="was dropped"):
        corrected(after, "merge", findings=["f1", "f5"])
    with pytest.raises(UsageError, match="two findings"):
        corrected(after, "merge", findings=["f1", "f1"])


def test_merging_takes_the_recommendation_and_reason_that_the_first_lacks() -> None:
    walkaround = corrected(found(), "words", finding="f1", field="reason", to="driven dry", seen=None)
    after = corrected(walkaround, "merge", findings=["f4", "f1"])
    belt = of(after, "drive_belt")
    assert (belt.recommendation.action, belt.reason) == ("replace", "driven dry")
    assert {c.id for c in belt.conditions} == {"cracked", "worn"}


def test_ids_are_never_used_again() -> None:
    walkaround = corrected(found(), "add", component="tire", status="ok")
    assert of(walkaround, "tire").id == "f5"
    gone = walkaround.model_copy(update={"findings": walkaround.findings[:4]})
    again = corrected(gone, "add", component="tire", status="ok")
    assert of(again, "tire").id == "f6"
    assert again.ids_used["f"] == 6


def test_the_recordings_are_never_touched() -> None:
    before: tuple[Recording, ...] = found().recordings
    assert corrected(found(), "drop", finding="f1", why="no").recordings == before


def test_numbers_come_along_with_an_addition() -> None:
    number = {"value": "4", "high": None, "unit": "mm", "about": False, "location": None}
    walkaround = corrected(
        with_unplaced(), "add", component="tire", status="fault", measurements=[number], unplaced="u1"
    )
    [made] = walkaround.findings[-1].measurements
    assert (str(made.value), made.unit, made.said) == ("4", "mm", "")
    with pytest.raises(UsageError, match="unit 'furlong'"):
        corrected(found(), "add", component="tire", status="fault", measurements=[{**number, "unit": "furlong"}])
