"""The processes that hear: replaced when they end, and what their end says about the recording in hand."""

import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from day_fakes import Said

from narrate.errors import NarrateError
from narrate.store.day_jobs import numbered, queue_once
from narrate.store.engine import Store, open_store
from narrate.store.jobs import MOST_TRIES, Job, claim, read_job
from narrate.store.recordings import keep_recording
from narrate.store.verifying import verify
from narrate.store.walkarounds import find_walkarounds
from narrate.work import day_crew
from narrate.work.day_crew import Crew
from narrate.work.day_machine import free_bytes, is_alive, memory_kills, processors, workers_for
from narrate.work.queue import process_name, work_off


class Fake:
    """A process that ends as it is told."""

    numbers = iter(range(1_900_000_000, 2_000_000_000))

    def __init__(self) -> None:
        self.pid, self.code = next(self.numbers), None

    def poll(self) -> int | None:
        return self.code

    def terminate(self) -> None:
        self.code = -signal.SIGTERM

    def kill(self) -> None:
        self.code = -signal.SIGKILL


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = open_store(tmp_path / "data")
    yield opened
    opened.close()


@pytest.fixture
def queued(store: Store, tmp_path: Path) -> Callable[..., int]:
    def make(name: str = "bay.ogg") -> int:
        (tmp_path / name).write_text(f"said {name}")
        sha256 = keep_recording(store, tmp_path / name, name=name, suffix=".ogg")
        place = queue_once(store, sha256, name=name, who="narrate day", visit_id=None, total_s=1.0)
        assert place.job
        return place.job.id

    return make


@pytest.fixture
def crew(store: Store) -> Crew:
    return Crew(store, lambda _: Fake())


def one(crew: Crew) -> Fake:
    """Its only process."""
    (child,) = crew._running
    assert isinstance(child, Fake)
    return child


def end(crew: Crew, number: int, code: int) -> Job:
    """Let its process claim the job and end so; return the job afterwards."""
    crew.keep(1, of=1)
    child = one(crew)
    assert claim(crew.store, f"{process_name(child.pid)}x")
    child.code = code
    crew.keep(1, of=1)
    assert one(crew) is not child
    return read_job(crew.store, number)


def test_a_process_ended_from_outside_says_nothing_of_its_recording(crew: Crew, queued: Callable[..., int]) -> None:
    number = queued()
    for code in (-signal.SIGKILL, -signal.SIGTERM) * 5:
        job = end(crew, number, code)
        assert (job.state, job.tries, job.failures) == ("waiting", 0, 0)


def test_a_recording_that_ends_its_process_three_times_is_set_aside(crew: Crew, queued: Callable[..., int]) -> None:
    number = queued()
    for failures in range(1, MOST_TRIES + 1):
        job = end(crew, number, -signal.SIGSEGV)
        assert job.failures == failures
    assert job.state == "failed"
    assert "SIGSEGV" in job.why


def test_memory_that_ran_out_is_the_recordings_failure(
    crew: Crew, queued: Callable[..., int], monkeypatch: pytest.MonkeyPatch
) -> None:
    number = queued()
    kills = memory_kills()
    monkeypatch.setattr(day_crew, "memory_kills", lambda: kills + 1)
    job = end(crew, number, -signal.SIGKILL)
    assert (job.state, job.failures) == ("waiting", 1)
    assert "Memory ran out" in job.why
    assert end(crew, number, -signal.SIGKILL).failures == 1


def test_processes_that_cannot_work_at_all_are_told(crew: Crew) -> None:
    for _ in range(3):
        crew.keep(1, of=1)
        one(crew).code = 1
    with pytest.raises(NarrateError, match="end as soon as they are started"):
        crew.keep(1, of=1)


def test_jobs_of_programs_that_are_gone_are_free_at_once(crew: Crew, store: Store, queued: Callable[..., int]) -> None:
    """A day killed and begun again does not wait for leases; what lives, here or elsewhere, keeps its job."""
    ended = subprocess.Popen([sys.executable, "-c", ""])
    ended.wait()
    numbers = [queued(name) for name in ("a.ogg", "b.ogg", "c.ogg")]
    for worker in (process_name(ended.pid), process_name(os.getppid()), "elsewhere:1:"):
        assert claim(store, f"{worker}x")
    assert crew.free_what_nobody_hears() == 1
    assert [job.state for job in numbered(store, numbers)] == ["waiting", "working", "working"]


def test_stopping_puts_back_what_is_in_hand(crew: Crew, store: Store, queued: Callable[..., int]) -> None:
    number = queued()
    crew.keep(1, of=1)
    assert claim(store, f"{process_name(one(crew).pid)}x")
    crew.stop()
    assert (read_job(store, number).state, read_job(store, number).tries) == ("waiting", 0)


def test_as_many_processes_as_cores_and_memory_allow(tmp_path: Path) -> None:
    assert workers_for(40, cores=8, free=3_000_000_000) == 3
    assert workers_for(40, cores=2, free=64_000_000_000) == 2
    assert workers_for(1, cores=8, free=64_000_000_000) == 1
    assert workers_for(40, cores=8, free=0) == 1
    assert 1 <= processors() <= (os.cpu_count() or 1)
    assert free_bytes() > 0
    for name, text in (("max", "2000"), ("current", "1500"), ("stat", "anon 9\ninactive_file 300\n")):
        (tmp_path / f"memory.{name}").write_text(text)
    assert free_bytes(tmp_path) == 800
    (tmp_path / "memory.max").write_text("max")
    assert free_bytes(tmp_path) > 800


def test_a_process_that_has_ended_is_not_alive() -> None:
    child = subprocess.Popen([sys.executable, "-c", ""])
    os.waitid(os.P_PID, child.pid, os.WEXITED | os.WNOWAIT)
    assert not is_alive(child.pid), "ended, though nobody has asked for it yet"
    child.wait()
    assert not is_alive(child.pid)
    assert is_alive(os.getpid())


FULL = """
import resource, signal, sys
from pathlib import Path
sys.path.insert(0, sys.argv[2])
from day_fakes import Said
from narrate.store.engine import open_store
from narrate.work.queue import work_off

store = open_store(Path(sys.argv[1]))
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
# No file may grow beyond what it has: to SQLite that is a full disk.
most = max(path.stat().st_size for path in Path(sys.argv[1]).glob("narrate.sqlite3*"))
resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
work_off(store, steps=Said(), once=True)
"""


def test_a_disk_that_is_full_while_results_are_written_leaves_nothing_half(
    store: Store, queued: Callable[..., int], tmp_path: Path
) -> None:
    numbers = [queued(f"{n}.ogg") for n in range(30)]
    program = [sys.executable, "-c", FULL, str(store.folder), str(Path(__file__).parent)]
    ended = subprocess.run(program, capture_output=True, text=True, check=False)
    assert ended.returncode == 1
    assert "StoreError" in ended.stderr
    assert verify(store) == []
    done = [job for job in numbered(store, numbers) if job.state == "done"]
    assert len(done) == len(find_walkarounds(store, limit=100)) < 30
    crew = Crew(store, lambda _: Fake())
    crew.free_what_nobody_hears()
    work_off(store, steps=Said(), once=True)
    assert {job.state for job in numbered(store, numbers)} <= {"done", "failed"}
    assert len(find_walkarounds(store, limit=100)) == sum(job.state == "done" for job in numbered(store, numbers))
    assert verify(store) == []
