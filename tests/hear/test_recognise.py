"""A recording's words, notices and doubts, with an engine that hears what it is told."""

import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest

from narrate.errors import AudioError
from narrate.hear import recognise
from narrate.hear.recognise import hear, transcribe_samples
from narrate.settings import Settings

MINUTE = np.zeros(60 * 16_000, dtype=np.float32)


def said(transcript) -> str:
    return " ".join(word.text for word in transcript.words)


def test_words_of_all_windows_come_in_order(fake, heard):
    """Two windows give one list of words and full progress."""
    told = []
    engine = fake(first=[heard("left front is fine"), heard("right front too", start_s=30.0)])
    transcript = transcribe_samples(MINUTE, engine, progress=lambda *each: told.append(each))
    assert said(transcript) == "left front is fine right front too"
    assert transcript.minable
    assert transcript.language == "en"
    assert told == [(20.0, 60.0), (50.0, 60.0), (60.0, 60.0)]
    assert engine.asked_again == []


def test_silence_is_no_speech_and_not_mined(fake):
    """Without speech there are no words, and a notice says so."""
    transcript = transcribe_samples(MINUTE, fake())
    assert transcript.words == ()
    assert transcript.notices == ("No speech was heard.",)
    assert not transcript.minable
    assert transcript.language is None


def test_hints_are_given_as_one_text(fake, heard):
    """The engine gets the hints joined by commas; the transcript says which it got."""
    engine = fake(first=[heard("fine")])
    transcript = transcribe_samples(MINUTE, engine, hints=("brake pad", "rotor"))
    assert engine.given == [("en", "brake pad, rotor")]
    assert transcript.hints == ("brake pad", "rotor")


def test_another_language_is_written_down_but_not_searched(fake, heard):
    """German is recognised as German, without hints."""
    engine = fake(first=[heard("das Radlager hat Spiel")], languages=[("de", 0.97)])
    transcript = transcribe_samples(MINUTE, engine, hints=("rotor",))
    assert engine.given == [("de", "")]
    assert transcript.language == "de"
    assert not transcript.minable
    assert transcript.notices == ("This sounds like German; narrate reads English only, so nothing was searched.",)


@pytest.mark.parametrize(
    "languages",
    [[("es", 0.95), ("en", 0.9)], [("cy", 0.5)], [("es", 0.9), ("es", 0.9), ("en", 0.6)]],
)
def test_a_greeting_or_a_guess_does_not_make_another_language(languages, fake, heard):
    """English anywhere, or a weak guess, means English."""
    windows = [heard("hola the pads are gone", start_s=29.5 * n) for n in range(3)]
    transcript = transcribe_samples(MINUTE, fake(first=windows, languages=languages))
    assert transcript.language == "en"
    assert transcript.minable


def test_an_english_model_is_not_asked_for_the_language(fake, heard):
    """A model that knows only English cannot tell."""
    engine = fake(first=[heard("fine")], languages=[("de", 0.99)], english_only=True)
    assert transcribe_samples(MINUTE, engine).language == "en"


def test_a_loop_is_heard_again(fake, heard):
    """The window of a loop is heard again, and the record says which hearing was kept."""
    engine = fake(first=[heard("pads pads pads pads")], second=heard("the pads are worn"))
    transcript = transcribe_samples(MINUTE, engine)
    assert said(transcript) == "the pads are worn"
    assert engine.asked_again == [(0.0, 20.0)]
    [again] = transcript.heard_again
    assert (again.start_s, again.end_s, again.why, again.kept) == (0.0, 20.0, "loop", "second")


def test_a_loop_that_stays_is_cut(fake, heard):
    """Where both hearings loop differently the repeats are cut, and the rest stays."""
    engine = fake(first=[heard("front pads worn " + "and then " * 20)], second=heard("front pads " + "and so " * 9))
    assert said(transcribe_samples(MINUTE, engine)) in ("front pads worn and then", "front pads and so")


def test_noise_that_covers_all_speech_is_no_silence(fake):
    """Where nothing is heard and it is loud, somebody may have spoken: the notice says what to do."""
    loud = 0.05 * np.random.default_rng(1).standard_normal(MINUTE.size).astype(np.float32)
    (notice,) = transcribe_samples(loud, fake()).notices
    assert "noise covered it" in notice
    assert "close to the mouth" in notice


def test_what_was_said_three_times_stays(fake, heard):
    """Both hearings agree: the technician repeated himself."""
    text = "no no no that one is fine"
    engine = fake(first=[heard(text)], second=heard(text))
    assert said(transcribe_samples(MINUTE, engine)) == text


def test_loops_over_silence_leave_nothing(fake, heard):
    """Words that nobody spoke are dropped and marked."""
    engine = fake(first=[heard("you you you", no_speech=0.9)], second=heard("you you you you", no_speech=0.9))
    transcript = transcribe_samples(MINUTE, engine)
    assert transcript.words == ()
    assert transcript.heard_again[0].kept == "neither"
    assert transcript.notices == ("No speech was heard.",)


PASSED_OVER = ((0.4, 1.0), (13.8, 16.7))
"""Speech of a window: 'left front is fine', then a sentence that was passed over."""


def test_speech_passed_over_is_heard_again_and_put_in_its_place(fake, heard):
    """Only the missing stretch is heard again, with a margin, and its words stand between their neighbours."""
    first = heard("left front is fine")
    first = replace(first, words=(*first.words, *heard("lug nuts", start_s=18.0).words))
    second = heard("rear pads are gone", start_s=14.0)
    engine = fake(first=[first], second=second, speech=(*PASSED_OVER, (17.9, 18.6)))
    transcript = transcribe_samples(MINUTE, engine)
    assert said(transcript) == "left front is fine rear pads are gone lug nuts"
    assert engine.asked_again == [pytest.approx((13.4, 17.1))]
    [again] = transcript.heard_again
    assert (again.start_s, again.end_s, again.why, again.kept) == (13.4, 17.1, "speech without words", "second")
    assert not any("made out" in notice for notice in transcript.notices)


@pytest.mark.parametrize(
    ("text", "probability", "log_probability", "no_speech"),
    [("", 0.9, 0.0, 1.0), ("thank you", 0.3, -0.9, 0.2), ("so so so so", 0.9, -0.3, 0.1), ("okay", 0.9, -0.3, 0.7)],
)
def test_nothing_is_made_up_for_noise_that_sounds_like_speech(
    text, probability, log_probability, no_speech, fake, heard
):
    """Without credible words nothing is put in, and a notice says where something was said."""
    second = heard(text, probability=probability, log_probability=log_probability, no_speech=no_speech)
    engine = fake(first=[heard("left front is fine")], second=second, speech=PASSED_OVER)
    transcript = transcribe_samples(MINUTE, engine)
    assert said(transcript) == "left front is fine"
    assert transcript.heard_again[0].kept == "neither"
    assert "Something was said at 0:13 that could not be made out." in transcript.notices


def test_several_lost_places_are_told_in_one_sentence(fake, heard):
    """A bad recording gets one notice, not twenty."""
    windows = [heard("fine", start_s=20.0 * n) for n in range(3)]
    speech = [(20.0 * n + at, 20.0 * n + at + length) for n in range(3) for at, length in ((0.0, 0.25), (9.0, 3.0))]
    transcript = transcribe_samples(MINUTE, fake(first=windows, second=heard("", no_speech=1.0), speech=speech))
    assert "Something was said at 0:08, 0:28 and 0:48 that could not be made out." in transcript.notices


def test_a_window_without_any_word_is_heard_again(fake, heard):
    """Speech for which nothing at all was written is passed over as well."""
    engine = fake(first=[heard("", no_speech=1.0)], second=heard("rear pads are gone"), speech=((0.4, 3.0),))
    assert said(transcribe_samples(MINUTE, engine)) == "rear pads are gone"


def test_poor_sound_is_told(fake, heard):
    """Noise as loud as speech, and clipping, are told once each."""
    rng = np.random.default_rng(3)
    noisy = np.clip(rng.standard_normal(60 * 16_000), -1, 1).astype(np.float32)
    transcript = transcribe_samples(noisy, fake(first=[heard("fine")]))
    assert [notice.split(" is ")[1].split(",")[0].split(";")[0] for notice in transcript.notices] == [
        "noisy",
        "clipped",
    ]


@pytest.fixture
def engine(monkeypatch, fake, heard):
    """Put a fake engine in the place of the real one."""
    engine = fake(first=[heard("left front is fine")])
    monkeypatch.setattr(recognise, "load_engine", lambda settings, *, model: engine)
    return engine


def test_hear_returns_a_whole_recording(engine, tone, write):
    """Name, digest, length, model and settings stand in the record."""
    path = write("bay2.ogg", tone(25.0, rate=48_000), rate=48_000)
    recording = hear(path, settings=Settings(), hints=("rotor",), model="tiny.en", recording_id="r2")
    assert (recording.id, recording.name, recording.model) == ("r2", "bay2.ogg", "tiny.en")
    assert len(recording.sha256) == 64
    assert recording.duration_s == pytest.approx(25.0, abs=0.1)
    assert recording.minable
    assert recording.settings["hints"] == "rotor"
    assert recording.settings["compute_type"] == "int8"


def test_hints_can_be_switched_off(engine, tone, write):
    """The shop's setting wins over the caller's list."""
    hear(write("bay2.wav", tone(25.0)), settings=Settings(hints=False), hints=("rotor",))
    assert engine.given == [("en", "")]


def test_a_bad_file_is_refused_before_a_model_is_loaded(monkeypatch, tmp_path):
    """Loading a model for nothing wastes a second."""
    monkeypatch.setattr(recognise, "load_engine", None)
    with pytest.raises(AudioError):
        hear(tmp_path / "gone.wav", settings=Settings())


def test_importing_is_quick():
    """Neither the engine nor the decoder is imported before it is used."""
    heavy = "{'av', 'faster_whisper', 'ctranslate2', 'onnxruntime'}"
    code = f"import sys, narrate.hear.recognise; print({heavy} & set(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "set()"
