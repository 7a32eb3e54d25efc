"""Gaps, commands and answers of a capture, laid into what was heard of the whole."""

from typing import Any

import pytest
from judged import finding, lexicon, number, walk

from narrate.judge.answered import places_answered
from narrate.judge.captured import with_captured
from narrate.judge.carrying_out import UNDONE, carry_out
from narrate.records.capture import Captured, CommandSaid, Gap, Mark
from narrate.records.recording import Recording, Word
from narrate.records.walkaround import Concern, Doubt, Evidence, Finding, Unplaced, Walkaround

TEXT = "left front pads worn | rear shock leaking | australia take that back | battery is fine"


def words_of(text: str) -> tuple[Word, ...]:
    """Words of half a second each; every `|` is a second of silence."""
    words, at_s = [], 0.0
    for piece in text.split():
        if piece == "|":
            at_s += 1.0
        else:
            words.append(Word(text=piece, start_s=at_s, end_s=at_s + 0.5))
            at_s += 0.5
    return tuple(words)


WORDS = words_of(TEXT)
RECORDING = Recording(name="bay", duration_s=12.0, words=WORDS)


def at(first: int, last: int) -> Evidence:
    """Evidence of some words of the recording."""
    said = " ".join(word.text for word in WORDS[first : last + 1])
    times = {"start_s": WORDS[first].start_s, "end_s": WORDS[last].end_s}
    return Evidence(recording="r1", first_word=first, last_word=last, said=said, **times)


PADS = finding("brake_pad", id="f1", at="front left", conditions=["worn"], evidence=(at(0, 3),))
SHOCK = finding("shock_absorber", id="f2", at="rear", conditions=["leaking"], evidence=(at(4, 6),))
BATTERY = finding("battery", id="f3", status="ok", evidence=(at(11, 13),))
TAKEN_BACK = CommandSaid(
    id="k1", command="take_back", recording="r1", start_s=WORDS[7].start_s, end_s=WORDS[10].end_s,
    said="australia take that back", first_word=7, last_word=10,
)  # fmt: skip


def car(*commands: CommandSaid, **fields: Any) -> Walkaround:
    """Pads, shock, command, battery."""
    made: dict[str, Any] = {"recordings": (RECORDING,), "commands": commands}
    return walk(*fields.pop("findings", (PADS, SHOCK, BATTERY)), **(made | fields))


def state_of(walkaround: Walkaround) -> dict[str, str]:
    return {f.id: f.review.state for f in walkaround.findings}


def mark(what: str, at_s: float, **fields: Any) -> Mark:
    """A mark of the live hearing."""
    return Mark.model_validate({"id": f"m{at_s:g}", "what": what, "at_s": at_s, **fields})


def test_taking_back_drops_what_was_said_last_before_it() -> None:
    done = carry_out(car(TAKEN_BACK))
    assert state_of(done) == {"f1": "unreviewed", "f2": "dropped", "f3": "unreviewed"}
    review = done.findings[1].review
    assert (review.by, review.was, review.why) == ("spoken", "unreviewed", "taken back ('australia take that back')")
    assert done.commands[0].about == "f2"
    assert "rear shock leaking" in done.commands[0].came_of_it
    assert carry_out(done) == done


def test_taking_back_twice_drops_two() -> None:
    again = TAKEN_BACK.model_copy(update={"id": "k2", "start_s": 9.0})
    assert state_of(carry_out(car(TAKEN_BACK, again)))["f1"] == "dropped"


def test_nothing_before_it_is_told() -> None:
    done = carry_out(car(TAKEN_BACK, findings=(BATTERY,)))
    assert state_of(done) == {"f3": "unreviewed"}
    assert done.commands[0].came_of_it == "Nothing was said before it that could be taken back."


def test_a_concern_said_last_is_not_taken_for_a_finding() -> None:
    text = "left front pads worn | and the customer says that it pulls to one side | australia take that back"
    words = words_of(text)
    recording = RECORDING.model_copy(update={"words": words})
    said = " ".join(word.text for word in words[11:14])
    concern = Concern(id="c1", text=said, evidence=(Evidence(recording="r1", first_word=11, last_word=13, said=said),))
    command = TAKEN_BACK.model_copy(update={"first_word": 14, "last_word": 17, "start_s": words[14].start_s})
    done = carry_out(car(command, recordings=(recording,), concerns=(concern,), findings=(PADS,)))
    assert state_of(done) == {"f1": "unreviewed"}
    assert done.commands[0].came_of_it == "'to one side' was said last and is no finding; nothing was taken back."


def test_a_finding_told_of_in_two_places_is_doubted_and_stays() -> None:
    twice = SHOCK.model_copy(update={"evidence": (at(0, 0), at(6, 6))})
    between = PADS.model_copy(update={"evidence": (at(2, 3),)})
    done = carry_out(car(TAKEN_BACK, findings=(between, twice)))
    assert state_of(done) == {"f1": "unreviewed", "f2": "unreviewed"}
    assert [d.why for d in done.findings[1].doubts] == [
        "the technician took back what was said last of it ('australia take that back')"
    ]


@pytest.mark.parametrize(
    ("command", "why"), [("mark", "marked by the technician"), ("photograph", "a photograph was asked for here")]
)
def test_a_mark_is_a_line_of_its_own(command: str, why: str) -> None:
    done = carry_out(car(TAKEN_BACK.model_copy(update={"command": command})))
    (line,) = done.unplaced
    assert line.why == f"{why} ('australia take that back')"
    assert line.evidence == (at(7, 10),)
    assert done.commands[0].about == line.id


def test_next_vehicle_offers_to_part_the_list() -> None:
    done = carry_out(car(TAKEN_BACK.model_copy(update={"command": "next_vehicle"})))
    (split,) = done.suggestions
    assert (split.kind, split.evidence) == ("split", (at(11, 13),))
    assert carry_out(done) == done


@pytest.mark.parametrize("command", ["read_back", "whats_left", "done"])
def test_other_commands_change_nothing(command: str) -> None:
    given = car(TAKEN_BACK.model_copy(update={"command": command}))
    done = carry_out(given)
    assert done.commands[0].came_of_it
    assert done.model_copy(update={"commands": given.commands}) == given


def test_gaps_come_to_the_recording_once() -> None:
    gap = Gap(at_s=4.0, missing_s=60.0, why="the page was closed")
    laid = with_captured(car(), Captured(gaps=(gap,)))
    assert laid.recordings[0].gaps == (gap,)
    assert with_captured(laid, Captured(gaps=(gap,))) == laid


def test_a_command_heard_twice_is_one() -> None:
    heard = carry_out(car(TAKEN_BACK))
    live = mark("take_back", 6.2, end_s=7.9, said="australia take that back", about_start_s=3.0, about_end_s=4.5)
    assert with_captured(heard, Captured(marks=(live,))) == heard


def test_a_command_heard_live_only_is_carried_out() -> None:
    line = Unplaced(id="u1", why="'back' belongs to no part that was understood", evidence=(at(7, 10),))
    live = mark("take_back", 5.4, end_s=7.6, said="australia take that back")
    done = with_captured(car(unplaced=(line,)), Captured(marks=(live,)))
    assert state_of(done)["f2"] == "dropped"
    assert [(c.id, c.command) for c in done.commands] == [("m5.4", "take_back")]
    assert done.unplaced == ()
    assert with_captured(done, Captured(marks=(live,))) == done


def test_a_touch_takes_back_what_it_is_about() -> None:
    live = mark("take_back", 9.0, about_start_s=0.0, about_end_s=2.0)
    done = with_captured(car(), Captured(marks=(live,)))
    assert state_of(done) == {"f1": "dropped", "f2": "unreviewed", "f3": "unreviewed"}
    assert done.findings[0].review.why == "taken back (by touch)"


def test_what_is_not_on_the_list_is_not_taken_back() -> None:
    live = mark("take_back", 9.0, about_start_s=2.1, about_end_s=2.9)
    done = with_captured(car(), Captured(marks=(live,)))
    assert "dropped" not in state_of(done).values()
    assert done.commands[0].came_of_it == "What was taken back is not on this list."


def test_the_whole_hearing_takes_back_what_the_technician_saw_taken_back() -> None:
    heard = carry_out(car(TAKEN_BACK))
    live = mark("take_back", 6.2, end_s=7.9, said="australia take that back", about_start_s=0.0, about_end_s=2.0)
    done = with_captured(heard, Captured(marks=(live,)))
    assert state_of(done) == {"f1": "dropped", "f2": "unreviewed", "f3": "unreviewed"}


def test_what_was_undone_is_undone() -> None:
    heard = carry_out(
        car(TAKEN_BACK, TAKEN_BACK.model_copy(update={"id": "k2", "command": "mark", "start_s": 30.0, "end_s": 31.0}))
    )
    marks = (
        mark("take_back", 6.0, said="australia take that back", undone=True),
        mark("mark", 30.0, said="australia mark this", undone=True),
        mark("photograph", 31.0, undone=True),
    )
    done = with_captured(heard, Captured(marks=marks))
    assert set(state_of(done).values()) == {"unreviewed"}
    assert done.unplaced == ()
    assert [c.came_of_it for c in done.commands] == [UNDONE, UNDONE]
    assert with_captured(done, Captured(marks=marks)) == done


def answer(field: str, value: str, said: str = "") -> Captured:
    """An answer about the pads."""
    about = {"about_start_s": 0.0, "about_end_s": 2.0}
    return Captured(marks=(mark("answer", 9.5, field=field, value=value, said=said, **about),))


def answered(pads: Finding, field: str, value: str, said: str = "") -> Finding:
    return with_captured(car(findings=(pads,)), answer(field, value, said)).findings[0]


def test_an_answer_gives_the_side() -> None:
    pads = PADS.model_copy(update={"locations": ("front",)})
    told = answered(pads, "location", "left", said="left")
    assert told.locations == ("front left",)
    assert told.review.state == "unreviewed"
    assert told.confidence.location == 0.95


def test_a_touched_answer_overrules_and_a_spoken_one_is_shown() -> None:
    assert answered(PADS, "location", "right").locations == ("front right",)
    spoken = answered(PADS, "location", "right", said="right")
    assert spoken.locations == ("front left",)
    assert spoken.doubts == (
        Doubt(field="location", why="the technician answered 'right' when asked", instead=("front right",)),
    )


def test_the_same_answer_changes_nothing() -> None:
    assert answered(PADS, "location", "left", said="left") is PADS


def test_an_answer_says_whether_it_is_a_fault() -> None:
    unsure = PADS.model_copy(update={"doubts": (Doubt(field="status", why="it is not plain what was said of it"),)})
    told = answered(unsure, "status", "ok", said="okay")
    assert (told.status, told.conditions, told.doubts) == ("ok", (), ())
    assert answered(unsure, "status", "fault", said="bad").conditions == PADS.conditions
    assert answered(PADS, "status", "ok", said="okay").status == "fault"


def test_an_answer_gives_the_unit_of_a_bare_number() -> None:
    three = number(3, "mm", "thickness").model_copy(update={"said": "three"})
    pads = PADS.model_copy(update={"measurements": (three,)})
    assert answered(pads, "unit", "1/32in").measurements[0].unit == "1/32in"
    said = PADS.model_copy(update={"measurements": (three.model_copy(update={"said": "three mil"}),)})
    assert answered(said, "unit", "1/32in").measurements[0].unit == "mm"


def test_what_a_person_decided_stays() -> None:
    decided = PADS.model_copy(update={"review": PADS.review.model_copy(update={"state": "confirmed"})})
    assert answered(decided, "location", "right") is decided


def test_an_answer_to_nothing_is_not_lost() -> None:
    captured = answer("location", "left", "left")
    done = with_captured(car(findings=(BATTERY,)), captured)
    (line,) = done.unplaced
    assert line.why == "the technician answered 'left' here; what it answers is not on the list"
    assert with_captured(done, captured) == done


def test_places_with_an_answer() -> None:
    assert places_answered(["rear"], "both") == ("rear left", "rear right")
    assert places_answered(["front", "rear"], "left") == ("front left", "rear left")
    assert places_answered([], "all") == ("front left", "front right", "rear left", "rear right")
    assert places_answered(["front left"], "both") == ("front left", "front right")


def test_every_command_of_the_lexicon_is_carried_out() -> None:
    commands = lexicon().commands
    assert commands
    for command in commands.command:
        assert carry_out(car(TAKEN_BACK.model_copy(update={"command": command}))).commands[0].came_of_it
