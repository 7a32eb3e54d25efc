"""A second hearing of the weak stretches: which they are, what is kept, and that nothing said goes missing."""

from collections.abc import Iterator, Sequence

import numpy as np
import pytest

from narrate.hear.audio import RATE, Samples
from narrate.hear.recogniser import LONGEST_WINDOW_S, Heard, Stretch
from narrate.hear.weak import PUT_BACK, WEAK, choose, listen_closer, weak_phrases
from narrate.records.recording import Recording, Word


def said(text: str, probability: float = 0.9, *, start_s: float = 0.0, step_s: float = 0.3) -> tuple[Word, ...]:
    """Words one after the other without a pause."""
    return tuple(
        Word(text=word, start_s=start_s + n * step_s, end_s=start_s + (n + 1) * step_s, probability=probability)
        for n, word in enumerate(text.split())
    )


def heard(text: str, probability: float, *, log_probability: float = -0.2) -> Heard:
    """A second hearing of one window."""
    words = said(text, probability)
    return Heard(start_s=0.0, end_s=9.0, words=words, average_log_probability=log_probability, no_speech=0.0)


def test_a_phrase_with_a_doubtful_word_is_weak() -> None:
    words = (*said("front pads are fine"), *said("the trut is wet", 0.3, start_s=3.0), *said("all good", start_s=6.0))
    (phrase,) = weak_phrases(words)
    assert [word.text for word in words[phrase.first : phrase.last + 1]] == ["the", "trut", "is", "wet"]
    assert words[3].end_s <= phrase.start_s < 3.0
    assert words[7].end_s < phrase.end_s <= 6.0


def test_words_heard_surely_need_no_second_hearing() -> None:
    assert weak_phrases(said("front pads are fine")) == ()


def test_typed_words_need_no_second_hearing() -> None:
    assert weak_phrases((Word(text="trut"),)) == ()


def test_no_window_is_longer_than_the_model_hears() -> None:
    words = said("word " * 400, 0.2)
    phrases = weak_phrases(words)
    assert [n for p in phrases for n in range(p.first, p.last + 1)] == list(range(400))
    assert all(p.end_s - p.start_s <= LONGEST_WINDOW_S + 0.001 for p in phrases)


def test_the_surer_hearing_is_kept() -> None:
    kept, notes = choose(said("the trut is wet", 0.4), heard("the strut is wet", 0.9))
    assert " ".join(word.text for word in kept) == "the strut is wet"
    assert notes == [(WEAK, "second")]


@pytest.mark.parametrize(
    "second",
    [
        heard("the strut is wet", 0.41),  # hardly surer
        heard("", 0.9),  # silence
        heard("strut strut strut strut strut strut", 0.9),  # a loop
    ],
)
def test_the_first_hearing_stands_otherwise(second: Heard) -> None:
    first = said("the trut is wet", 0.4)
    assert choose(first, second) == (first, [(WEAK, "first")])


def test_eight_words_that_went_missing_are_put_back_and_marked() -> None:
    first = said("the trut is wet and the boot is torn on the other side of it", 0.4)
    kept, notes = choose(first, heard("the strut is wet", 0.9))
    assert " ".join(word.text for word in kept) == "the strut is wet and the boot is torn on the other side of it"
    assert (PUT_BACK, "first") in notes


class Engine:
    """Hears the same words in every window."""

    english_only = True

    def __init__(self, text: str) -> None:
        self.text, self.hints, self.windows = text, "", ()

    def speech(self, samples: Samples) -> tuple[Stretch, ...]:
        raise NotImplementedError

    def language(self, samples: Samples) -> tuple[str, float]:
        raise NotImplementedError

    def count_tokens(self, text: str) -> int:
        return len(text.split())

    def listen(self, samples: Samples, windows: Sequence[Stretch], *, language: str, hints: str) -> Iterator[Heard]:
        self.hints, self.windows = hints, tuple(windows)
        for start_s, end_s in windows:
            words = said(self.text, 0.9, start_s=start_s)
            yield Heard(start_s=start_s, end_s=end_s, words=words, average_log_probability=-0.1, no_speech=0.0)

    def listen_again(self, samples: Samples, window: Stretch, *, language: str) -> Heard:
        raise NotImplementedError


def test_only_weak_phrases_are_heard_again_and_the_rest_stays() -> None:
    words = (*said("front pads are fine"), *said("the trut is wet", 0.3, start_s=3.0), *said("all good", start_s=6.0))
    recording = Recording(name="a.wav", words=words, language="en")
    engine = Engine("the strut is wet")
    phrases = weak_phrases(words)
    closer = listen_closer(np.zeros(20 * RATE, np.float32), recording, engine, phrases=phrases, hints=("strut", "boot"))
    assert " ".join(word.text for word in closer.words) == "front pads are fine the strut is wet all good"
    assert engine.windows == tuple((p.start_s, p.end_s) for p in phrases)
    assert engine.hints == "strut, boot"
    assert closer.settings["hints of the second hearing"] == "strut, boot"
    assert [(again.why, again.kept) for again in closer.heard_again] == [(WEAK, "second")]


def test_hints_of_the_second_hearing_stay_under_their_limit() -> None:
    words = said("the trut is wet", 0.3)
    engine = Engine("the strut is wet")
    recording = Recording(name="a.wav", words=words)
    hints = [f"part{n}" for n in range(500)]
    listen_closer(np.zeros(20 * RATE, np.float32), recording, engine, phrases=weak_phrases(words), hints=hints)
    assert engine.count_tokens(f" {engine.hints}") < 200


def test_windows_lie_within_the_recording_and_not_over_each_other() -> None:
    words = (
        *said("the trut is wet", 0.3),
        *said("the boot is torn", 0.3, start_s=1.6),
        *said("all good", 0.2, start_s=3.4),
    )
    engine = Engine("the strut is wet")
    recording = Recording(name="a.wav", words=words)
    listen_closer(np.zeros(4 * RATE, np.float32), recording, engine, phrases=weak_phrases(words), hints=("strut",))
    edges = [edge for window in engine.windows for edge in window]
    assert edges == sorted(edges)
    assert edges[-1] <= 4.0
