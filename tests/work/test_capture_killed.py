"""Whoever keeps or joins pieces may be killed at any moment: open pieces are left, or a whole recording."""

import hashlib
import io
import os
import random
import secrets
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import av
import numpy as np
import pytest
from sqlalchemy import select

from narrate.errors import MissingError
from narrate.store.captures import folder_of, piece_file, read_capture
from narrate.store.engine import Store, open_store
from narrate.store.jobs import list_jobs
from narrate.store.recordings import recording_file
from narrate.store.tables import recording
from narrate.store.verifying import verify
from narrate.work.capturing import end_capture

PROGRAM = Path(__file__).with_name("killed_capture.py")
KILLS = 24


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = open_store(tmp_path / "data")
    yield opened
    opened.close()


@pytest.fixture
def pieces(tmp_path: Path) -> list[bytes]:
    """What a recorder gives in forty pieces, also as files in `pieces`."""
    file = io.BytesIO()
    with av.open(file, "w", format="webm", options={"live": "1", "cluster_time_limit": "1000"}) as container:
        stream = container.add_stream("libopus", rate=48_000, layout="mono")
        noise = np.random.default_rng(7).normal(0, 0.1, (1, 40 * 48_000)).astype(np.float32)
        frame = av.AudioFrame.from_ndarray(noise, format="flt", layout="mono")
        frame.rate = 48_000
        for packet in (*stream.encode(frame), *stream.encode(None)):
            container.mux(packet)
    data = file.getvalue()
    size = len(data) // 40 + 1
    cut = [data[start : start + size] for start in range(0, len(data), size)]
    (tmp_path / "pieces").mkdir()
    for number, piece in enumerate(cut):
        (tmp_path / "pieces" / f"{number:03}").write_bytes(piece)
    return cut


def test_killed_at_any_moment_nothing_is_lost(store: Store, pieces: list[bytes], tmp_path: Path) -> None:
    """Twenty-four times: while pieces are kept, while they are joined, and just after."""
    chance = random.Random(16)
    wanted = {secrets.token_hex(16): 4 + number for number in range(KILLS)}
    states = set()
    command = [sys.executable, PROGRAM, store.folder, "", tmp_path / "pieces"]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, bufsize=1) as program:
        for key, count in wanted.items():
            program.stdin.write(f"{key} {count}\n")
            process = int(program.stdout.readline())
            # Most of them while joining, which begins when all pieces were promised, and while letting go of them.
            told = store.folder / key
            _wait_for(told, chance.choice((1, count, count, count + 1)))
            time.sleep(chance.uniform(0, 0.4))
            os.kill(process, signal.SIGKILL)
            assert "gone\n" == program.stdout.readline()
            states.add(_check(store, key, pieces, told.read_text().splitlines()))
            assert [] == verify(store)
    assert states == {"open", "queued"}, "kills hit both before and after the end"
    for key, count in wanted.items():
        _end_again(store, key, pieces[:count])
    with store.reading() as connection:
        kept = set(connection.scalars(select(recording.c.sha256)))
    jobs = list_jobs(store)
    assert len(jobs) == KILLS
    assert {each for job in jobs for each in job.recordings} == kept, "no recording is left that nobody hears"
    assert [] == verify(store, deep=True)


def _check(store: Store, key: str, pieces: list[bytes], told: list[str]) -> str:
    """What was promised is there: as pieces, byte for byte, or in a recording."""
    capture = read_capture(store, key)
    if capture.job_id is None:
        assert "ended" not in told
        for number in map(int, told):
            assert capture.runs[0].pieces[number].sha256 == hashlib.sha256(pieces[number]).hexdigest()
            assert piece_file(store, key, 0, number).read_bytes() == pieces[number]
    else:
        (job,) = [job for job in list_jobs(store) if job.id == capture.job_id]
        assert recording_file(store, job.recordings[0]).is_file()
    return capture.state


def _end_again(store: Store, key: str, pieces: list[bytes]) -> None:
    """The phone sends what it still has, and ends it once more; then everything is in one recording."""
    from killed_capture import speak

    capture = read_capture(store, key)
    if capture.job_id is None:
        speak(store.folder, None, key, pieces)
    capture = end_capture(store, key, who="Ana")
    (job,) = [job for job in list_jobs(store) if job.id == capture.job_id]
    joined = recording_file(store, job.recordings[0])
    assert _packets(str(joined)) == _packets(io.BytesIO(b"".join(pieces)))
    assert not folder_of(store, key).exists()


def test_an_unknown_capture_is_told(store: Store) -> None:
    with pytest.raises(MissingError, match="There is no such recording here; begin it anew"):
        end_capture(store, "0" * 32, who="Ana")


def _packets(source: str | io.BytesIO) -> list[bytes]:
    with av.open(source) as container:
        packets = []
        try:
            packets.extend(bytes(packet) for packet in container.demux(audio=0) if packet.size)
        except av.FFmpegError:
            # The recorder was still at it: its last packet was cut off.
            pass
        return packets


def _wait_for(told: Path, lines: int) -> None:
    until = time.monotonic() + 60
    while not (told.exists() and told.read_text().count("\n") >= lines):
        assert time.monotonic() < until, "the program did not begin"
        time.sleep(0.002)
