"""What the page is told of a walk-round: everything that the record holds for people, as JSON."""

import json
import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

from corrected import AT, SAID, confirmed, corrected, found, of
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from whole_page import named, with_head

from narrate.records.recording import Recording, Word
from narrate.records.reviewed import Decision, Edit
from narrate.records.walkaround import (
    Answer,
    Concern,
    Confidence,
    Contradiction,
    Doubt,
    Evidence,
    Finding,
    Odometer,
    PoorStretch,
    Suggestion,
    Unplaced,
    Urgency,
    Verdict,
    Walkaround,
)
from narrate.review.view import is_sure, view, words_view
from narrate.store.walkarounds import Held

NOT_FOR_PEOPLE = {"made_by", "schema", "ids_used", "edits", "heading"}
"""What of a record the page does not show: what made it; edits go with the words; heading values are the head."""


def held(walkaround: Walkaround, *, revision: int = 3) -> Held:
    state = "signed" if walkaround.signed else "to_check"
    return Held(walkaround, revision, state, None, None, AT, AT)


def shown(walkaround: Walkaround) -> dict[str, Any]:
    told = view(held(walkaround))
    assert json.loads(json.dumps(told)) == told, "what the page gets is JSON and nothing else"
    return told


def test_every_field_of_a_finding_is_shown() -> None:
    walkaround = found(SAID)
    for finding, told in zip(walkaround.findings, shown(walkaround)["findings"], strict=True):
        left = set(Finding.model_fields) - set(told)
        assert left == {"quoted_prices"}, "prices go by their shorter name"
        assert told["id"] == finding.id
        assert told["component"] == finding.component.model_dump(mode="json")
        assert told["locations"] == list(finding.locations)
        assert told["status"] == finding.status
        assert [each["id"] for each in told["conditions"]] == [each.id for each in finding.conditions]
        assert told["recommendation"] == json.loads(finding.recommendation.model_dump_json())
        assert [Decimal(each["value"]) for each in told["measurements"]] == [m.value for m in finding.measurements]
        assert [each["said"] for each in told["evidence"]] == [each.said for each in finding.evidence]
        assert told["review"]["state"] == "unreviewed"
        assert told["confidence"] == finding.confidence.model_dump(mode="json")
        assert [each["why"] for each in told["doubts"]] == [each.why for each in finding.doubts]


def test_fields_are_said_as_people_say_them() -> None:
    walkaround = found(SAID)
    pads = named(shown(walkaround)["findings"], of(walkaround, "brake_pad").id)
    assert pads["said"]["places"] == "front left and front right"
    assert pads["said"]["conditions"] == "worn"
    assert pads["said"]["recommendation"].startswith("replace")
    assert [each["text"] for each in pads["measurements"]] == ["3 mm front left", "4 mm front right"]
    assert all(set(each) >= {"text", "verdicts", "broken", "value", "unit"} for each in pads["measurements"])
    belt = named(shown(walkaround)["findings"], of(walkaround, "drive_belt").id)
    assert [(each["amount"], each["currency"]) for each in belt["prices"]] == [("80.00", "USD")]
    assert "80" in belt["prices"][0]["text"]


def test_nothing_of_the_record_is_hidden_from_people() -> None:
    told = shown(everything())
    fields = set(Walkaround.model_fields) - {"schema_"}
    spread = {"order_number": "head", "technician": "head", "vehicle": "head"}
    for field in sorted(fields - NOT_FOR_PEOPLE):
        assert spread.get(field, field) in told, f"{field} is not shown"
    assert told["head"]["odometer"] == "48210 mi"
    assert told["head"]["plate"] == "7ABC123"
    assert told["head"]["vehicle"] == "2015 Toyota Corolla"
    [contradiction] = told["contradictions"]
    assert contradiction["about"] == "f1+f2"
    assert told["unplaced"][0]["evidence"][0]["said"] == "and the thingy"
    assert told["suggestions"][0]["for"] == "f1"
    assert told["decisions"]["u1"]["decided"] == "nothing_in_it"
    assert told["decisions"]["u1"]["why"] == "a joke"
    assert told["poor_stretches"] == [{"recording": "r1", "start_s": 1.0, "end_s": 2.0, "why": "a loud noise"}]
    assert told["recordings"][0]["notices"] == ["It broke off early."]
    first = told["findings"][0]
    assert first["urgency"]["when"] == "this_visit"
    assert first["doubts"][0]["instead"] == ["brake shoe"]
    assert first["doubts"][0]["text"]
    assert first["answers"] == [{"concern": "c1", "link": "suggested", "text": "it grinds"}]
    assert first["measurements"][0]["verdicts"]
    assert first["measurements"][0]["broken"]


def test_a_concern_tells_what_answers_it_but_for_what_was_dropped() -> None:
    walkaround = everything()
    [concern] = shown(walkaround)["concerns"]
    assert concern["answered_by"] == ["f1"]
    dropped = corrected(walkaround, "drop", finding="f1", why="of the car before")
    [concern] = shown(dropped)["concerns"]
    assert concern["answered_by"] == []
    assert named(shown(dropped)["findings"], "f1")["review"]["why"] == "of the car before"


def test_sure_ones_are_unreviewed_without_doubts_and_with_confidence() -> None:
    finding = of(found(SAID), "cabin_air_filter")
    high = Confidence(overall=0.99, component=0.99, location=1, condition=1, recommendation=1)
    sure = finding.model_copy(update={"confidence": high, "doubts": ()})
    assert is_sure(sure)
    assert not is_sure(sure.model_copy(update={"doubts": (Doubt(field="component", why="heard badly"),)}))
    assert not is_sure(sure.model_copy(update={"confidence": high.model_copy(update={"overall": 0.2})}))
    assert not is_sure(sure.model_copy(update={"review": sure.review.model_copy(update={"state": "confirmed"})}))


def test_blocks_are_what_the_judge_names_and_end_with_the_review() -> None:
    walkaround = found(SAID)
    told = shown(walkaround)
    assert {each["about"] for each in told["blocks"] if each["kind"] == "finding"} == {
        f.id for f in walkaround.findings
    }
    assert not [each for each in shown(confirmed(walkaround))["blocks"] if each["kind"] == "finding"]
    assert told["signed"] is None
    assert told["revision"] == 3


def test_words_are_told_with_their_times_and_what_people_corrected() -> None:
    words = (Word(text="pads", start_s=0.5, end_s=0.9, probability=0.7), Word(text="worn"))
    edit = Edit(recording="r1", first_word=1, last_word=1, text="torn", by="Ann", at=AT)
    walkaround = everything().model_copy(update={"edits": (edit,), "recordings": (Recording(name="a", words=words),)})
    told = words_view(walkaround)
    assert told["recordings"] == {"r1": [["pads", 0.5, 0.9, 0.7], ["worn", None, None, None]]}
    assert told["edits"] == [edit.model_dump()]


NARRATIONS = sorted((Path(__file__).parents[1] / "cases" / "narrations").glob("*.toml"))


@given(st.sampled_from(NARRATIONS))
@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
def test_whatever_was_found_can_be_shown(path: Path) -> None:
    walkaround = found(tomllib.loads(path.read_text("utf-8"))["said"])
    told = shown(walkaround)
    assert [each["id"] for each in told["findings"]] == [each.id for each in walkaround.findings]
    assert len(told["suggestions"]) == len(walkaround.suggestions)
    assert len(told["unplaced"]) == len(walkaround.unplaced)


def everything() -> Walkaround:
    """A record in which every field that people see holds something."""
    said = Evidence(recording="r1", first_word=0, last_word=2, said="and the thingy")
    first, second, *_ = found(SAID).findings
    measurement = first.measurements[0].model_copy(
        update={"verdict": Verdict(result="below", limit=Decimal(4), unit="mm", rule_set="us")}
    )
    first = first.model_copy(
        update={
            "id": "f1",
            "measurements": (measurement,),
            "urgency": Urgency(when="this_visit", why="below the limit", origin="rule"),
            "doubts": (Doubt(field="component", why="heard badly", instead=("brake shoe",)),),
            "answers": (Answer(concern="c1", link="suggested"),),
        }
    )
    update: dict[str, Any] = {
        "findings": (first, second.model_copy(update={"id": "f2", "answers": ()})),
        "concerns": (Concern(id="c1", text="it grinds", evidence=(said,)),),
        "unplaced": (Unplaced(id="u1", why="no part named", evidence=(said,)),),
        "suggestions": (Suggestion(id="s1", kind="also", for_="f1", text="Look at the discs.", source="a rule"),),
        "contradictions": (Contradiction(between=("f1", "f2"), about="status", text="Both cannot be."),),
        "comparisons": ("The right one is thicker.",),
        "not_mentioned": ("tires",),
        "without_verdict": ("f2",),
        "poor_stretches": (PoorStretch(recording="r1", start_s=1.0, end_s=2.0, why="a loud noise"),),
        "review_order": ("f1", "f2"),
        "decisions": (Decision(about="u1", decided="nothing_in_it", why="a joke", by="Ann", at=AT),),
        "recordings": (found(SAID).recordings[0].model_copy(update={"notices": ("It broke off early.",)}),),
        "order_number": "R-77",
        "technician": "Sam",
    }
    vehicle = {"plate": "7ABC123", "year": 2015, "make": "Toyota", "model": "Corolla"}
    odometer = Odometer(value=Decimal(48210), unit="mi")
    return with_head(found(SAID).model_copy(update=update), odometer=odometer, **vehicle)
