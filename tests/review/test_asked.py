"""What the page asks is read strictly, and refused in one sentence."""

import json
from decimal import Decimal

import pytest

from narrate.errors import UsageError
from narrate.review.corrections.asked import AskConfirm, AskEdit, AskYear, parse
from narrate.review.corrections.asked_fields import AskMeasurements, AskPartOptions

WHOLE = [
    {"do": "confirm", "findings": ["f1", "f2"]},
    {"do": "component", "finding": "f1", "to": "brake_pad", "seen": "brake_rotor"},
    {"do": "locations", "finding": "f1", "to": ["front left"], "seen": []},
    {"do": "status", "finding": "f1", "to": "ok", "seen": "fault"},
    {"do": "conditions", "finding": "f1", "to": [{"id": "worn", "certainty": "suspected"}], "seen": ["worn"]},
    {"do": "recommendation", "finding": "f1", "to": {"action": "replace", "otherwise": ["adjust"]}, "seen": None},
    {"do": "measurements", "finding": "f1", "to": [{"value": "3", "unit": "mm"}], "seen": ["2.5"]},
    {"do": "words", "finding": "f1", "field": "reason", "to": None, "seen": "because"},
    {"do": "lists", "finding": "f1", "field": "codes", "to": ["P0301"], "seen": []},
    {"do": "lists", "finding": "f1", "field": "part_options", "to": ["rebuilt"], "seen": []},
    {"do": "prices", "finding": "f1", "to": [{"amount": "80.00", "currency": "USD", "for": "new"}], "seen": []},
    {"do": "urgency", "finding": "f1", "to": {"when": "this_visit"}, "seen": None},
    {"do": "answers", "finding": "f1", "to": ["c1"], "seen": []},
    {"do": "drop", "finding": "f1", "why": "another car"},
    {"do": "restore", "finding": "f1"},
    {"do": "add", "component": "tire", "status": "fault"},
    {"do": "split", "finding": "f1", "parts": [["front left"], ["front right"]]},
    {"do": "merge", "findings": ["f1", "f2"]},
    {"do": "decide", "about": "c1", "decided": "settled", "why": None},
    {"do": "concern", "text": "pulls to the left"},
    {"do": "edit", "recording": "r1", "first_word": 0, "last_word": 1, "text": ""},
    {"do": "head", "field": "plate", "to": "7ABC123", "seen": None},
    {"do": "head", "field": "year", "to": 2012, "seen": None},
    {"do": "head", "field": "odometer", "to": {"value": "48210", "unit": "mi"}, "seen": None},
    {"do": "sign"},
    {"do": "reopen"},
]


@pytest.mark.parametrize("asked", WHOLE, ids=lambda asked: f"{asked['do']} {asked.get('field', '')}")
def test_each_correction_is_read_from_json_and_from_what_it_stands_for(asked: dict[str, object]) -> None:
    read = parse(asked)
    assert read.do == asked["do"]
    assert read == parse(json.dumps(asked))
    if "finding" in asked:
        assert getattr(read, "finding") == "f1"  # noqa: B009


def test_the_field_chooses_the_shape() -> None:
    assert isinstance(parse(WHOLE[9]), AskPartOptions)
    assert isinstance(parse(WHOLE[22]), AskYear)
    assert isinstance(parse(WHOLE[0]), AskConfirm)


def test_numbers_are_exact() -> None:
    asked = parse(WHOLE[6])
    assert isinstance(asked, AskMeasurements)
    assert asked.to[0].value == Decimal("3")
    assert asked.seen == (Decimal("2.5"),)


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ({}, "do"),
        ("[]", "do"),
        ("{", "Invalid JSON"),
        ({"do": "burn"}, "burn"),
        ({"do": "sign", "now": True}, "now"),
        ({"do": "confirm", "findings": []}, "findings"),
        ({"do": "status", "finding": "f1", "to": "bad", "seen": "ok"}, "status.to"),
        ({"do": "status", "finding": "f1", "to": "ok"}, "seen"),
        ({"do": "locations", "finding": "f1", "to": "front", "seen": []}, "locations.to"),
        ({"do": "drop", "finding": "f1", "why": "  \n "}, "why"),
        ({"do": "measurements", "finding": "f1", "to": [{"value": "NaN", "unit": "mm"}], "seen": []}, "value"),
        ({"do": "prices", "finding": "f1", "to": [{"amount": "-1", "currency": "USD"}], "seen": []}, "amount"),
        ({"do": "prices", "finding": "f1", "to": [{"amount": "1", "currency": "usd"}], "seen": []}, "currency"),
        ({"do": "lists", "finding": "f1", "field": "part_options", "to": ["shiny"], "seen": []}, "part_options"),
        ({"do": "edit", "recording": "r1", "first_word": -1, "last_word": 1, "text": ""}, "first_word"),
        ({"do": "concern", "text": "x" * 3000}, "text"),
    ],
)
def test_what_is_not_understood_is_told_in_one_sentence(asked: object, told: str) -> None:
    with pytest.raises(UsageError) as problem:
        parse(asked)  # type: ignore[arg-type]
    assert told in str(problem.value)
    assert "\n" not in str(problem.value)
    assert str(problem.value).endswith(".")


def test_words_lose_line_breaks_and_control_characters() -> None:
    asked = parse({"do": "edit", "recording": "r1", "first_word": 0, "last_word": 0, "text": " brake\x00\n pads "})
    assert isinstance(asked, AskEdit)
    assert asked.text == "brake pads"
