"""A recording at the shop's own computer: on disk second by second, whole at the end, whatever happens on the way."""

import os
import signal
import subprocess
import sys
import time
import wave
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from spoken_source import SpokenSource, spoken

from narrate.errors import AudioError, StoreError
from narrate.hear.audio import RATE, decode
from narrate.records.capture import Mark
from narrate.store.capture_marks import marks_of
from narrate.store.captures import captures_with, read_capture
from narrate.store.engine import Store, open_store
from narrate.store.jobs import read_job
from narrate.store.recordings import recording_file
from narrate.work import listening
from narrate.work.capturing import end_capture
from narrate.work.listening import Listening


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = open_store(tmp_path / "data")
    yield opened
    opened.close()


def begun(store: Store, source: SpokenSource, **more: Any) -> tuple[Listening, list[dict[str, Any]]]:
    told: list[dict[str, Any]] = []
    given = {"who": "Ana", "silence_s": 300.0, "tell": told.append} | more
    return Listening(store=store, source=source, **given), told


def never() -> bool:
    return False


def samples_of(store: Store, job_id: int) -> bytes:
    """The sound of the recording that a job hears."""
    (sha256,) = read_job(store, job_id).recordings
    with wave.open(str(recording_file(store, sha256)), "rb") as reader:
        assert (reader.getnchannels(), reader.getsampwidth(), reader.getframerate()) == (1, 2, RATE)
        return reader.readframes(reader.getnframes())


def test_every_sample_is_kept_once_and_waits_to_be_heard(store: Store) -> None:
    sound = spoken(6.35)
    listening_now, told = begun(store, SpokenSource(sound))
    done = listening_now.until(never)
    assert done.capture
    assert done.capture.job_id
    assert (done.capture.state, done.capture.device, done.seconds) == ("queued", "Test microphone", 6.35)
    assert samples_of(store, done.capture.job_id) == sound
    assert [round(each["s"], 2) for each in told] == [1, 2, 3, 4, 5, 6, 6.35]
    assert read_job(store, done.capture.job_id).added_by == "Ana"
    # The pieces have become the recording.
    assert not list((store.folder / "captures").rglob("*0000*"))


def test_it_stops_when_it_is_told_to(store: Store) -> None:
    source = SpokenSource(spoken(6))
    listening_now, told = begun(store, source)
    done = listening_now.until(lambda: len(told) >= 2)
    assert done.seconds == 2
    assert source.given == 2 * RATE * 2


def test_nothing_recorded_leaves_nothing(store: Store) -> None:
    listening_now, told = begun(store, SpokenSource(b""))
    assert listening_now.until(never).capture is None
    assert (captures_with(store), told) == ((), [])


def test_a_microphone_that_is_pulled_out_costs_nothing_that_was_said(store: Store) -> None:
    sound = spoken(2.5)
    listening_now, _ = begun(store, SpokenSource(sound, breaks="It gives no more sound."))
    done = listening_now.until(never)
    assert (done.why, done.seconds) == ("It gives no more sound.", 2.5)
    assert done.capture
    assert samples_of(store, done.capture.job_id or 0) == sound


def test_it_ends_by_itself_where_nobody_speaks_and_not_before(store: Store) -> None:
    sound = spoken(6) + bytes(20 * RATE * 2)
    listening_now, _ = begun(store, SpokenSource(sound), silence_s=6.0)
    done = listening_now.until(never)
    assert done.why == "Nobody spoke for 0.1 minutes, so recording ended."
    assert done.seconds == pytest.approx(12, abs=1)


def test_a_full_disk_is_told_and_made_good_later(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    keep = listening.keep_piece
    tries: list[int] = []

    def full_for_a_while(*given: Any, **more: Any) -> float:
        tries.append(given[3])
        if 2 <= len(tries) <= 4:
            message = "The disk is full."
            raise StoreError(message)
        return keep(*given, **more)

    monkeypatch.setattr(listening, "keep_piece", full_for_a_while)
    sound = spoken(6)
    listening_now, told = begun(store, SpokenSource(sound))
    done = listening_now.until(never)
    assert [each["type"] for each in told] == ["safe", "waiting", "waiting", "waiting", "safe", "safe"]
    assert done.capture
    assert samples_of(store, done.capture.job_id or 0) == sound


def test_a_disk_that_stays_full_is_an_error_and_keeps_what_it_has(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    keep = listening.keep_piece

    def full_after_two(*given: Any, **more: Any) -> float:
        if given[3] >= 2:
            message = "The disk is full."
            raise StoreError(message)
        return keep(*given, **more)

    monkeypatch.setattr(listening, "keep_piece", full_after_two)
    listening_now, _ = begun(store, SpokenSource(spoken(4)))
    with pytest.raises(StoreError, match="full"):
        listening_now.until(never)
    (left,) = captures_with(store)
    assert (left.state, left.safe_s) == ("open", 2)


def test_ended_by_somebody_else_it_goes_on_as_another_recording(store: Store) -> None:
    sound = spoken(5.5)
    listening_now, told = begun(store, SpokenSource(sound))
    first = listening_now.key
    ended: list[int | None] = []

    def feed(_block: bytes, at_s: float) -> None:
        if at_s == 2.5:
            ended.append(end_capture(store, first, who="Ada").job_id)
        if at_s == 4.5:
            listening_now.mark(Mark(id="m1", what="mark", at_s=4.2, end_s=4.5))

    listening_now.feed = feed
    done = listening_now.until(never)
    assert done.capture
    assert done.capture.key != first
    assert samples_of(store, ended[0] or 0) + samples_of(store, done.capture.job_id or 0) == sound
    assert [each["s"] for each in told if each["type"] == "safe"] == [1, 2, 4, 5, 5.5]
    assert [each["text"] for each in told if each["type"] == "told"] == [listening.ANEW]
    [(_, mark)] = marks_of(store, done.capture.key)
    assert (mark.at_s, mark.end_s) == (pytest.approx(2.2), pytest.approx(2.5))


def test_live_words_get_every_block_at_its_second(store: Store) -> None:
    fed: list[tuple[bytes, float]] = []
    sound = spoken(1.25)
    listening_now, _ = begun(store, SpokenSource(sound), feed=lambda block, at_s: fed.append((block, at_s)))
    listening_now.until(never)
    assert b"".join(block for block, _ in fed) == sound
    assert [round(at_s, 3) for _, at_s in fed] == [round(n / 10, 3) for n in range(13)]


def test_commands_go_with_the_recording(store: Store) -> None:
    listening_now, _ = begun(store, SpokenSource(spoken(3)))
    mark = Mark(id="m1", what="mark", at_s=1.5, said="mark this")

    def feed(_block: bytes, at_s: float) -> None:
        if at_s == 2.0:
            listening_now.mark(mark)

    listening_now.feed = feed
    done = listening_now.until(never)
    assert done.capture
    assert marks_of(store, done.capture.key) == ((0, mark),)


RECORD = """
import sys, time
sys.path.insert(0, sys.argv[2])
from pathlib import Path
from spoken_source import SpokenSource, spoken
from narrate.store.engine import open_store
from narrate.work.listening import Listening

class Slowly(SpokenSource):
    def blocks(self, stop):
        for block in super().blocks(stop):
            time.sleep(0.02)
            yield block

store = open_store(Path(sys.argv[1]))
Listening(store=store, source=Slowly(spoken(40)), who="Ana", silence_s=300.0,
          tell=lambda told: print(told["s"], flush=True)).until(lambda: False)
"""


def test_what_was_called_safe_outlives_a_kill(tmp_path: Path) -> None:
    """Killed while it records: each second that was told safe is there, and can be made a recording of."""
    data = tmp_path / "data"
    command = [sys.executable, "-c", RECORD, str(data), str(Path(__file__).parent)]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
    assert process.stdout
    safe_s = [float(process.stdout.readline()) for _ in range(4)][-1]
    time.sleep(0.13)
    os.kill(process.pid, signal.SIGKILL)
    safe_s = max([safe_s, *map(float, process.stdout.read().split())])
    process.stdout.close()
    process.wait()
    store = open_store(data)
    (left,) = captures_with(store)
    assert safe_s <= left.safe_s <= safe_s + 1
    ended = end_capture(store, left.key, who="advisor")
    assert samples_of(store, ended.job_id or 0) == spoken(40)[: int(left.safe_s * RATE) * 2]
    path = recording_file(store, read_job(store, ended.job_id or 0).recordings[0])
    assert decode(path, min_duration_s=0, max_duration_s=60).duration_s == pytest.approx(left.safe_s)
    assert read_capture(store, left.key).state == "queued"
    store.close()


def test_a_source_that_breaks_at_once_is_told(store: Store) -> None:
    listening_now, _ = begun(store, SpokenSource(b"", breaks="No sound came."))
    done = listening_now.until(never)
    assert (done.capture, done.why) == (None, "No sound came.")
    with pytest.raises(AudioError):
        list(SpokenSource(b"", breaks="x").blocks(never))
