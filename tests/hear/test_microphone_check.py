"""The microphone check says what is wrong, and what to do, for sound made wrong to a known degree."""

from pathlib import Path

import numpy as np
import pytest

from narrate.hear import microphone_check as check
from narrate.hear.audio import RATE, Samples, decode
from narrate.hear.microphone_check import check_microphone
from narrate.hear.whisper_engine import speech_in
from narrate.settings import project_folder


@pytest.fixture(scope="module")
def voice() -> Samples:
    """Return five seconds of somebody speaking in a quiet room."""
    path = project_folder("sample_audio") / "compact_brakes_tires.ogg"
    samples = decode(Path(path), min_duration_s=0, max_duration_s=600).samples
    return samples[3 * RATE : 8 * RATE]


def judged(samples: np.ndarray) -> check.MicrophoneCheck:
    sound = samples.astype(np.float32)
    return check_microphone(sound, speech_in(sound))


def with_noise(voice: Samples, over_noise_db: float) -> np.ndarray:
    """Return the voice with white noise under its own mean power by so many decibels."""
    level = np.sqrt(np.mean(np.square(voice))) * 10 ** (-over_noise_db / 20)
    return voice + level * np.random.default_rng(3).standard_normal(voice.size)


def test_a_clear_voice_is_good(voice: Samples) -> None:
    found = judged(voice)
    assert (found.good, found.sentences) == (True, (check.GOOD,))
    assert found.speech_db is not None
    assert -30 < found.speech_db < -10
    assert found.speech_to_noise_db is not None
    assert found.speech_to_noise_db > 20


@pytest.mark.parametrize(
    ("gain_db", "says"),
    [(-35, check.FAINT), (30, check.CLIPPED)],
)
def test_too_faint_and_too_loud_are_told(voice: Samples, gain_db: float, says: str) -> None:
    found = judged(np.clip(voice * 10 ** (gain_db / 20), -1, 1))
    assert (found.good, found.sentences) == (False, (says,))


def test_a_level_falls_by_what_the_sound_was_turned_down(voice: Samples) -> None:
    loud, soft = judged(voice), judged(voice * 0.1)
    assert loud.speech_db is not None
    assert soft.speech_db == pytest.approx(loud.speech_db - 20, abs=0.5)


@pytest.mark.parametrize(
    ("over_noise_db", "good", "says"), [(25, True, check.GOOD), (10, True, check.UNEASY), (2, False, check.DROWNED)]
)
def test_noise_is_told_by_degrees(voice: Samples, over_noise_db: float, good: bool, says: str) -> None:
    found = judged(with_noise(voice, over_noise_db))
    assert (found.good, found.sentences) == (good, (says,))


def test_a_faint_voice_under_noise_gets_both_sentences(voice: Samples) -> None:
    assert judged(with_noise(voice * 0.04, 2)).sentences == (check.FAINT, check.DROWNED)


def test_a_dead_microphone_and_one_without_a_voice_are_told_apart() -> None:
    noise = 0.01 * np.random.default_rng(4).standard_normal(5 * RATE)
    assert judged(np.zeros(5 * RATE)).sentences == (check.NO_SOUND,)
    assert judged(noise).sentences == (check.NO_VOICE,)
    assert judged(noise).noise_db == pytest.approx(-40, abs=0.5)


def test_too_little_sound_is_not_judged(voice: Samples) -> None:
    found = judged(voice[:RATE])
    assert (found.good, found.sentences, found.speech_db) == (False, (check.TOO_SHORT,), None)
    assert judged(voice[:0]).sentences == (check.TOO_SHORT,)
