"""Records: frozen, exact, read strictly where a person writes and leniently where narrate writes."""

import json
from decimal import Decimal
from typing import Any

import pytest
from pydantic import ValidationError

from narrate.records.case import Case, Expected
from narrate.records.order import Order
from narrate.records.recording import Recording, Word
from narrate.records.walkaround import (
    SCHEMA,
    Contradiction,
    Finding,
    MadeBy,
    Measurement,
    QuotedPrice,
    Suggestion,
    Walkaround,
)

MADE_BY = {"program": "narrate 0.1.0", "lexicon": "sha256:0", "settings": "sha256:0"}
FINDING: dict[str, Any] = {
    "id": "f1",
    "component": {"id": "strut", "name": "strut", "system": "suspension", "heard": "struts"},
    "locations": ["front left"],
    "status": "fault",
    "measurements": [{"value": "0.0125", "unit": "in", "said": "twelve and a half thou"}],
    "quoted_prices": [{"amount": "140.00", "currency": "GBP", "for": "rebuilt", "said": "one forty"}],
    "evidence": [{"recording": "r1", "first_word": 0, "last_word": 1, "said": "the strut"}],
    "confidence": {"overall": 0.5, "component": 0.5, "location": 1, "condition": 1, "recommendation": 1},
}


def walk(**more: object) -> Walkaround:
    """A walkaround read from what a file may hold."""
    return Walkaround.model_validate({"schema": SCHEMA, "made_by": MADE_BY, "findings": [FINDING], **more})


def test_a_walkaround_survives_being_written_and_read() -> None:
    assert walk() == Walkaround.model_validate_json(walk().model_dump_json())


def test_the_names_in_the_file_are_the_contracts() -> None:
    written = json.loads(walk().model_dump_json())
    assert ("narrate.walkaround/1", "rebuilt") == (
        written["schema"],
        written["findings"][0]["quoted_prices"][0]["for"],
    )


@pytest.mark.parametrize("schema", ["narrate.walkaround/2", "narrate.estimate/1", ""])
def test_another_schema_is_refused(schema: str) -> None:
    with pytest.raises(ValidationError, match="schema"):
        walk(schema=schema)


def test_what_a_later_program_wrote_is_kept_and_written_back() -> None:
    assert {"tone": "calm"} == json.loads(walk(mood={"tone": "calm"}).model_dump_json())["mood"]


def test_fields_of_a_later_finding_are_kept_too() -> None:
    read = Finding.model_validate({**FINDING, "photo": "p1.jpg"})
    assert "p1.jpg" == json.loads(read.model_dump_json())["photo"]


@pytest.mark.parametrize("value", ["3", "0.125", "12.10", "0.0125", "100000000000000000000.1"])
def test_a_value_is_exact_to_the_last_digit_said(value: str) -> None:
    read = Measurement.model_validate_json(json.dumps({"value": value, "unit": "mm", "said": "…"}))
    assert (Decimal(value), value) == (read.value, json.loads(read.model_dump_json())["value"])


def test_money_keeps_its_cents() -> None:
    price = QuotedPrice.model_validate({"amount": "140.00", "currency": "USD", "for": "", "said": "one forty"})
    assert "140.00" == price.model_dump(mode="json")["amount"]


@pytest.mark.parametrize("status", ["fault", "ok", "unclear", "unchecked", "work"])
def test_the_five_kinds_of_finding_are_read(status: str) -> None:
    assert status == Finding.model_validate({**FINDING, "status": status}).status


@pytest.mark.parametrize("change", [{"status": "broken"}, {"evidence": None}, {"confidence": "high"}, {"id": None}])
def test_a_finding_that_breaks_the_contract_is_refused(change: dict[str, object]) -> None:
    with pytest.raises(ValidationError, match=next(iter(change))):
        Finding.model_validate({**FINDING, **change})


@pytest.mark.parametrize("missing", ["component", "status", "evidence", "confidence"])
def test_a_finding_needs_its_parts(missing: str) -> None:
    with pytest.raises(ValidationError, match=missing):
        Finding.model_validate({key: value for key, value in FINDING.items() if key != missing})


def test_records_cannot_be_changed() -> None:
    with pytest.raises(ValidationError, match="frozen"):
        walk().findings[0].status = "ok"  # type: ignore[misc]


def test_a_suggestion_names_its_finding_as_the_contract_does() -> None:
    read = Suggestion.model_validate(
        {"id": "s1", "kind": "goes_with", "for": "f1", "text": "…", "source": "common practice"}
    )
    assert ("f1", "f1") == (read.for_, json.loads(read.model_dump_json())["for"])


def test_a_contradiction_is_between_findings() -> None:
    assert ("f2", "f5") == Contradiction(between=("f2", "f5"), about="verdict", text="…").between


def test_text_without_sound_has_no_times() -> None:
    assert (None, None, None) == (Word(text="the").start_s, Word(text="the").end_s, Word(text="the").probability)


def test_a_recording_is_searched_unless_it_says_otherwise() -> None:
    assert (True, ()) == (Recording(name="a.wav").minable, Recording(name="a.wav").words)


def test_an_order_with_a_key_nobody_knows_is_a_mistake() -> None:
    with pytest.raises(ValidationError, match="concernes"):
        Order.model_validate({"concernes": ["squeal"]})


def test_an_empty_order_is_fine() -> None:
    assert ((), None, None) == (Order().concerns, Order().market, Order().vehicle.vin)


def test_an_orders_vehicle_is_read_strictly_too() -> None:
    with pytest.raises(ValidationError, match="colour"):
        Order.model_validate({"vehicle": {"vin": "1", "colour": "red"}})


def test_a_case_lists_every_acceptable_answer() -> None:
    read = Expected.model_validate({"component": ["strut", "shock"], "locations": [["front left"], ["left"]]})
    assert (("strut", "shock"), (("front left",), ("left",)), None) == (read.component, read.locations, read.actions)


def test_a_case_tells_no_answer_from_no_action() -> None:
    assert (None, ()) == (
        Expected(component=("strut",)).actions,
        Expected.model_validate({"component": ["strut"], "actions": []}).actions,
    )


@pytest.mark.parametrize("change", [{"origin": "somewhere"}, {"drive_side": "middle"}, {"finding": [{"part": "x"}]}])
def test_a_case_with_a_mistake_is_refused(change: dict[str, object]) -> None:
    whole = {"schema": "narrate.case/1", "id": "a1", "origin": "made up", "said": "strut is leaking"}
    with pytest.raises(ValidationError, match=next(iter(change))):
        Case.model_validate({**whole, **change})


CASE: dict[str, Any] = {"schema": "narrate.case/1", "id": "a1", "origin": "made up", "said": "strut is leaking"}


def test_a_case_tells_of_order_vehicle_and_technician() -> None:
    heading = {"order_number": "4711", "plate": "AB12 CDE", "odometer": ["88210", "mi"], "technician": "Sam"}
    read = Case.model_validate({**CASE, **heading, "vehicle": {"year": 2014, "make": "Honda"}})
    assert ((Decimal(88210), "mi"), 2014, None) == (read.odometer, read.vehicle.year, read.vehicle.model)


def test_one_concern_may_stand_without_its_list() -> None:
    assert ("hum",) == Expected.model_validate({"component": ["tire"], "answers": "hum"}).answers


@pytest.mark.parametrize(
    "change",
    [
        {"odometer": ["88210", "leagues"]},
        {"vehicle": {"colour": "red"}},
        {"finding": [{"component": ["strut"], "urgency": "soon"}]},
        {"finding": [{"component": ["strut"], "part_options": ["shiny"]}]},
        {"finding": [{"component": ["strut"], "reason": "heat"}]},
    ],
)
def test_a_case_with_a_mistake_in_its_details_is_refused(change: dict[str, object]) -> None:
    with pytest.raises(ValidationError, match=next(iter(change))):
        Case.model_validate({**CASE, **change})


def test_made_by_tells_what_a_walkaround_depends_on() -> None:
    assert set(MADE_BY) <= set(MadeBy.model_fields)
