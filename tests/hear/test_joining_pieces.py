"""Pieces of a recorder become one file: packet for packet, past holes and standstills, the same each time."""

import io
import wave
from collections.abc import Callable, Sequence
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

from narrate.errors import AudioError
from narrate.hear import joining
from narrate.hear.digests import sha256_of
from narrate.hear.joining import join
from narrate.hear.pieces import put_together

RATE = 48_000
FORMS = {
    "webm": ("libopus", {"live": "1", "cluster_time_limit": "1000"}),
    "ogg": ("libopus", {}),
    "mp4": ("aac", {"movflags": "frag_keyframe+empty_moov+default_base_moof", "frag_duration": "1000000"}),
}
Recorded = Callable[..., list[Path]]


def sound(seconds: float, form: str, still: tuple[float, float] = (0.0, 0.0)) -> bytes:
    """A tone as a recorder writes it; at `still[0]` it stands still for `still[1]` seconds."""
    codec, options = FORMS[form]
    file = io.BytesIO()
    with av.open(file, "w", format=form, options=options) as container:
        stream = container.add_stream(codec, rate=RATE, layout="mono")
        tone = 0.3 * np.sin(2 * np.pi * 440 * np.arange(int(seconds * RATE)) / RATE)
        kind = "fltp" if codec == "aac" else "flt"
        frame = av.AudioFrame.from_ndarray(tone.astype(np.float32).reshape(1, -1), format=kind, layout="mono")
        frame.rate, frame.pts = RATE, 0
        frame.time_base = Fraction(1, RATE)
        for packet in (*stream.encode(frame), *stream.encode(None)):
            if still[1] and float(packet.pts * packet.time_base) >= still[0]:
                packet.pts = packet.dts = packet.pts + round(still[1] / packet.time_base)
            container.mux(packet)
    return file.getvalue()


def wav(seconds: float) -> bytes:
    """A WAV file whose header says nothing of its length, as one is while it is still recorded."""
    file = io.BytesIO()
    with wave.open(file, "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(16_000)
        out.writeframes(np.arange(int(seconds * 16_000), dtype="<i2").tobytes())
    data = bytearray(file.getvalue())
    data[4:8] = data[40:44] = b"\0\0\0\0"
    return bytes(data)


@pytest.fixture
def in_pieces(tmp_path: Path) -> Callable[[bytes, int], list[Path]]:
    """Return what cuts bytes into files of the same size, wherever that cuts."""

    def cut(data: bytes, count: int) -> list[Path]:
        size = len(data) // count
        paths = []
        for number in range(count):
            path = tmp_path / f"piece-{len(list(tmp_path.glob('piece-*')))}"
            path.write_bytes(data[number * size : (number + 1) * size if number < count - 1 else None])
            paths.append(path)
        return paths

    return cut


@pytest.fixture
def put(tmp_path: Path) -> Callable[..., Path]:
    """Return what puts pieces together to a new file."""

    def together(pieces: Sequence[Path], first: Path | None = None) -> Path:
        path = tmp_path / f"run-{len(list(tmp_path.glob('run-*')))}"
        put_together(pieces, path, first=first)
        return path

    return together


def packets(path: Path) -> list[bytes]:
    with av.open(str(path)) as container:
        return [bytes(packet) for packet in container.demux(audio=0) if packet.size]


@pytest.mark.parametrize("form", list(FORMS))
def test_runs_are_copied_packet_for_packet_and_the_same_each_time(
    form: str, in_pieces: Callable[..., list[Path]], put: Callable[..., Path], tmp_path: Path
) -> None:
    runs = [put(in_pieces(sound(3, form), 3)), put(in_pieces(sound(2, form), 2))]
    first, again = (join(runs, folder) for folder in (_new(tmp_path / "a"), _new(tmp_path / "b")))
    assert [packet for run in runs for packet in packets(run)] == packets(first[0].path)
    assert first[0].duration_s == pytest.approx(5.0, abs=0.15)
    assert [stretch.path for stretch in first[0].stretches] == runs
    assert sha256_of(first[0].path) == sha256_of(again[0].path), "joined anew it is no other recording"


def test_a_wav_is_joined_sample_for_sample(
    in_pieces: Callable[..., list[Path]], put: Callable[..., Path], tmp_path: Path
) -> None:
    data = wav(2)
    runs = [put(in_pieces(data, 2)), put(in_pieces(data, 3))]
    (joined,) = join(runs, _new(tmp_path / "a"))
    with wave.open(str(joined.path)) as file:
        assert file.readframes(file.getnframes()) == data[44:] * 2
    assert joined.duration_s == pytest.approx(4.0)


@pytest.mark.parametrize("form", ["webm", "mp4", "wav"])
def test_what_comes_after_a_hole_is_joined_where_decoding_can_begin(
    form: str, in_pieces: Callable[..., list[Path]], put: Callable[..., Path], tmp_path: Path
) -> None:
    pieces = in_pieces(wav(8) if form == "wav" else sound(8, form), 8)
    before, after = put(pieces[:3]), put(pieces[4:], first=pieces[0])
    (joined,) = join([before, after], _new(tmp_path / "a"))
    assert [stretch.path for stretch in joined.stretches] == [before, after]
    assert 5.0 < joined.duration_s < 7.3


def test_after_a_hole_nothing_is_made_up(in_pieces: Callable[..., list[Path]], put: Callable[..., Path]) -> None:
    """Where it cannot be told how the rest goes with the beginning, it comes to nothing, and its pieces stay."""
    pieces = in_pieces(sound(4, "ogg"), 4)
    assert put(pieces[2:], first=pieces[0]).read_bytes() == b""


@pytest.mark.parametrize("form", ["webm", "mp4"])
def test_a_recorder_that_stood_still_is_told_and_moved_up(
    form: str, put: Callable[..., Path], in_pieces: Callable[..., list[Path]], tmp_path: Path
) -> None:
    run = put(in_pieces(sound(5, form, still=(2.0, 40.0)), 3))
    (joined,) = join([run], _new(tmp_path / "a"))
    before, after = joined.stretches
    assert (before.from_s, before.starts_s) == (0.0, 0.0)
    assert after.from_s - before.ends_s == pytest.approx(40.0, abs=0.3)
    assert after.starts_s == before.ends_s == pytest.approx(2.0, abs=0.3)
    assert joined.duration_s == pytest.approx(5.0, abs=0.2)
    assert packets(joined.path) == packets(run)


def test_what_cannot_be_joined_stays_a_recording_as_it_came(
    in_pieces: Callable[..., list[Path]], put: Callable[..., Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    runs = [put(in_pieces(sound(2, "webm"), 2)), put(in_pieces(sound(2, "webm"), 2))]
    monkeypatch.setattr(joining, "SLACK_S", -1.0)
    joined = join(runs, _new(tmp_path / "a"))
    assert [(each.path, each.suffix) for each in joined] == [(run, ".webm") for run in runs]
    assert joined[0].duration_s == pytest.approx(2.0, abs=0.1)


def test_a_run_without_sound_is_left_out(
    put: Callable[..., Path], in_pieces: Callable[..., list[Path]], tmp_path: Path
) -> None:
    """A recorder that was stopped at once has given its header only."""
    data = sound(2, "webm")
    header = tmp_path / "header"
    header.write_bytes(data[:150])
    run = put(in_pieces(data, 2))
    (joined,) = join([header, run], _new(tmp_path / "a"))
    assert [stretch.path for stretch in joined.stretches] == [run]
    with pytest.raises(AudioError, match="Nothing in this recording can be heard"):
        join([header], _new(tmp_path / "b"))


def _new(folder: Path) -> Path:
    folder.mkdir()
    return folder
