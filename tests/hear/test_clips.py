"""Clips: the right seconds of every container, as they sound in the recording."""

import io
import wave
from collections.abc import Callable
from pathlib import Path

import av
import numpy as np
import pytest

from narrate.errors import AudioError, UsageError
from narrate.hear.audio import RATE, Samples, decode
from narrate.hear.clips import LONGEST_S, MARGIN_S, cut_clip, write_silenced
from narrate.hear.digests import sha256_of

Writer = Callable[..., Path]
SPARE_S = 0.03


def sweep(seconds: float, *, signs: tuple[float, ...] = (1.0,), rate: int = 16_000) -> np.ndarray:
    """A rising tone, so that every moment sounds like no other; shape (channels, samples)."""
    time = np.arange(int(seconds * rate)) / rate
    wave_ = 0.4 * np.sin(2 * np.pi * (200 * time + 20 * time**2))
    return np.stack([sign * wave_ for sign in signs]).astype(np.float32)


def heard_in(path: Path) -> Samples:
    return decode(path, min_duration_s=0.01, max_duration_s=600).samples


def heard_of(data: bytes, folder: Path) -> Samples:
    path = folder / "clip.ogg"
    path.write_bytes(data)
    return heard_in(path)


def likeness(one: Samples, other: Samples) -> float:
    """Correlation of two sounds, where they lie best within 30 ms of each other."""
    spare = int(SPARE_S * RATE)
    length = min(one.size, other.size) - 2 * spare
    middle = one[spare : spare + length]
    shifted = [other[shift : shift + length] for shift in range(0, 2 * spare, 8)]
    return max(float(np.corrcoef(middle, part)[0, 1]) for part in shifted)


@pytest.mark.parametrize("suffix", [".wav", ".flac", ".mp3", ".m4a", ".mp4", ".mov", ".ogg", ".webm"])
@pytest.mark.parametrize(("start_s", "end_s"), [(0.2, 1.0), (9.0, 11.5)])
def test_a_clip_is_the_same_sound_from_every_container(
    suffix: str, start_s: float, end_s: float, write: Writer, tmp_path: Path
) -> None:
    recording = write(f"bay{suffix}", sweep(14))
    before = sha256_of(recording)
    clip = heard_of(cut_clip(recording, start_s, end_s), tmp_path)
    begin_s, stop_s = max(start_s - MARGIN_S, 0), end_s + MARGIN_S
    assert clip.size / RATE == pytest.approx(stop_s - begin_s, abs=SPARE_S)
    assert likeness(clip, heard_in(recording)[int(begin_s * RATE) : int(stop_s * RATE)]) > 0.95
    assert sha256_of(recording) == before


def test_an_unfinished_stream_can_be_cut_too(write: Writer, tmp_path: Path) -> None:
    """A browser's WebM that was cut off has no index."""
    whole = write("live.webm", sweep(14)).read_bytes()
    cut = tmp_path / "cut.webm"
    cut.write_bytes(whole[: int(len(whole) * 0.9)])
    clip = heard_of(cut_clip(cut, 8, 10), tmp_path)
    assert likeness(clip, heard_in(cut)[int(7.5 * RATE) : int(10.5 * RATE)]) > 0.95


def test_both_sides_of_a_stereo_recording_are_kept(write: Writer) -> None:
    """Mixed to one, channels that cancel each other would be silence."""
    clip = cut_clip(write("two.wav", sweep(4, signs=(1.0, -1.0))), 1, 2)
    with av.open(io.BytesIO(clip)) as container:
        frames = [frame.to_ndarray() for frame in container.decode(audio=0)]
    assert frames[3].shape[0] == 2
    assert max(float(np.abs(frame).max()) for frame in frames) > 0.3


def test_a_clip_ends_where_the_recording_ends(write: Writer, tmp_path: Path) -> None:
    clip = heard_of(cut_clip(write("short.wav", sweep(3)), 2, 9), tmp_path)
    assert clip.size / RATE == pytest.approx(1.5, abs=SPARE_S)


def test_a_clip_from_past_the_end_is_refused(write: Writer) -> None:
    with pytest.raises(AudioError, match=r"short\.wav has no sound at 0:20; choose a stretch within it"):
        cut_clip(write("short.wav", sweep(3)), 20, 22)


@pytest.mark.parametrize(("start_s", "end_s"), [(3, 3), (4, 3), (-1, 2), (float("nan"), 2), (0, LONGEST_S + 1)])
def test_what_is_no_stretch_is_refused(start_s: float, end_s: float, write: Writer) -> None:
    with pytest.raises(UsageError, match="clip"):
        cut_clip(write("short.wav", sweep(1)), start_s, end_s)


def test_a_silent_film_has_no_clip(write_silent_film: Callable[[str], Path]) -> None:
    with pytest.raises(AudioError, match="no sound track"):
        cut_clip(write_silent_film("film.mp4"), 0, 1)


def test_no_other_file_is_reached(tmp_path: Path) -> None:
    """A playlist that names another file is no recording."""
    with wave.open(str(tmp_path / "other.wav"), "wb") as file:
        file.setparams((1, 2, 16_000, 0, "NONE", ""))
        file.writeframes(bytes(64_000))
    playlist = tmp_path / "list.wav"
    playlist.write_text("ffconcat version 1.0\nfile other.wav\n", "utf-8")
    with pytest.raises(AudioError, match="not a recording that can be read"):
        cut_clip(playlist, 0, 1)


def level(samples: Samples, start_s: float, end_s: float) -> float:
    part = samples[int(start_s * RATE) : int(end_s * RATE)]
    return float(np.sqrt(np.mean(part**2)))


def test_a_clip_is_silent_where_it_is_told_to_be(write: Writer, tmp_path: Path) -> None:
    path = write("a.wav", sweep(8))
    sound = heard_of(cut_clip(path, 2.0, 6.0, margin_s=0.0, silent=[(3.0, 4.0), (7.0, 9.0)]), tmp_path)
    assert level(sound, 1.05, 1.95) < 0.001
    assert level(sound, 0.1, 0.9) > 0.2
    assert level(sound, 2.1, 3.9) > 0.2


@pytest.mark.parametrize("suffix", [".wav", ".m4a", ".webm"])
def test_a_whole_recording_is_written_with_its_silence(suffix: str, write: Writer, tmp_path: Path) -> None:
    """As long as before, so that times stay what they are, and the same sound everywhere else."""
    path = write(f"a{suffix}", sweep(9))
    before = sha256_of(path)
    write_silenced(path, tmp_path / "cut.ogg", [(0.0, 1.0), (4.0, 6.5)])
    sound, whole = heard_in(tmp_path / "cut.ogg"), heard_in(path)
    assert sha256_of(path) == before
    assert sound.size / RATE == pytest.approx(9.0, abs=0.1)
    assert max(level(sound, 0.05, 0.95), level(sound, 4.05, 6.45)) < 0.002
    assert likeness(whole[int(1.2 * RATE) : int(3.8 * RATE)], sound[int(1.2 * RATE) : int(3.8 * RATE)]) > 0.97
    assert likeness(whole[int(6.8 * RATE) : int(8.8 * RATE)], sound[int(6.8 * RATE) : int(8.8 * RATE)]) > 0.97
