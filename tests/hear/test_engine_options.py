"""What Whisper is asked for: the options that keep hints from swallowing speech."""

from types import SimpleNamespace

import numpy as np
import pytest

from narrate.errors import ModelError
from narrate.hear import whisper_engine
from narrate.hear.whisper_engine import WhisperEngine, load_engine
from narrate.settings import Settings

SOUND = np.zeros(90 * 16_000, dtype=np.float32)


class Recorder:
    """Stands for the model and for its batches: keeps what it is asked and gives back a word a window."""

    def __init__(self) -> None:
        self.model = SimpleNamespace(is_multilingual=True)
        self.asked: list[dict] = []

    def transcribe(self, samples, **options):
        self.asked.append(options)
        clips = options.get("clip_timestamps") or [{"start": 0.0}]
        segments = [self.segment(clip["start"]) for clip in clips]
        return iter(segments), None

    def segment(self, start_s: float) -> SimpleNamespace:
        word = SimpleNamespace(word=" pads,", start=start_s + 0.5, end=start_s + 0.9, probability=0.8)
        return SimpleNamespace(
            seek=int(start_s * 100), words=[word], tokens=[1, 2], avg_logprob=-0.2, no_speech_prob=0.1
        )


@pytest.fixture
def recorder() -> Recorder:
    return Recorder()


@pytest.fixture
def engine(recorder):
    pytest.importorskip("faster_whisper")
    engine = WhisperEngine(recorder, beam_size=5, batch_size=2)
    engine._batches = recorder
    return engine


WINDOWS = [(0.0, 20.0), (25.0, 50.0), (60.0, 80.0)]


def test_batches_get_hints_and_no_earlier_text(engine, recorder):
    """Hints go in as hotwords; nothing heard before does, nor any made-up beginning."""
    list(engine.listen(SOUND, WINDOWS, language="en", hints="brake pad, rotor"))
    assert [2, 1] == [len(asked["clip_timestamps"]) for asked in recorder.asked]
    for asked in recorder.asked:
        assert asked["hotwords"] == "brake pad, rotor"
        assert asked["condition_on_previous_text"] is False
        assert asked["word_timestamps"] is True
        assert asked["without_timestamps"] is True
        assert asked["beam_size"] == 5
        assert asked["temperature"] == 0.0
        assert "initial_prompt" not in asked
        assert "prefix" not in asked


def test_words_come_without_the_leading_blank_at_their_own_time(engine):
    """A window's words belong to it, times counted from the start of the recording."""
    windows = list(engine.listen(SOUND, WINDOWS, language="en", hints=""))
    assert [(0.0, 20.0), (25.0, 50.0), (60.0, 80.0)] == [(each.start_s, each.end_s) for each in windows]
    assert [("pads,", 0.5), ("pads,", 25.5), ("pads,", 60.5)] == [
        (each.words[0].text, each.words[0].start_s) for each in windows
    ]


def test_batches_are_as_few_as_can_be_and_of_about_one_size(recorder):
    """Five windows of which four fit go as three and two: the same time, less memory."""
    engine = WhisperEngine(recorder, beam_size=5, batch_size=4)
    engine._batches = recorder
    windows = [(15.0 * n, 15.0 * n + 14.0) for n in range(5)]
    assert len(list(engine.listen(SOUND, windows, language="en", hints=""))) == 5
    assert [3, 2] == [len(asked["clip_timestamps"]) for asked in recorder.asked]


def test_no_hints_are_no_prompt(engine, recorder):
    """An empty text is not given as a prompt."""
    list(engine.listen(SOUND, WINDOWS[:1], language="en", hints=""))
    assert recorder.asked[0]["hotwords"] is None


def test_hearing_again_has_no_hints_and_a_ladder_of_temperatures(engine, recorder):
    """What the hints may have put in is not put in again."""
    heard = engine.listen_again(SOUND, (25.0, 50.0), language="en")
    [asked] = recorder.asked
    assert "hotwords" not in asked
    assert asked["condition_on_previous_text"] is False
    assert asked["temperature"][0] == 0.0
    assert list(asked["temperature"]) == sorted(asked["temperature"])
    assert len(asked["temperature"]) > 3
    assert heard.words[0].start_s == 25.5


@pytest.mark.parametrize(
    ("available_bytes", "window_bytes", "expected"),
    [(16e9, 87e6, 4), (400e6, 87e6, 2), (200e6, 87e6, 1), (16e9, 1.8e9, 1), (0, 87e6, 1)],
)
def test_batch_follows_memory(available_bytes, window_bytes, expected, monkeypatch):
    """Small models get larger batches; a small machine or a large model one window at a time."""
    monkeypatch.setattr(whisper_engine, "available_bytes", lambda: int(available_bytes))
    assert expected == whisper_engine._batch_for(int(window_bytes))


@pytest.mark.parametrize(("minutes", "expected"), [(1, 4), (60, 3), (180, 1)])
def test_long_sound_leaves_room_for_fewer_windows(minutes, expected, recorder):
    """Sound and batch together stay under a limit."""
    engine = WhisperEngine(recorder, beam_size=5, batch_size=4, window_bytes=87_000_000)
    sound = np.broadcast_to(np.float32(0), minutes * 60 * 16_000)
    assert engine._largest_batch(sound) == expected


def test_an_unknown_model_is_told(monkeypatch):
    """A name that nobody knows gives one sentence, without a network."""
    monkeypatch.setenv("HF_HUB_OFFLINE", "1")
    with pytest.raises(ModelError, match="There is no speech model 'no such model' here"):
        load_engine(Settings(model="no such model"))


def test_a_folder_without_a_real_model_is_told(tmp_path):
    """Files of the right names are not yet a model."""
    for name in ("model.bin", "config.json", "tokenizer.json", "vocabulary.txt"):
        (tmp_path / name).write_text("{}")
    with pytest.raises(ModelError, match="cannot be loaded"):
        load_engine(Settings(model=str(tmp_path)))
