"""Live words become provisional findings; commands, answers and sentences to say come at the right moments."""

from collections.abc import Callable, Sequence
from typing import Any

import pytest
from live_saying import SILENCE, Saying

from narrate.find.mining import find_findings
from narrate.records.order import Order
from narrate.records.recording import Recording
from narrate.records.walkaround import Walkaround
from narrate.settings import Settings
from narrate.words.lexicon import Lexicon
from narrate.words.load import load_lexicon
from narrate.work import live_story
from narrate.work.live_session import LiveSession
from narrate.work.live_story import MOST_WORDS

Messages = list[dict[str, Any]]


@pytest.fixture(scope="module")
def lexicon() -> Lexicon:
    return load_lexicon()


class Talk:
    """A session and what it told."""

    def __init__(self, lexicon: Lexicon, **given: Any) -> None:
        self.hearing = Saying()
        self.session = LiveSession(self.hearing, Settings(), lexicon, **given)  # type: ignore[arg-type]
        self.told: Messages = []
        self.mode = given.get("read_back", "asked")
        self.told += self.session.begin(0, 0.0, self.mode)

    def say(self, text: str, **how: Any) -> Messages:
        self.hearing.say(text, **how)
        return self.wait(0.1)

    def wait(self, seconds: float) -> Messages:
        new: Messages = []
        for _ in range(round(seconds * 10)):
            new += self.session.feed(SILENCE, self.hearing.until_s)
        self.told += new
        return new

    def touch(self, **asked: str) -> Messages:
        new = self.session.ask(asked)
        self.told += new
        return new

    @property
    def findings(self) -> Messages:
        lists = of(self.told, "findings")
        return lists[-1]["findings"] if lists else []


def of(told: Messages, kind: str) -> Messages:
    return [each for each in told if each["type"] == kind]


def kept(told: Messages) -> Messages:
    return [each["entry"] for each in of(told, "kept")]


@pytest.fixture
def talk(lexicon: Lexicon) -> Callable[..., Talk]:
    return lambda **given: Talk(lexicon, **given)


def test_a_phrase_becomes_a_finding(talk: Callable[..., Talk]):
    """Words come as they were heard; a finding is listed in a line, with when it was spoken."""
    here = talk()
    told = here.say("Left front brake pads are worn out, 3 millimeters.")
    [words] = of(told, "words")
    assert (words["text"], words["final"], words["phrase"]) == (
        "Left front brake pads are worn out, 3 millimeters.",
        True,
        1,
    )
    assert (words["start_s"], words["end_s"], words["run"]) == (1.0, pytest.approx(3.7), 0)
    [finding] = here.findings
    assert finding["line"] == "left front, brake pads, worn, three millimeters"
    assert not finding["taken_back"]
    assert 1.0 <= finding["start_s"] < finding["end_s"] <= 3.7


def test_words_of_a_phrase_that_goes_on_are_not_searched(talk: Callable[..., Talk]):
    here = talk()
    told = here.say("Left front brake pads are worn", final=False)
    assert [each["final"] for each in of(told, "words")] == [False]
    assert here.findings == []


def test_a_finding_keeps_its_id_while_it_grows(talk: Callable[..., Talk]):
    """What is said next adds to what is listed."""
    here = talk()
    here.say("The right front lower control arm bushing is torn.")
    [before] = here.findings
    here.say("I'd replace that one.", pause_s=0.7)
    [after] = here.findings
    assert before["id"] == after["id"]
    assert after["line"] == f"{before['line']}, replace"


def test_the_last_finding_is_taken_back_and_comes_back(talk: Callable[..., Talk]):
    """The command stands for itself, tells what it is about, and can be undone."""
    here = talk()
    here.say("Left front brake pads are worn out, 3 millimeters.")
    here.say("The right rear shock is leaking.")
    told = here.say("australia, take that back.")
    [command] = of(told, "command")
    assert (command["command"], command["said"]) == ("take_back", "australia, take that back.")
    assert "shock" in command["about"]
    first, second = here.findings
    assert (first["taken_back"], second["taken_back"]) == (False, True)
    assert command["about_start_s"] == pytest.approx(second["start_s"], abs=0.01)
    assert command["at_s"] > second["end_s"]
    here.touch(type="undo", mark=command["id"])
    assert [each["taken_back"] for each in here.findings] == [False, False]
    again = of(here.touch(type="command", command="take_back", id="touched-1"), "command")
    assert [(each["id"], each["said"]) for each in again] == [("touched-1", "")]
    assert [each["taken_back"] for each in here.findings] == [False, True]
    here.say("australia take that back")
    assert [each["taken_back"] for each in here.findings] == [True, True]


def test_words_of_a_command_are_searched_for_nothing(talk: Callable[..., Talk]):
    here = talk()
    told = here.say("australia, take a picture.")
    assert [each["command"] for each in of(told, "command")] == ["photograph"]
    assert here.findings == []
    assert not any("words" in entry for entry in kept(here.told))


def test_findings_are_read_back_in_silence_and_once(talk: Callable[..., Talk]):
    """Each finding, if that was chosen, as soon as nobody speaks."""
    here = talk(read_back="each")
    told = here.say("Left front brake pads are worn out, 3 millimeters.")
    assert of(told, "say") == []
    [said] = of(here.wait(1.5), "say")
    assert (said["text"], said["why"]) == ("left front, brake pads, worn, three millimeters", "read_back")
    assert of(here.wait(10), "say") == []


def test_nothing_is_read_back_unless_asked(talk: Callable[..., Talk]):
    """On request the last one is said."""
    here = talk(read_back="asked")
    assert of(here.touch(type="command", command="read_back"), "say")[0]["text"] == "Nothing is noted yet."
    here.say("Left front brake pads are worn out, 3 millimeters.")
    assert of(here.wait(5), "say") == []
    told = here.say("australia, say it again.")
    assert [each["text"] for each in of(told, "say")] == ["left front, brake pads, worn, three millimeters"]


def test_a_side_that_matters_is_asked_for_and_the_answer_taken(talk: Callable[..., Talk]):
    """Asked in silence, once; the next words answer; the mark holds what the final list needs."""
    here = talk()
    here.say("The front brake caliper is seized.")
    told = here.wait(3)
    [question] = of(told, "question")
    assert question["answers"] == ["left", "right", "both"]
    assert [each["why"] for each in of(told, "say")] == ["question"]
    answered = of(here.say("The left one."), "answered")
    assert len(answered) == 1
    mark = answered[0]["mark"]
    assert (mark["what"], mark["field"], mark["value"], mark["said"]) == ("answer", "location", "left", "The left one.")
    assert mark["about_start_s"] < mark["about_end_s"] < mark["at_s"]
    assert here.findings[0]["line"].startswith("left front, ")
    assert of(here.wait(30), "question") == []
    here.touch(type="undo", mark=mark["id"])
    assert here.findings[0]["line"].startswith("front, ")


def test_what_is_no_answer_is_searched(talk: Callable[..., Talk]):
    """The technician goes on: the question stays a question for a while, then goes."""
    here = talk()
    here.say("The front brake caliper is seized.")
    [question] = of(here.wait(3), "question")
    told = here.say("The exhaust is rusted through at the muffler.")
    assert of(told, "answered") == []
    assert len(here.findings) >= 2
    [answered] = of(here.touch(type="answer", value=question["answers"][1]), "answered")
    assert answered["mark"]["value"] == "right"
    assert of(here.touch(type="answer", value="left"), "answered") == []


def test_never_means_that_nothing_is_said(talk: Callable[..., Talk]):
    """A question is shown all the same."""
    here = talk(read_back="never")
    here.say("The front brake caliper is seized.")
    told = here.wait(5)
    assert of(told, "question")
    assert of(told, "say") == []


def test_what_is_left_counts_the_orders_concerns(talk: Callable[..., Talk]):
    """An order's concern is open until something answers it."""
    here = talk(order=Order(concerns=("Squealing noise when braking", "Air conditioning blows warm")))
    assert of(here.told, "findings")[0]["concerns_open"] == [
        "Squealing noise when braking",
        "Air conditioning blows warm",
    ]
    here.say("Left front brake pads are worn out, that's what is squealing when she brakes.")
    told = here.say("australia, what else?")
    [left] = of(told, "say")
    assert left["why"] == "left"
    assert "Air conditioning" in left["text"]
    assert "Air conditioning blows warm" in of(here.told, "findings")[-1]["concerns_open"]


def test_an_hour_of_talk_is_searched_in_pieces(talk: Callable[..., Talk], monkeypatch: pytest.MonkeyPatch):
    """The words searched at once stay few; what was found first stays listed, once, under its id."""
    searched: list[int] = []

    def counted(recordings: Sequence[Recording], **how: Any) -> Walkaround:
        searched.append(len(recordings[0].words))
        return find_findings(recordings, **how)

    monkeypatch.setattr(live_story, "find_findings", counted)
    here = talk()
    parts = ["muffler", "alternator", "radiator", "water pump", "starter", "fuel filter", "thermostat", "battery"]
    here.say("The left front wheel bearing is noisy.")
    first = here.findings[0]
    for number in range(32):
        here.say(f"The {parts[number % 8]} is leaking and it needs to be replaced at the next visit.")
    assert max(searched) <= MOST_WORDS + 20
    lines = [each["line"] for each in here.findings]
    assert (here.findings[0]["id"], here.findings[0]["start_s"]) == (first["id"], first["start_s"])
    assert len({each["id"] for each in here.findings}) == len(lines)
    assert len(lines) >= 9


def test_another_vehicle_begins_with_an_empty_sheet(talk: Callable[..., Talk]):
    """Nothing said after it is added to what was found before."""
    here = talk()
    here.say("The left front tire is worn.")
    before = here.findings
    here.say("australia, next vehicle.")
    here.say("It needs to be replaced.")
    assert here.findings[:1] == before


def test_a_new_session_goes_on_where_one_ended(talk: Callable[..., Talk]):
    """From what was kept: words, commands, answers, and what was asked already."""
    here = talk()
    here.say("The front brake caliper is seized.")
    here.wait(3)
    here.say("The left one.")
    here.say("The right rear shock is leaking.")
    here.say("australia, take that back.")
    there = talk(so_far=kept(here.told))
    assert [(each["line"], each["taken_back"]) for each in there.findings] == [
        (each["line"], each["taken_back"]) for each in here.findings
    ]
    there.session.begin(0, here.hearing.until_s, "asked")
    there.hearing.until_s = there.hearing.spoken_s = here.hearing.until_s
    assert of(there.wait(5), "question") == []


def test_a_new_run_has_its_own_seconds(talk: Callable[..., Talk]):
    """After a reload of the page seconds begin anew; what was found before keeps those of its run."""
    here = talk()
    here.say("The right rear shock is leaking.")
    there = talk(so_far=kept(here.told))
    there.told += there.session.begin(1, 0.0, "asked")
    [old] = there.findings
    assert (old["run"], old["start_s"]) == (0, here.findings[0]["start_s"])
    told = there.session.feed(SILENCE, 0.5)
    assert told == []
    there.hearing.say("The left front tire is worn out.")
    there.told += there.session.feed(SILENCE, 5.0)
    new = there.findings[-1]
    assert new["run"] == 1
    assert 1.0 < new["start_s"] < 3.0
    command = of(there.touch(type="command", command="take_back"), "command")[0]
    assert command["run"] == 1
    assert command["about_start_s"] == new["start_s"]
    command = of(there.touch(type="command", command="take_back"), "command")[0]
    assert command["about"]
    assert command["about_start_s"] is None
    assert [each["taken_back"] for each in there.findings] == [True, True]
