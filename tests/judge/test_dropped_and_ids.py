"""What was dropped is not judged and answers nothing; what is suggested keeps its id."""

from datetime import date

import pytest
from judged import finding, lexicon, number, rules, walk

from narrate.judge.judging import Asked, judge
from narrate.judge.numbering import highest, new_ids, with_ids_used
from narrate.records.reviewed import Review
from narrate.records.walkaround import Answer, Concern, Finding, Suggestion, Urgency, Walkaround

TODAY = date(2026, 11, 27)


def judged(walkaround: Walkaround) -> Walkaround:
    """Judged by the first rule set there is."""
    asked = Asked(rule_set=next(iter(rules().rule_sets)), today=TODAY)
    return judge(walkaround, rules(), lexicon(), asked)


def pads(**fields: object) -> Finding:
    """Worn pads to be replaced."""
    numbers = [number("0.5", "mm", "thickness")]
    return finding("brake_pad", at="front left", conditions=["worn"], action="replace", numbers=numbers, **fields)  # type: ignore[arg-type]


def test_a_dropped_finding_is_not_judged() -> None:
    dropped = pads(review=Review(state="dropped", why="another car"))
    after = judged(walk(dropped))
    assert after.findings == (dropped,)
    assert not after.suggestions
    assert judged(walk(pads())).suggestions


@pytest.mark.parametrize(
    ("link", "state", "told"),
    [("stated", "confirmed", "answered"), ("suggested", "confirmed", "partly"), ("stated", "dropped", "open")],
)
def test_a_concern_is_answered_by_what_stands(link: str, state: str, told: str) -> None:
    answers = (Answer.model_validate({"concern": "c1", "link": link}),)
    review = Review.model_validate({"state": state})
    concern = Concern(id="c1", text="it squeals", state="answered")
    [after] = judged(walk(pads(answers=answers, review=review), concerns=(concern,))).concerns
    assert after.state == told


def test_how_soon_a_person_said_is_left_alone() -> None:
    said = Urgency(when="no_hurry", origin="person", said=Urgency(when="this_visit"))
    assert judged(walk(pads(urgency=said))).findings[0].urgency == said


def test_suggestions_keep_their_ids_while_others_come_and_go() -> None:
    before = judged(walk(pads(), finding("tire_date_code", id="f2", codes=("P0301",))))
    known = {(s.kind, s.for_, s.text): s.id for s in before.suggestions}
    dropped = before.findings[1].model_copy(update={"review": Review(state="dropped")})
    fewer = judged(before.model_copy(update={"findings": (before.findings[0], dropped)}))
    assert len(fewer.suggestions) < len(before.suggestions)
    assert all(known[s.kind, s.for_, s.text] == s.id for s in fewer.suggestions)
    more = judged(fewer.model_copy(update={"findings": before.findings}))
    new = {s.id for s in more.suggestions} - {s.id for s in fewer.suggestions}
    assert new
    assert not new & set(known.values())


def test_ids_go_on_behind_the_highest_ever_used() -> None:
    walkaround = walk(finding("tire", id="f3"), suggestions=(Suggestion(id="s2", kind="k", text="t", source="s"),))
    assert highest(walkaround, "f") == 3
    assert highest(walkaround.model_copy(update={"ids_used": {"f": 7}}), "f") == 7
    assert highest(walkaround, "u") == 0
    ids = new_ids(walkaround, "s")
    assert [next(ids), next(ids)] == ["s3", "s4"]
    gone = walkaround.model_copy(update={"findings": ()})
    assert with_ids_used(gone, walkaround).ids_used == {"f": 3, "s": 2}
    assert with_ids_used(gone, walkaround, letters="s").ids_used == {"s": 2}
