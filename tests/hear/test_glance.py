"""The first look at a file: what it is and how long, or one sentence why it is no recording."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from narrate.errors import AudioError
from narrate.hear.glance import glance_at

Tone = Callable[..., np.ndarray]
Writer = Callable[..., Path]


@pytest.mark.parametrize("suffix", [".wav", ".flac", ".mp3", ".m4a", ".ogg", ".webm"])
def test_sound_is_told_with_its_length(suffix: str, tone: Tone, write: Writer) -> None:
    glance = glance_at(write(f"bay{suffix}", tone(3)))
    assert not glance.video
    assert glance.duration_s == pytest.approx(3, abs=0.1)


def test_a_video_is_told(tone: Tone, write: Writer) -> None:
    assert glance_at(write("bay.mp4", tone(1), picture=True)).video


def test_a_stream_without_a_length_is_counted(tone: Tone, write: Writer, tmp_path: Path) -> None:
    """What a browser records does not say how long it is."""
    whole = write("live.webm", tone(3)).read_bytes()
    duration = whole.index(b"\x44\x89\x88")
    nameless = tmp_path / "nameless.webm"
    # The same bytes with the element's name turned into that of an empty space (EBML Void).
    nameless.write_bytes(whole[:duration] + b"\xec\x89" + whole[duration + 2 : duration + 3] + whole[duration + 3 :])
    assert glance_at(nameless).duration_s == pytest.approx(3, abs=0.1)


def test_what_is_no_recording_is_refused(tmp_path: Path) -> None:
    letter = tmp_path / "letter.wav"
    letter.write_text("Dear customer, " * 50, "utf-8")
    with pytest.raises(AudioError, match=r"letter\.wav is not a recording"):
        glance_at(letter)


def test_an_empty_file_is_refused(tmp_path: Path) -> None:
    (tmp_path / "none.wav").touch()
    with pytest.raises(AudioError, match=r"none\.wav is empty; record it again"):
        glance_at(tmp_path / "none.wav")


def test_a_film_without_sound_is_refused(write_silent_film: Callable[[str], Path]) -> None:
    with pytest.raises(AudioError, match="no sound track"):
        glance_at(write_silent_film("film.mp4"))


def test_a_recording_that_holds_no_sound_is_refused(tone: Tone, write: Writer, tmp_path: Path) -> None:
    """A WAV that was cut off right behind its head."""
    head = tmp_path / "head.wav"
    head.write_bytes(write("bay.wav", tone(1)).read_bytes()[:60])
    with pytest.raises(AudioError, match=r"head\.wav"):
        glance_at(head)
