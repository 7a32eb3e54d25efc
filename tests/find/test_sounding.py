"""Part names heard as other words that sound like them."""

from collections.abc import Callable, Sequence

import pytest

from narrate.find.draft import Draft, Mention
from narrate.find.stages import READING, run_stages
from narrate.find.vocabulary import Vocabulary
from narrate.records.recording import Word

Read = Callable[[str], Draft]


def parts(draft: Draft) -> list[tuple[str, str]]:
    """Each part and how it was read."""
    mentions = sorted((m for m in draft.mentions if m.family == "component"), key=lambda m: m.first)
    return [(m.key, m.how) for m in mentions]


def heard(vocabulary: Vocabulary, words: Sequence[tuple[str, float]]) -> list[Mention]:
    """The guesses in words with their probabilities."""
    draft = run_stages([Word(text=text, probability=p) for text, p in words], vocabulary, READING)
    return [m for m in draft.mentions if m.how == "guess"]


@pytest.mark.parametrize(
    ("said", "part"),
    [
        ("the front break pads are worn", "brake_pad"),
        ("left swabar link is broken", "sway_bar_link"),
        ("front trut is leaking", "strut"),
        ("petman arm is worn", "pitman_arm"),
    ],
)
def test_what_sounds_like_a_part_is_guessed(read: Read, said: str, part: str) -> None:
    assert (part, "guess") in parts(read(said))


def test_a_guess_says_what_it_sounds_like_and_keeps_what_was_heard(read: Read) -> None:
    draft = read("the front break pads are worn")
    (guess,) = [m for m in draft.mentions if m.how == "guess"]
    assert guess.why.startswith("'break pads' sounds like 'brake pads'")
    assert [draft.tokens[n].text for n in range(guess.first, guess.last + 1)] == ["break", "pads"]


def test_a_name_heard_in_part_is_completed_from_words_that_were_badly_heard(ready: Vocabulary) -> None:
    said = [("the", 0.9), ("valve", 0.9), ("cover", 0.9), ("guest", 0.3), ("get", 0.4), ("is", 0.9), ("leaking", 0.9)]
    assert [m.key for m in heard(ready, said)] == ["valve_cover_gasket"]


def test_the_same_words_surely_heard_complete_nothing(ready: Vocabulary) -> None:
    said = [(word, 0.99) for word in "the valve cover guest get is leaking".split()]
    assert heard(ready, said) == []


@pytest.mark.parametrize(
    "said",
    [
        "front left indicator flashes double speed",
        "suspension sits low at the back",
        "what was the speed of light in the first date they had",
        "it was a better idea to try to see her brother",
        "the oops and the drifters played again",
    ],
)
def test_words_that_mean_themselves_are_left_alone(read: Read, said: str) -> None:
    assert "guess" not in [how for _, how in parts(read(said))]


def test_a_name_written_with_a_capital_is_no_part(read: Read) -> None:
    assert "guess" not in [how for _, how in parts(read("the tires were worn and old Kaliper was late"))]
