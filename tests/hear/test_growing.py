"""Live words by an engine that reads words out of made-up sound: nothing that was said is missing in what is final."""

from collections.abc import Iterator, Sequence
from itertools import groupby

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from narrate.hear.audio import RATE, Samples
from narrate.hear.growing import LONGEST_S, PHRASE_PAUSE_S, Again, Growing, PartialWords
from narrate.hear.recogniser import Heard, Stretch
from narrate.records.recording import Word

WORD_S = 0.3
FRAME = RATE // 10


def sound_of(*said: str | float) -> Samples:
    """A word (a number in letters) as 0.3 s of its own level; a figure is a pause of so many seconds."""
    pieces = [
        np.zeros(round(each * RATE), np.float32)
        if isinstance(each, float)
        else np.full(round(WORD_S * RATE), 0.1 + int(each) / 1000, np.float32)
        for each in said
    ]
    return np.concatenate(pieces)


class Reader:
    """Hears exactly what `sound_of` made; tells how often it was asked and with which hints."""

    def __init__(self) -> None:
        self.hints: list[str] = []
        self.longest_s = 0.0

    def speech(self, samples: Samples) -> tuple[Stretch, ...]:
        runs, at = [], 0
        for spoken, run in groupby(samples > 0.05):
            count = sum(1 for _ in run)
            if spoken:
                runs.append((at / RATE, (at + count) / RATE))
            at += count
        return tuple(runs)

    def listen(self, samples: Samples, windows: Sequence[Stretch], *, language: str, hints: str) -> Iterator[Heard]:
        assert language == "en"
        self.hints.append(hints)
        for start_s, end_s in windows:
            self.longest_s = max(self.longest_s, end_s - start_s)
            yield self.heard(samples, start_s, end_s)

    def heard(self, samples: Samples, start_s: float, end_s: float) -> Heard:
        words, at = [], 0
        for level, run in groupby(np.rint((samples - 0.1) * 1000).astype(int).tolist()):
            count = sum(1 for _ in run)
            # Of a word that is cut nothing is heard, unless most of it is there.
            if level >= 0 and count > WORD_S * RATE / 2:
                text = str(level)
                words.append(Word(text=text, start_s=at / RATE, end_s=(at + count) / RATE, probability=0.9))
            at += count
        return Heard(start_s=start_s, end_s=end_s, words=tuple(words), average_log_probability=-0.1, no_speech=0.0)


def fed(growing: Growing, sound: Samples, *, frame: int = FRAME, at_s: float = 0.0) -> list[PartialWords]:
    told = []
    for first in range(0, sound.size, frame):
        told += growing.feed(sound[first : first + frame], at_s + first / RATE)
    return told


def finals(told: Sequence[PartialWords]) -> list[str]:
    return [each.text for each in told if each.final]


def test_a_pause_ends_a_phrase_and_words_come_before():
    """Words are told while the phrase grows, and once more when it is over, with where it was said."""
    told = fed(Growing(Reader()), sound_of(0.5, *"12345", 0.2, *"67", 1.0, *"89", 1.0))
    assert finals(told) == ["1 2 3 4 5 6 7", "8 9"]
    first, second = [each for each in told if each.final]
    assert (first.phrase, second.phrase) == (1, 2)
    assert (first.start_s, first.end_s) == pytest.approx((0.5, 2.8), abs=0.02)
    assert first.before_s is None
    assert second.before_s == pytest.approx(1.0, abs=0.02)
    assert PHRASE_PAUSE_S <= second.after_s <= PHRASE_PAUSE_S + 0.3
    assert [word.start_s for word in second.words] == pytest.approx([3.8, 4.1], abs=0.02)
    growing = [each for each in told if each.phrase == 1 and not each.final]
    assert growing
    assert all("1 2 3 4 5 6 7".startswith(each.text) for each in growing)


def test_a_finished_phrase_is_not_heard_again():
    """What was heard in its pause is what stays: the answer is there as soon as the phrase is over."""
    engine = Reader()
    told = fed(Growing(engine), sound_of(0.5, *"12", 1.0))
    assert finals(told) == ["1 2"]
    assert len(engine.hints) == 1


def test_sound_that_waited_costs_growing_words_only():
    """Two seconds at a time: nothing is told of phrases that go on, everything of those that are over."""
    said = (0.5, *"123", 1.0, *"456", 1.0, *"789", 1.0)
    told = fed(Growing(Reader()), sound_of(*said), frame=2 * RATE)
    assert finals(told) == ["1 2 3", "4 5 6", "7 8 9"]
    assert all(each.final for each in told)


def test_slow_hearing_is_asked_less_often():
    """An engine that takes two seconds is asked every four."""
    times = iter(range(0, 10_000, 2))
    slow, quick = Reader(), Reader()
    sound = sound_of(*[str(n) for n in range(1, 31)], 1.0)
    fed(Growing(slow, clock=lambda: float(next(times))), sound)
    fed(Growing(quick, clock=lambda: 0.0), sound)
    assert len(slow.hints) < len(quick.hints) / 2


def test_a_long_phrase_is_cut_at_its_longest_pause():
    """Who does not pause is heard in pieces of ten seconds at the most."""
    engine = Reader()
    words = [str(n) for n in range(1, 41)]
    said = [part for n, word in enumerate(words, 1) for part in (word, 0.15 if n == 25 else 0.1)]
    growing = Growing(engine)
    told = fed(growing, sound_of(*said)) + growing.end()
    assert finals(told)[0].split() == words[:25]
    assert finals(told)[0].split() + finals(told)[1].split() == words
    assert engine.longest_s <= LONGEST_S + 1.0
    assert next(each.after_s for each in told if each.final) == 0.0


def test_who_hardly_pauses_is_not_kept_waiting():
    """The longer a phrase, the shorter the silence that ends it."""
    words = [str(n) for n in range(1, 41)]
    said = [part for n, word in enumerate(words, 1) for part in (word, {8: 0.4, 16: 0.45}.get(n, 0.05))]
    told = fed(Growing(Reader()), sound_of(*said, 1.0))
    assert finals(told)[0].split() == words[:16]


def test_missing_sound_ends_a_phrase():
    """Sound that goes on at another second is another phrase; times are those that were given."""
    growing = Growing(Reader())
    told = fed(growing, sound_of(0.2, *"12")) + fed(growing, sound_of(*"34", 1.0), at_s=60.0)
    assert finals(told) == ["1 2", "3 4"]
    assert [each.start_s for each in told if each.final] == pytest.approx([0.2, 60.0], abs=0.02)


def test_a_click_is_no_phrase():
    """A tenth of a second is not heard at all."""
    engine = Reader()
    click = sound_of("1")[: RATE // 10]
    told = fed(Growing(engine), np.concatenate((sound_of(0.5), click, sound_of(1.0, "2", 1.0))))
    assert finals(told) == ["2"]


def test_silence_is_let_go_of():
    """An hour of silence takes no memory and no hearing."""
    engine = Reader()
    growing = Growing(engine)
    fed(growing, np.zeros(60 * RATE, np.float32))
    assert growing.until_s == pytest.approx(60.0)
    assert growing.quiet_s == pytest.approx(60.0)
    assert growing._sound.size < RATE
    assert engine.hints == []


def test_words_put_in_by_hints_are_heard_without_them():
    """What echoes the hints is heard once more without them."""
    hints = ("pads", "rotor", "hub", "hose", "link")

    class Echoing(Reader):
        def heard(self, samples: Samples, start_s: float, end_s: float) -> Heard:
            plain = super().heard(samples, start_s, end_s)
            if not self.hints[-1]:
                return plain
            echo = tuple(Word(text=each, start_s=0.0, end_s=0.1, probability=0.2) for each in hints)
            return Heard(start_s=start_s, end_s=end_s, words=echo, average_log_probability=-2.0, no_speech=0.1)

    told = fed(Growing(Echoing(), hints=hints), sound_of(0.2, *"12", 1.0))
    assert finals(told) == ["1 2"]


@settings(max_examples=25)
@given(
    st.lists(st.one_of(st.sampled_from([0.1, 0.2, 0.4, 0.7, 1.5]), st.just("w")), min_size=1, max_size=60),
    st.sampled_from([800, 1600, 4800, 32_000, 160_000]),
)
def test_every_word_is_in_what_is_final_once(parts: list[str | float], frame: int):
    """However it is cut up and however late it comes: each word once and in order."""
    words = iter(range(1, 900))
    # Two words in one breath are told apart by a short pause, so that none is cut in two.
    said = [piece for part in parts for piece in ((str(next(words)), 0.05) if part == "w" else (part,))]
    growing = Growing(Reader())
    told = fed(growing, sound_of(*said, 0.1), frame=frame) + growing.end()
    assert " ".join(finals(told)).split() == [each for each in said if isinstance(each, str)]


class Shouting(Reader):
    """Hears the same, ten times the number."""

    def heard(self, samples: Samples, start_s: float, end_s: float) -> Heard:
        told = super().heard(samples, start_s, end_s)
        words = tuple(word.model_copy(update={"text": f"{word.text}0"}) for word in told.words)
        return Heard(start_s=start_s, end_s=end_s, words=words, average_log_probability=-0.1, no_speech=0.0)


def test_a_finished_phrase_is_heard_again_by_the_better_engine_where_its_words_ask_for_it() -> None:
    better = Shouting()
    again = Again(engine=better, wanted=lambda words: words[0].text == "3")
    told = fed(Growing(Reader(), again=again), sound_of(0.5, *"12", 1.0, *"34", 1.0, *"56", 1.0))
    assert finals(told) == ["1 2", "30 40", "5 6"]
    assert len(better.hints) == 1, "only once it was over"
    [second] = [each for each in told if each.final and each.text == "30 40"]
    assert second.words[0].start_s == pytest.approx(2.1, abs=0.1)
