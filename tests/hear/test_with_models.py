"""Real speech through real models: the error rate stays under a stated bound."""

import re
from pathlib import Path

import jiwer
import numpy as np
import pytest

from narrate.hear.audio import decode
from narrate.hear.guard import credible_alone
from narrate.hear.hints import HINT_TOKENS
from narrate.hear.recognise import hear, transcribe_samples
from narrate.hear.weights import list_models
from narrate.hear.whisper_engine import load_engine
from narrate.settings import Settings, project_folder

SPEECH = Path(__file__).parents[1] / "data" / "speech_short"
INSTALLED = {state.name for state in list_models() if state.installed}
HINTS = ("brake pad", "rotor", "caliper", "wheel bearing", "ball joint", "tie rod end", "control arm")

pytestmark = pytest.mark.model
needs_tiny = pytest.mark.skipif("tiny.en" not in INSTALLED, reason="tiny.en is not installed")
needs_base = pytest.mark.skipif("base" not in INSTALLED, reason="base is not installed")
TINY = Settings(model="tiny.en")


def references() -> dict[str, str]:
    """Return what is said in each file, lower case without punctuation."""
    rows = [line.split("\t") for line in (SPEECH / "refs.tsv").read_text("utf-8").splitlines()[1:]]
    return {name: said for name, said, _ in rows if (SPEECH / name).is_file()}


def plain(text: str) -> str:
    return " ".join(re.sub(r"[^\w' ]", " ", text.lower()).split())


@needs_tiny
@pytest.mark.parametrize("name", ["jfk.flac", "libri-2412-153948-0000.flac", "ami-ES2011a-40s-46s.wav"])
def test_clean_speech_is_heard(name):
    """At most one word in four is wrong (in six seconds of AMI both are names), and times are in order."""
    recording = hear(SPEECH / name, settings=TINY, hints=HINTS)
    heard = plain(" ".join(word.text for word in recording.words))
    assert jiwer.wer(references()[name], heard) <= 1 / 4
    starts = [word.start_s for word in recording.words]
    assert starts == sorted(starts)
    assert all(0 <= w.start_s <= w.end_s <= recording.duration_s + 0.5 for w in recording.words)
    assert recording.minable
    assert recording.heard_again == ()


@needs_tiny
def test_a_year_may_come_in_figures():
    """Very short speech is heard too."""
    [*_, last] = hear(SPEECH / "LJ002-0020.wav", settings=TINY).words
    assert "1813" in last.text or "thirteen" in last.text


@needs_tiny
def test_the_same_recording_gives_the_same_words():
    """Twice the same, to the last figure."""
    first, second = (hear(SPEECH / "jfk.flac", settings=TINY, hints=HINTS) for _ in range(2))
    assert first == second


@needs_tiny
@pytest.mark.parametrize("level", [0.0, 0.001, 0.1])
def test_silence_and_hiss_give_no_words(level):
    """Whisper alone would write 'You' or full stops."""
    rng = np.random.default_rng(2)
    sound = (level * rng.standard_normal(30 * 16_000)).astype(np.float32)
    transcript = transcribe_samples(sound, load_engine(TINY), hints=HINTS)
    assert transcript.words == ()
    assert not transcript.minable


@needs_tiny
def test_speech_in_a_window_of_silence_keeps_its_time():
    """Words after a long silence stand where they are said."""
    engine = load_engine(TINY)
    said = decode(SPEECH / "jfk.flac", min_duration_s=0, max_duration_s=60).samples
    sound = np.concatenate([said, np.zeros(400 * 16_000, dtype=np.float32), said])
    words = transcribe_samples(sound, engine).words
    half = len(words) // 2
    assert [plain(word.text) for word in words[:half]] == [plain(word.text) for word in words[half:]]
    shifts = [later.start_s - sooner.start_s for sooner, later in zip(words[:half], words[half:], strict=True)]
    assert shifts == pytest.approx([411.0] * half, abs=0.6)


@needs_tiny
def test_hearing_again_hears_the_same_speech():
    """The slow way works and gives times of the whole recording."""
    said = decode(SPEECH / "jfk.flac", min_duration_s=0, max_duration_s=60).samples
    sound = np.concatenate([np.zeros(16_000 * 5, dtype=np.float32), said])
    heard = load_engine(TINY).listen_again(sound, (5.0, 16.0), language="en")
    assert jiwer.wer(references()["jfk.flac"], plain(heard.text)) <= 1 / 6
    assert 5.0 <= heard.words[0].start_s <= 6.5


@needs_base
def test_a_sentence_passed_over_is_put_back():
    """In these clips, one after the other, the batch stops after the fourth, sure of itself."""
    names = ("LJ002-0020.wav", "LJ002-0035.wav", "LJ050-0131.wav", "ami-ES2011a-40s-46s.wav")
    clips = [decode(SPEECH / name, min_duration_s=0, max_duration_s=60).samples for name in names]
    pause = np.zeros(8_000, dtype=np.float32)
    sound = np.concatenate([part for clip in clips for part in (clip, pause)])
    transcript = transcribe_samples(sound, load_engine(Settings()), hints=HINTS)
    heard = plain(" ".join(word.text for word in transcript.words))
    assert jiwer.wer(" ".join(references()[name] for name in names), heard) <= 1 / 4
    assert heard.count("you can call me") == 1
    starts = [word.start_s for word in transcript.words]
    assert starts == sorted(starts)


@needs_base
@pytest.mark.parametrize("kind", ["shop", "wrench", "compressor"])
def test_shop_noise_after_speech_gives_no_words(kind, monkeypatch):
    """Noise as loud as the speech before it is neither written down nor heard again as speech."""
    monkeypatch.syspath_prepend(project_folder("sample_audio"))
    import shop_noise

    said = decode(SPEECH / "jfk.flac", min_duration_s=0, max_duration_s=60).samples.astype(np.float64)
    pauses = np.concatenate([said, np.zeros(12 * 16_000)])
    sound = shop_noise.prevent_clipping(shop_noise.mix(pauses, kind, 3.0, np.random.default_rng(6)))
    transcript = transcribe_samples(sound.astype(np.float32), load_engine(Settings()), hints=HINTS)
    assert jiwer.wer(references()["jfk.flac"], plain(" ".join(w.text for w in transcript.words))) <= 1 / 4
    assert transcript.words[-1].end_s < 12.0


@needs_base
def test_speech_backwards_is_heard_again_and_not_believed():
    """It sounds like a voice to the detector, and no words that fit can be in it."""
    said = decode(SPEECH / "libri-2412-153948-0000.flac", min_duration_s=0, max_duration_s=60).samples
    engine = load_engine(Settings())
    second = engine.listen_again(said[::-1].copy(), (1.0, 5.0), language="en")
    assert engine.speech(said[::-1].copy())
    assert not credible_alone(second)


@needs_base
def test_the_default_model_knows_its_language_and_keeps_the_hints_short():
    """base hears English as English, and a thousand hints are cut to fit."""
    terms = tuple(f"{part} number {n}" for n in range(200) for part in HINTS)
    recording = hear(SPEECH / "jfk.flac", settings=Settings(), hints=terms)
    assert recording.language == "en"
    assert jiwer.wer(references()["jfk.flac"], plain(" ".join(w.text for w in recording.words))) <= 1 / 6
    assert load_engine(Settings()).count_tokens(" " + recording.settings["hints"]) < HINT_TOKENS
