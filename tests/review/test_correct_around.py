"""Decisions, concerns, the head of the list, and its signature."""

import pytest
from corrected import AT, confirmed, corrected, found

from narrate.errors import ConflictError, UsageError
from narrate.judge.unsettled import what_blocks
from narrate.records.walkaround import Evidence, Suggestion, Unplaced, Walkaround

PIECE = Evidence(recording="r1", first_word=0, last_word=2, said="Customer says it")


def example() -> Walkaround:
    """The example with words that fit nowhere."""
    return found().model_copy(update={"unplaced": (Unplaced(id="u1", why="…", evidence=(PIECE,)),)})


def settled() -> Walkaround:
    """The example with everything settled."""
    walkaround = corrected(confirmed(example()), "decide", about="c1", decided="not_looked_at", why="no time")
    return corrected(walkaround, "decide", about="u1", decided="nothing_in_it", why=None)


def test_a_decision_says_what_why_who_and_when_and_settles() -> None:
    walkaround = corrected(example(), "decide", about="c1", decided="not_looked_at", why="no time")
    [decision] = walkaround.decisions
    assert (decision.decided, decision.why, decision.by, decision.at) == ("not_looked_at", "no time", "Ann", AT)
    assert "c1" not in [block.about for block in what_blocks(walkaround)]
    assert corrected(walkaround, "decide", by="Bo", about="c1", decided="not_looked_at", why="no time") is walkaround


def test_another_decision_takes_its_place_and_none_takes_it_back() -> None:
    walkaround = corrected(example(), "decide", about="c1", decided="not_looked_at")
    walkaround = corrected(walkaround, "decide", about="c1", decided="settled")
    assert [d.decided for d in walkaround.decisions] == ["settled"]
    assert corrected(walkaround, "decide", about="c1", decided=None).decisions == ()


@pytest.mark.parametrize(
    ("about", "decided", "told"),
    [
        ("c1", "nothing_in_it", "not looked at or settled"),
        ("u1", "settled", "only: nothing in it"),
        ("s1", "settled", "only: nothing in it"),
        ("c9", "settled", "nothing named c9"),
        ("f1+f2", "settled", "nothing named"),
    ],
)
def test_only_what_makes_sense_is_decided(about: str, decided: str, told: str) -> None:
    with pytest.raises(UsageError, match=told):
        corrected(example(), "decide", about=about, decided=decided)


def test_a_suggestion_declined_stays_declined_when_others_come_and_go() -> None:
    walkaround = example()
    last = walkaround.suggestions[-1]
    walkaround = corrected(walkaround, "decide", about=last.id, decided="nothing_in_it")
    walkaround = corrected(walkaround, "drop", finding="f1", why="no")
    assert [s.text for s in walkaround.suggestions if s.id == last.id] == [last.text]
    ids = [s.id for s in walkaround.suggestions]
    walkaround = corrected(walkaround, "restore", finding="f1")
    assert [s.id for s in walkaround.suggestions if s.id in ids] == ids
    assert len({s.id for s in walkaround.suggestions}) == len(walkaround.suggestions)


def test_a_concern_told_to_the_advisor_is_listed_with_its_symptoms() -> None:
    walkaround = corrected(example(), "concern", text="steering wheel shakes when braking")
    concern = next(c for c in walkaround.concerns if c.id == "c2")
    assert (concern.origin, concern.state) == ("order", "open")
    assert concern.symptoms
    with pytest.raises(UsageError, match="listed already"):
        corrected(walkaround, "concern", text="Steering wheel shakes when braking")


@pytest.mark.parametrize(
    ("field", "to"), [("plate", "7ABC123"), ("order_number", "4410"), ("technician", "Ray"), ("year", 2012)]
)
def test_a_line_of_the_head_is_changed(field: str, to: object) -> None:
    walkaround = corrected(example(), "head", field=field, to=to, seen=None)
    held = walkaround if field in ("order_number", "technician") else walkaround.vehicle
    assert getattr(held, field) == to
    with pytest.raises(ConflictError, match="look at it again"):
        corrected(walkaround, "head", field=field, to=None, seen=None if field == "year" else "other")
    back = corrected(walkaround, "head", field=field, to=None, seen=to)
    assert getattr(back if held is walkaround else back.vehicle, field) is None


def test_the_distance_is_exact_and_seen_as_it_is() -> None:
    walkaround = corrected(example(), "head", field="odometer", to={"value": "48210", "unit": "mi"}, seen=None)
    assert walkaround.vehicle.odometer is not None
    assert str(walkaround.vehicle.odometer.value) == "48210"
    to = {"value": "48310", "unit": "mi"}
    with pytest.raises(ConflictError, match="48210 mi"):
        corrected(walkaround, "head", field="odometer", to=to, seen=None)


def test_a_line_put_right_settles_what_was_suggested_about_it() -> None:
    text = "The plate is 7ABC123, but the technician said 7ABC124; check which is right."
    made = Suggestion(id="s90", kind="heading", text=text, source="what the technician said", evidence=(PIECE,))
    walkaround = example()
    walkaround = walkaround.model_copy(update={"suggestions": (*walkaround.suggestions, made)})
    walkaround = corrected(walkaround, "head", field="plate", to="7ABC124", seen=None)
    assert [(d.about, d.decided) for d in walkaround.decisions] == [("s90", "taken_up")]


def test_a_list_is_signed_only_when_nothing_is_left_to_settle() -> None:
    with pytest.raises(UsageError, match=r"cannot be signed yet: The .* has not been checked and \d+ more\."):
        corrected(example(), "sign")
    with pytest.raises(UsageError, match="concern 'it grinds when braking'"):
        corrected(confirmed(example()), "sign")
    signed = corrected(settled(), "sign").signed
    assert signed is not None
    assert (signed.by, signed.at) == ("Ann", AT)


def test_a_signed_list_is_reopened_before_it_is_changed() -> None:
    walkaround = corrected(settled(), "sign")
    with pytest.raises(UsageError, match="signed by Ann; reopen it"):
        corrected(walkaround, "drop", finding="f1", why="no")
    assert corrected(walkaround, "sign", by="Bo") is walkaround
    opened = corrected(walkaround, "reopen", by="Bo")
    assert opened.signed is None
    assert corrected(opened, "reopen") is opened
    assert corrected(opened, "drop", finding="f1", why="no").findings[0].review.state == "dropped"


def test_nothing_in_several_stretches_at_once() -> None:
    more = (Unplaced(id="u1", why="…", evidence=(PIECE,)), Unplaced(id="u2", why="…", evidence=(PIECE,)))
    walkaround = found().model_copy(update={"unplaced": more})
    one = corrected(walkaround, "decide", about="u1", decided="nothing_in_it", why="radio")
    both = corrected(one, "nothing_in", unplaced=["u1", "u2"])
    assert [(d.about, d.decided, d.why) for d in both.decisions] == [
        ("u1", "nothing_in_it", "radio"),
        ("u2", "nothing_in_it", None),
    ]
    assert not [block for block in what_blocks(both) if block.kind == "unplaced"]
    assert corrected(both, "nothing_in", unplaced=["u2"]) is both
    with pytest.raises(UsageError, match="no words u9"):
        corrected(walkaround, "nothing_in", unplaced=["u1", "u9"])
