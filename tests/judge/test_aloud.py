"""What is said to the technician: findings read back, questions, what is left."""

from typing import Any

import pytest
from judged import finding, lexicon, number, rules, walk

from narrate.judge.aloud import answer_in, question_about, read_back, whats_left
from narrate.judge.limits import judge_limits
from narrate.judge.questions import Question
from narrate.records.recording import Word
from narrate.records.reviewed import Decision
from narrate.records.walkaround import Component, Concern, Doubt, Finding


def pads(**fields: Any) -> Finding:
    """Brake pads, spoken as several."""
    component = Component(id="brake_pad", name="brake pad", system="brakes", heard="pads")
    return finding("brake_pad", **fields).model_copy(update={"component": component})


def asked(about: Finding) -> Question:
    question = question_about(about, lexicon())
    assert question
    return question


@pytest.mark.parametrize(
    ("told", "said"),
    [
        (pads(at="front left", numbers=[number(3, "mm", "thickness")]), "left front, brake pads, three millimeters"),
        (
            pads(at=["front left", "front right"], conditions=["worn"], action="replace"),
            "both front, brake pads, worn, replace",
        ),
        (finding("battery", status="ok"), "battery, fine"),
        (
            finding("shock_absorber", at="rear right", conditions=[("leaking", "starting")]),
            "right rear, shock absorber, leaking, just starting",
        ),
        (
            finding(
                "tire",
                at=["front left", "front right"],
                status="ok",
                numbers=[number(6, "1/32in", "tread depth", at="front left"), number("7.5", "1/32in", "tread depth")],
            ),
            "both front, tire, fine, six thirty-seconds left front, 7.5 thirty-seconds",
        ),
        (finding("wiper_blade", status="unchecked"), "wiper blade, not looked at"),
        (finding("tire", numbers=[number(32, "psi", "pressure", about=True)]), "tire, about thirty-two P S I"),
    ],
)
def test_reading_back(told: Finding, said: str) -> None:
    assert read_back(told, lexicon()) == said


def test_the_side_of_a_paired_part_is_asked() -> None:
    question = asked(pads(at="front", conditions=["worn"]))
    assert (question.finding, question.field, question.text) == ("f1", "location", "front brake pads: left or right?")
    assert question.answers == ("left", "right", "both")


def test_the_corner_is_asked_where_nothing_was_said() -> None:
    assert asked(pads(conditions=["worn"])).text == "brake pads: which corner?"


@pytest.mark.parametrize(
    "told",
    [
        pads(at="front left", conditions=["worn"]),
        pads(at=["front left", "front right"], conditions=["worn"]),
        pads(status="ok"),
        finding("battery", conditions=["weak"]),
        finding("no_such_part"),
    ],
)
def test_what_needs_no_question(told: Finding) -> None:
    assert question_about(told, lexicon()) is None


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("left", "left"),
        ("Left.", "left"),
        ("it's the left one", "left"),
        ("uh, both sides", "both"),
        ("left and right", "both"),
        ("driver's side", "left"),
        ("left front", "front left"),
        ("right hand side at the rear", "rear right"),
        ("front left no right", None),
        ("left pads are at three", None),
        ("upper", None),
        ("yes", None),
        ("", None),
    ],
)
def test_answers_to_where(said: str, value: str | None) -> None:
    question = asked(pads(at="front", conditions=["worn"]))
    assert answer_in([Word(text=word) for word in said.split()], question) == value


def test_sides_follow_where_the_driver_sits() -> None:
    question = question_about(pads(at="front", conditions=["worn"]), lexicon(), drive_side="right")
    assert question
    assert answer_in(["nearside"], question) == "left"
    assert answer_in(["driver", "side"], question) == "right"


def test_whether_it_is_a_fault_is_asked_where_that_is_not_plain() -> None:
    told = finding("battery", doubts=(Doubt(field="status", why="it is not plain what was said of it"),))
    question = asked(told)
    assert question.text == "battery: okay, or a fault?"
    assert [answer_in(said.split(), question) for said in ("it's okay", "Bad.", "no fault", "not good", "left")] == [
        "ok", "fault", "ok", "fault", None,
    ]  # fmt: skip


def judged(told: Finding) -> Finding:
    return judge_limits(
        walk(told), rules(), "us_us" if "us_us" in rules().rule_sets else rules().set_for("us")
    ).findings[0]


def test_the_unit_is_asked_where_a_limit_hangs_on_it() -> None:
    bare = number(3, "mm", "thickness").model_copy(update={"said": "three"})
    spoken = bare.model_copy(update={"said": "three mil"})
    question = asked(judged(pads(at="front left", numbers=[bare.model_copy(update={"spoken_limit": bare.value})])))
    assert question.text == "three what: millimeters or thirty-seconds?"
    assert question.answers == ("mm", "1/32in")
    assert answer_in(["thirty", "seconds"], question) == "1/32in"
    assert answer_in(["mil"], question) == "mm"
    assert question_about(judged(pads(at="front left", numbers=[spoken])), lexicon()) is None
    plenty = bare.model_copy(update={"value": 11})
    assert question_about(judged(pads(at="front left", numbers=[plenty])), lexicon()) is None


def test_what_is_left() -> None:
    concerns = tuple(Concern(id=f"c{n}", text=f"noise {n}") for n in range(1, 6))
    settled = Decision(about="c5", decided="settled")
    told = whats_left(walk(concerns=concerns, decisions=(settled,)), lexicon(), inspection=False)
    assert told == "Four concerns are open: noise 1; noise 2; noise 3, and one more."
    assert whats_left(walk(), lexicon(), inspection=False) == "Nothing is left."


def test_a_full_inspection_tells_what_was_not_touched() -> None:
    told = whats_left(walk(pads(status="ok")), lexicon(), inspection=True)
    assert told.startswith("Not touched yet: brake rotors and drums, ")
    assert "brake pads and shoes" not in told
    assert len(told.split()) < 40
