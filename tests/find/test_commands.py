"""Commands told to narrate itself, among the words of a recording."""

from collections.abc import Callable

import pytest

from narrate.find.commands import PAUSE_S, command_in, perhaps_command, spoken_commands
from narrate.find.mining import find_findings
from narrate.find.trace import explain_finding
from narrate.find.word_trace import explain_words
from narrate.records.recording import Recording, Word
from narrate.records.walkaround import MadeBy, Walkaround
from narrate.words.lexicon import Lexicon

MADE_BY = MadeBy(program="narrate test", lexicon="sha256:0", settings="sha256:0")


def timed(text: str, *, word_s: float = 0.3) -> tuple[Word, ...]:
    """Words of 0.3 s each; every `/` is a second of silence."""
    words, at_s = [], 0.0
    for piece in text.split():
        if piece == "/":
            at_s += 1.0
            continue
        words.append(Word(text=piece, start_s=at_s, end_s=at_s + word_s, probability=0.9))
        at_s += word_s
    return tuple(words)


@pytest.fixture(scope="module")
def mined(lexicon: Lexicon) -> Callable[[str], Walkaround]:
    """What is found in timed words."""
    return lambda text: find_findings([Recording(name="bay", words=timed(text))], lexicon=lexicon, made_by=MADE_BY)


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("Australia, take that back.", "take_back"),
        ("austral you mark this", "mark"),
        ("Uh, australia, take a picture, please.", "photograph"),
        ("Australia. Next vehicle.", "next_vehicle"),
        ("australia say it again", "read_back"),
        ("Australia, what’s left?", "whats_left"),
        ("australia all done", "done"),
        ("australian take that bag", "take_back"),
    ],
)
def test_words_that_are_a_command(said: str, meant: str, lexicon: Lexicon) -> None:
    assert command_in(timed(said), 1.0, None, lexicon) == meant


@pytest.mark.parametrize(
    "said",
    [
        "take that back",
        "australia",
        "australia front left pads",
        "australia take that back and look at the rotors",
        "no good look at it again",
        "next vehicle",
        "",
    ],
)
def test_words_that_are_none(said: str, lexicon: Lexicon) -> None:
    assert command_in(timed(said), 1.0, 1.0, lexicon) is None


def test_it_must_stand_alone(lexicon: Lexicon) -> None:
    words = timed("australia mark this")
    assert command_in(words, PAUSE_S, PAUSE_S, lexicon) == "mark"
    assert command_in(words, PAUSE_S / 2, 1.0, lexicon) is None
    assert command_in(words, 1.0, 0.0, lexicon) is None


def test_commands_in_a_recording(lexicon: Lexicon) -> None:
    words = timed("front left pads are at three / australia take that back / and australia mark this / rotors fine")
    found = spoken_commands(words, lexicon)
    assert [(c.command, c.first, c.last) for c in found] == [("take_back", 6, 9), ("mark", 10, 13)]


def test_in_running_speech_there_is_none(lexicon: Lexicon) -> None:
    assert spoken_commands(timed("so the australia next vehicle thing is on the bench"), lexicon) == ()


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("ostry you take it back", "take_back"),
        ("osprey save that again", "read_back"),
        ("i'll straight away take it back", "take_back"),
        ("a spray on the markless spot", "mark"),
        ("i'll train you to take a picture", "photograph"),
        ("australia we are olden", "done"),
    ],
)
def test_what_noise_made_of_a_command(said: str, meant: str, lexicon: Lexicon) -> None:
    """As the model `base` wrote them in made shop noise at 10 dB and in a compressor's at 15 dB."""
    [found] = spoken_commands(timed(f"front pads are at three / {said} / rotors are fine"), lexicon)
    assert (found.command, found.first) == (meant, 5)


@pytest.mark.parametrize(
    "said",
    ["needs a real one what else", "and i'll say it again", "staring right at it back", "or it'll eat the next coil",
     "i don't really know what it's", "plus railing all done"],
)  # fmt: skip
def test_what_sounds_a_little_like_one_is_none(said: str, lexicon: Lexicon) -> None:
    """The likest of 100,000 words of narrations and complaints, as if they stood between pauses."""
    assert spoken_commands(timed(f"front pads are at three / {said} / rotors are fine"), lexicon) == ()


@pytest.mark.parametrize(
    ("said", "again"),
    [
        ("and alignment of / spray linux drug", True),
        ("i'll straighten it together", True),
        ("australia take that back", False),
        ("front pads are at three millimeters", False),
        ("left one is fine", False),
    ],
)
def test_what_may_be_a_command_badly_heard(said: str, again: bool, lexicon: Lexicon) -> None:
    """The first two as the model `tiny.en` wrote commands; one that was understood needs no second hearing."""
    assert perhaps_command(timed(said), lexicon) is again


def test_full_stops_stand_for_pauses_in_typed_text(lexicon: Lexicon) -> None:
    typed = [Word(text=t) for t in "Pads are gone. Australia, mark this. Rotors are fine.".split()]
    assert [c.command for c in spoken_commands(typed, lexicon)] == ["mark"]
    typed = [Word(text=t) for t in "pads are gone australia mark this rotors are fine".split()]
    assert spoken_commands(typed, lexicon) == ()


def test_the_words_of_a_command_are_neither_found_nor_left_over(mined: Callable[[str], Walkaround]) -> None:
    plain = mined("left front brake pads are worn out / / / right rear shock is leaking")
    told = mined("left front brake pads are worn out / australia what's left / right rear shock is leaking")
    assert [(f.component.id, f.locations, f.status) for f in told.findings] == [
        (f.component.id, f.locations, f.status) for f in plain.findings
    ]
    assert told.unplaced == plain.unplaced == ()
    (command,) = told.commands
    assert (command.id, command.command, command.said) == ("k1", "whats_left", "australia what's left")
    assert (command.first_word, command.last_word) == (7, 9)
    assert command.start_s == pytest.approx(3.1)
    said = " ".join(e.said for f in told.findings for e in f.evidence)
    assert "australia" not in said


def test_next_vehicle_parts_the_list(mined: Callable[[str], Walkaround]) -> None:
    told = mined("left front brake pads are worn out / australia next vehicle / rear shock is leaking")
    (split,) = [s for s in told.suggestions if s.kind == "split"]
    assert (split.evidence[0].first_word, split.evidence[0].last_word) == (10, 13)
    assert [f.component.id for f in told.findings] == ["brake_pad", "shock_absorber"]


def test_the_next_vehicle_named_behind_the_command_begins_once(mined: Callable[[str], Walkaround]) -> None:
    told = mined(
        "left front brake pads are worn out. / australia next vehicle / okay next car, the silver van, plate KJM 482. "
        "rear shock is leaking"
    )
    assert len([s for s in told.suggestions if s.kind == "split"]) == 1


def test_a_recording_may_begin_and_end_with_commands(mined: Callable[[str], Walkaround]) -> None:
    told = mined("australia next vehicle / left front brake pads are worn out / australia all done")
    assert [c.command for c in told.commands] == ["next_vehicle", "done"]
    assert told.suggestions == ()
    assert len(told.findings) == 1


def test_it_is_explained(mined: Callable[[str], Walkaround], lexicon: Lexicon) -> None:
    told = mined("left front brake pads are worn out / australia mark this / right rear shock is leaking")
    finding = told.findings[1]
    assert explain_finding(told, finding.id, lexicon).finding == finding
    traced = list(explain_words(told, told.recordings[0], lexicon))
    assert all(("commands", "command mark") in word.recorded for word in traced[7:10])
    assert traced[7].stands_in == ()
