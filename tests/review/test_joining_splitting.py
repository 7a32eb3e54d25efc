"""Two walkarounds made one, and one that tells of two vehicles made two."""

import pytest
from corrected import AT, again, confirmed, corrected, find, found, of, word

from narrate.errors import UsageError
from narrate.records.reviewed import Signed
from narrate.records.walkaround import Walkaround
from narrate.review.corrections.joining import joined
from narrate.review.corrections.splitting import split_at

FRONT = "Customer says it grinds when braking. Front rotors are scored, that's your grinding, replace them."
REAR = "Customer says it smells of fuel. Rear shocks are leaking, replace them. Horn is fine."
TWO = (
    "Two thousand twelve Ford Focus. Front rotors are scored, replace them. Horn is fine. "
    "On to the next car, job number 4410, the silver van. Rear shocks are leaking, replace them. Battery is dead."
)


def ids(walkaround: Walkaround) -> list[str]:
    """Every id there is."""
    things = ("recordings", "concerns", "findings", "unplaced", "suggestions")
    return [each.id for name in things for each in getattr(walkaround, name)]


def halves(walkaround: Walkaround, *, look: bool = False) -> tuple[Walkaround, Walkaround]:
    """Split where the next car begins."""
    at = word(walkaround, "next") - 2
    return split_at(walkaround, "r1", at, by="Ann", at=AT, again=again, find=find if look else None)


def test_joining_keeps_everything_under_ids_of_its_own() -> None:
    first, second = confirmed(found(FRONT)), found(REAR)
    both = joined(first, second, again=again)
    assert [r.id for r in both.recordings] == ["r1", "r2"]
    assert {f.id: (f.component.id, f.review.state) for f in both.findings} == {
        "f1": ("brake_rotor", "confirmed"),
        "f2": ("shock_absorber", "unreviewed"),
        "f3": ("horn", "unreviewed"),
    }
    assert {e.recording for e in of(both, "shock_absorber").evidence} == {"r2"}
    assert {c.id: c.text for c in both.concerns} == {"c1": "it grinds when braking", "c2": "it smells of fuel"}
    assert of(both, "brake_rotor").answers == of(first, "brake_rotor").answers
    assert len(set(ids(both))) == len(ids(both))
    assert set(both.review_order) == {"f1", "f2", "f3"}
    assert both.ids_used["f"] == 3


def test_joining_carries_decisions_edits_and_drops_along() -> None:
    second = corrected(found(REAR), "decide", about="c1", decided="not_looked_at")
    second = corrected(second, "drop", finding="f2", why="no")
    second = corrected(second, "edit", recording="r1", first_word=0, last_word=0, text="Client")
    both = joined(found(FRONT), second, again=again)
    assert [d.about for d in both.decisions] == ["c2"]
    assert [(e.recording, e.text) for e in both.edits] == [("r2", "Client")]
    assert next(f.review.state for f in both.findings if f.component.id == "horn") == "dropped"


def test_an_orders_concern_of_both_is_one() -> None:
    one = corrected(found(FRONT), "concern", text="wipers smear")
    other = corrected(found(REAR), "concern", text="Wipers smear")
    other = corrected(other, "answers", finding="f2", to=["c2"], seen=[])
    both = joined(one, other, again=again)
    assert [c.text for c in both.concerns if c.origin == "order"] == ["wipers smear"]
    [smear] = [c.id for c in both.concerns if c.origin == "order"]
    assert [a.concern for a in of(both, "horn").answers] == [smear]


def test_the_first_head_stands_and_the_other_is_suggested() -> None:
    one = corrected(found(FRONT), "head", field="plate", to="AAA111", seen=None)
    other = corrected(found(REAR), "head", field="plate", to="BBB222", seen=None)
    other = corrected(other, "head", field="technician", to="Ray", seen=None)
    both = joined(one, other, again=again)
    assert (both.vehicle.plate, both.technician) == ("AAA111", "Ray")
    assert "The plate is AAA111, but the other walkaround has BBB222; check which is right." in [
        s.text for s in both.suggestions
    ]


def test_signed_lists_are_reopened_first() -> None:
    signed = found(FRONT).model_copy(update={"signed": Signed(by="Ann", at=AT)})
    with pytest.raises(UsageError, match="reopen it first"):
        joined(found(REAR), signed, again=again)
    with pytest.raises(UsageError, match="reopen it first"):
        split_at(signed, "r1", 3, by="Ann", at=AT, again=again)


def test_splitting_puts_everything_where_it_was_said() -> None:
    walkaround = found(TWO)
    first, second = halves(walkaround)
    assert [f.component.id for f in first.findings] == ["brake_rotor", "horn"]
    assert [f.component.id for f in second.findings] == ["shock_absorber", "battery"]
    assert first.recordings == second.recordings == walkaround.recordings
    assert first.vehicle == walkaround.vehicle
    assert (second.vehicle.make, second.order_number) == (None, None)
    [split] = [s.id for s in walkaround.suggestions if s.kind == "split"]
    assert [(d.about, d.decided) for d in first.decisions] == [(split, "taken_up")]
    assert not [s for s in second.suggestions if s.kind == "split"]


def test_the_second_takes_its_head_from_its_own_words() -> None:
    _, second = halves(found(TWO), look=True)
    assert second.order_number == "4410"
    assert second.vehicle.make is None
    at = word(found(TWO), "next") - 2
    assert all(h.evidence.first_word >= at for h in second.heading)


def test_words_of_the_other_vehicle_are_not_searched_again() -> None:
    first, second = halves(found(TWO))
    put_right = corrected(second, "edit", recording="r1", first_word=word(second, "battery"),
                          last_word=word(second, "battery"), text="Alternator")  # fmt: skip
    assert [f.component.id for f in put_right.findings] == ["shock_absorber", "alternator"]
    horn = word(first, "horn")
    other = corrected(first, "edit", recording="r1", first_word=horn, last_word=horn, text="Heater")
    assert {"shock_absorber", "battery"}.isdisjoint(f.component.id for f in other.findings)
    assert of(other, "brake_rotor").id == "f1"


def test_what_was_split_can_be_joined_again() -> None:
    walkaround = found(TWO)
    first, second = halves(walkaround)
    both = joined(first, second, again=again)
    assert [r.id for r in both.recordings] == ["r1"]
    assert both.edits == ()
    assert [(f.component.id, f.evidence) for f in both.findings] == [
        (f.component.id, f.evidence) for f in walkaround.findings
    ]


def test_a_later_recording_and_what_was_said_nowhere_stay_with_the_first() -> None:
    walkaround = corrected(found(TWO, REAR), "add", component="tire", status="ok")
    first, second = halves(walkaround)
    assert of(first, "tire").evidence == ()
    assert [r.id for r in second.recordings] == ["r1"]
    assert {e.recording for f in first.findings for e in f.evidence} == {"r1", "r2"}


@pytest.mark.parametrize(("recording", "at"), [("r1", 0), ("r1", 999), ("r2", 3)])
def test_a_split_is_within_a_recording(recording: str, at: int) -> None:
    with pytest.raises(UsageError, match="cannot be split"):
        split_at(found(TWO), recording, at, by="Ann", at=AT, again=again)


def test_a_split_does_not_go_through_a_correction() -> None:
    edited = corrected(found(TWO), "edit", recording="r1", first_word=4, last_word=6, text="a b c")
    with pytest.raises(UsageError, match="before or behind"):
        split_at(edited, "r1", 5, by="Ann", at=AT, again=again)
