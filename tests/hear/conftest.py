"""Made-up sound in every container, and an engine that hears what it is told to hear."""

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from narrate.hear.audio import Samples
from narrate.hear.recogniser import Heard, Stretch
from narrate.records.recording import Word

Tone = NDArray[np.float32]
CODECS = {
    ".wav": "pcm_s16le",
    ".flac": "flac",
    ".mp3": "libmp3lame",
    ".m4a": "aac",
    ".mp4": "aac",
    ".mov": "aac",
    ".ogg": "libopus",
    ".webm": "libopus",
}


@pytest.fixture
def tone() -> Callable[..., Tone]:
    """Return a maker of a 300 Hz tone, shape (channels, samples); `signs` gives each channel's factor."""

    def make(seconds: float, *, rate: int = 16_000, signs: tuple[float, ...] = (1.0,)) -> Tone:
        wave = 0.25 * np.sin(2 * np.pi * 300 * np.arange(int(seconds * rate)) / rate)
        return np.stack([sign * wave for sign in signs]).astype(np.float32)

    return make


@pytest.fixture
def write(tmp_path: Path) -> Callable[..., Path]:
    """Return a writer of sound to a file of the suffix's container, with a picture track if asked."""

    def make(
        name: str,
        sound: Tone,
        *,
        rate: int = 16_000,
        picture: bool = False,
        recorded_at: str | None = None,
    ) -> Path:
        path = tmp_path / name
        with av.open(str(path), "w") as container:
            if recorded_at:
                container.metadata["creation_time"] = recorded_at
            stream = container.add_stream(CODECS[path.suffix], rate=rate)
            layout = {1: "mono", 2: "stereo"}[sound.shape[0]]
            stream.layout = layout
            if picture:
                film = _add_picture(container)
            frames = np.rint(sound * 32767).astype(np.int16).T.reshape(1, -1)
            frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(frames), format="s16", layout=layout)
            frame.rate = rate
            for packet in (*stream.encode(frame), *stream.encode(None)):
                container.mux(packet)
            if picture:
                _write_pictures(container, film)
        return path

    return make


@pytest.fixture
def write_silent_film(tmp_path: Path) -> Callable[[str], Path]:
    """Return a writer of a video file without a sound track."""

    def make(name: str) -> Path:
        with av.open(str(tmp_path / name), "w") as container:
            _write_pictures(container, _add_picture(container))
        return tmp_path / name

    return make


def _add_picture(container: av.container.OutputContainer) -> av.VideoStream:
    film = container.add_stream("mpeg4", rate=10)
    film.width, film.height, film.pix_fmt = 32, 32, "yuv420p"
    return film


def _write_pictures(container: av.container.OutputContainer, film: av.VideoStream) -> None:
    for _ in range(5):
        frame = av.VideoFrame.from_ndarray(np.zeros((32, 32, 3), dtype=np.uint8), format="rgb24")
        for packet in film.encode(frame):
            container.mux(packet)
    for packet in film.encode(None):
        container.mux(packet)


class FakeRecogniser:
    """An engine that hears given windows: `first` by hearing with hints, `second` when it hears again.

    Somebody speaks where `speech` says, else where there are words.
    """

    def __init__(
        self,
        *,
        first: Sequence[Heard] = (),
        second: Heard | None = None,
        speech: Sequence[Stretch] | None = None,
        languages: Sequence[tuple[str, float]] = (("en", 0.99),),
        english_only: bool = False,
    ) -> None:
        self.first, self.second = first, second
        self.spoken = speech
        self.languages = list(languages)
        self.english_only = english_only
        self.given: list[tuple[str, str]] = []
        self.asked_again: list[Stretch] = []

    def speech(self, samples: Samples) -> tuple[Stretch, ...]:
        if self.spoken is not None:
            return tuple(self.spoken)
        return tuple((heard.start_s, heard.words[-1].end_s or 0.0) for heard in self.first)

    def language(self, samples: Samples) -> tuple[str, float]:
        return self.languages.pop(0) if len(self.languages) > 1 else self.languages[0]

    def count_tokens(self, text: str) -> int:
        return len(text.split())

    def listen(self, samples: Samples, windows: Sequence[Stretch], *, language: str, hints: str) -> Iterator[Heard]:
        self.given.append((language, hints))
        yield from self.first

    def listen_again(self, samples: Samples, window: Stretch, *, language: str) -> Heard:
        self.asked_again.append(window)
        assert self.second is not None, "nothing was to be heard again"
        return self.second


@pytest.fixture
def fake() -> type[FakeRecogniser]:
    """Return the fake engine's class."""
    return FakeRecogniser


@pytest.fixture
def heard() -> Callable[..., Heard]:
    """Return a maker of a window from text, a word each 0.3 s, all of one probability."""

    def make(
        text: str,
        *,
        start_s: float = 0.0,
        probability: float = 0.9,
        log_probability: float = -0.3,
        no_speech: float = 0.01,
    ) -> Heard:
        words = tuple(
            Word(
                text=word,
                start_s=round(start_s + 0.3 * i, 2),
                end_s=round(start_s + 0.3 * i + 0.25, 2),
                probability=probability,
            )
            for i, word in enumerate(text.split())
        )
        return Heard(
            start_s=start_s,
            end_s=start_s + 20.0,
            words=words,
            average_log_probability=log_probability,
            no_speech=no_speech,
        )

    return make
