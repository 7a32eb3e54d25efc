"""What was never said is recognised as such, and what was said is kept."""

import pytest

from narrate.hear.guard import better, echoes_hints, fault, find_loop, truly_repeated, without_repeats

HINTS = ("brake pad", "rotor", "caliper", "wheel bearing", "ball joint", "tie rod end")


def test_plain_speech_has_no_fault(heard):
    """An ordinary sentence is believed."""
    assert fault(heard("the left front caliper is seized and the pads are at three millimeters"), HINTS) is None


@pytest.mark.parametrize(
    ("text", "said", "times"),
    [
        ("it needs brakes brakes brakes", ("brakes",), 3),
        ("the left side, the left side, the left side. okay", ("the", "left", "side"), 3),
        ("thank you. thank you. Thank you. Thank you.", ("thank", "you"), 4),
        (". . . .", ("",), 4),
    ],
)
def test_a_loop_is_found_whatever_its_case_and_punctuation(text, said, times, heard):
    """The same words three or more times in a row are a loop."""
    loop = find_loop(heard(text).words)
    assert (said, times) == (loop.said, loop.times)
    assert fault(heard(text)) == "loop"


@pytest.mark.parametrize(
    "text",
    ["no no it is fine", "left front 3, right front 3, left rear 3", "they read 3 3 3 and 4", ""],
)
def test_twice_or_in_figures_is_no_loop(text, heard):
    """Saying something twice is ordinary, and so is the same reading at three places."""
    assert find_loop(heard(text).words) is None


def test_a_loop_that_drifts_is_found_by_compression(heard):
    """A text that packs far better than speech is a loop even if no run is exact."""
    assert fault(heard(" ".join(f"and the front left pad and the front right pad {n}" for n in range(9)))) == "loop"


def test_hints_in_their_order_and_hardly_believed_are_an_echo(heard):
    """Four hints as they were given, in doubtful words, come from the prompt."""
    text = "Rotor, caliper, wheel bearing, ball joint,"
    assert fault(heard(text, probability=0.4), HINTS) == "echo of the hints"


@pytest.mark.parametrize(
    ("text", "probability"),
    [
        ("rotor, caliper, wheel bearing, ball joint all fine", 0.95),
        ("rotor, wheel bearing, caliper, ball joint", 0.4),
        ("rotor, caliper, wheel bearing are fine", 0.4),
    ],
)
def test_parts_clearly_said_or_in_another_order_are_no_echo(text, probability, heard):
    """A technician may well list parts."""
    assert not echoes_hints(heard(text, probability=probability).words, HINTS)


def test_low_probability_over_likely_silence_is_improbable(heard):
    """The three measured inventions over shop noise had both signs."""
    assert fault(heard("brake pads at four", log_probability=-1.24, no_speech=0.36)) == "improbable"
    assert fault(heard("brake pads at four", log_probability=-1.24, no_speech=0.2)) is None
    assert fault(heard("brake pads at four", log_probability=-0.9, no_speech=0.9)) is None


def test_mostly_doubtful_words_are_improbable(heard):
    """Words the model gives less than three in ten are not believed."""
    assert fault(heard("mumble and grumble", probability=0.2)) == "improbable"


def test_the_credible_hearing_wins(heard):
    """A sound second hearing replaces a loop."""
    loop = heard("brakes brakes brakes brakes")
    assert better(loop, heard("the brakes are worn")) == "second"


def test_silence_wins_over_a_loop_but_not_over_quiet_speech(heard):
    """Words that were hard to hear are kept when the model thinks that somebody spoke."""
    silence = heard("", no_speech=1.0)
    assert better(heard("brakes brakes brakes brakes"), silence) == "second"
    assert better(heard("torn boot", probability=0.2, no_speech=0.1), silence) == "first"
    assert better(heard("torn boot", probability=0.2, no_speech=0.5), silence) == "second"


def test_loops_over_silence_are_dropped(heard):
    """Where both hearings loop and the model doubts that anybody spoke, nothing is kept."""
    first = heard("rotor rotor rotor rotor", no_speech=0.7)
    assert better(first, heard("thank you thank you thank you")) == "neither"
    assert better(heard("rotor rotor rotor", no_speech=0.1), heard("rotor rotor rotor rotor")) != "neither"


def test_of_two_doubtful_hearings_the_likelier_is_kept(heard):
    """Nothing hard to hear is dropped."""
    weak, weaker = heard("torn boot", probability=0.25), heard("worn boot", probability=0.2)
    assert better(weak, weaker) == "first"
    assert better(weaker, weak) == "second"


def test_repeats_are_cut_to_the_first_saying(heard):
    """What surrounds a loop stays."""
    words = heard("check the the left side the left side the left side then stop").words
    assert ["check", "the", "the", "left", "side", "then", "stop"] == [word.text for word in without_repeats(words)]


def test_a_repeat_that_both_hearings_have_was_said(heard):
    """Three times 'no' with hints and without is what the technician said; thirty times never is."""
    few, many = "no no no that one is fine", "no " * 30
    assert truly_repeated(heard(few), heard(few))
    assert not truly_repeated(heard(few), heard("no that one is fine"))
    assert not truly_repeated(heard(many), heard(many))
