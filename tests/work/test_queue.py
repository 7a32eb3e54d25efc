"""The queue: jobs become walkarounds, failures are told and cost no other job, and what is stopped stays stopped."""

import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import pytest
from click.testing import CliRunner

from narrate.cli.main import cli
from narrate.errors import AudioError
from narrate.hear.digests import sha256_of
from narrate.records.order import Order, OrderVehicle
from narrate.records.recording import Recording
from narrate.records.walkaround import MadeBy, Vehicle, Walkaround
from narrate.settings import Settings, project_folder
from narrate.store.engine import Store, open_store
from narrate.store.jobs import list_jobs, queue_job, read_job, retry, stop
from narrate.store.orders import add_order, read_visit
from narrate.store.recordings import keep_recording
from narrate.store.walkarounds import find_walkarounds, history, read_walkaround
from narrate.work import queue
from narrate.work.queue import Outcome, work_off
from narrate.work.shop_steps import ShopSteps

Progress = Callable[[float, float], None]
SAMPLE = project_folder("sample_audio") / "compact_brakes_tires.ogg"


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(queue, "LOOK_EVERY_S", 0.01)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = open_store(tmp_path / "data")
    yield opened
    opened.close()


@pytest.fixture
def drop(store: Store, tmp_path: Path) -> Callable[..., int]:
    """Return what keeps recordings by their names, and queues them as one job."""

    def make(*names: str, visit_id: int | None = None) -> int:
        kept = []
        for name in names:
            (tmp_path / name).write_text(f"sound of {name}", "utf-8")
            kept.append(keep_recording(store, tmp_path / name, name=name, suffix=".ogg", duration_s=30.0))
        return queue_job(store, kept, name=names[0], who="Ana", visit_id=visit_id, total_s=30.0 * len(names))

    return make


class Heard:
    """Steps that hear nothing, in ten reports of a recording; `at` is called with each."""

    def __init__(self, *, at: Callable[[float], None] = lambda _: None, vin: str | None = None) -> None:
        self.at, self.vin = at, vin
        self.orders: list[Order | None] = []
        self.compared: list[Walkaround] = []

    def process(self, paths: Sequence[Path], *, order: Order | None, progress: Progress) -> Walkaround:
        self.orders.append(order)
        for path in paths:
            for done in range(1, 11):
                self.at(done * 3.0)
                progress(done * 3.0, 30.0)
            if "broken" in path.read_text("utf-8"):
                message = f"{path.name} is empty; record it again."
                raise AudioError(message)
        made = tuple(Recording(id=f"r{n}", name=p.name, sha256=sha256_of(p)) for n, p in enumerate(paths, 1))
        made_by = MadeBy(program="p", lexicon="l", settings="s")
        return Walkaround(made_by=made_by, recordings=made, vehicle=Vehicle(vin=self.vin))

    def compare(self, walkaround: Walkaround, *, order: Order | None, previous: Walkaround | None) -> Walkaround:
        self.compared.append(previous)
        return walkaround.model_copy(update={"comparisons": ("worn by 1 mm",)})


def test_recordings_become_walkarounds_under_their_own_names(store: Store, drop: Callable[..., int]) -> None:
    numbers = [drop("bay 1.ogg"), drop("bay 2.ogg", "bay 2 again.ogg")]
    told: list[Outcome] = []
    work_off(store, steps=Heard(), once=True, told=told.append)
    jobs = [read_job(store, number) for number in numbers]
    assert [job.state for job in jobs] == ["done", "done"]
    assert [outcome.walkaround for outcome in told] == [job.walkaround for job in jobs]
    made = read_walkaround(store, jobs[1].walkaround or "").walkaround
    assert [recording.name for recording in made.recordings] == ["bay 2.ogg", "bay 2 again.ogg"]
    assert history(store, made.id)[0].who == "Ana"


def test_a_recording_that_cannot_be_used_costs_no_other(store: Store, drop: Callable[..., int]) -> None:
    bad, good = drop("broken.ogg"), drop("good.ogg")
    work_off(store, steps=Heard(), once=True)
    assert read_job(store, bad).state == "failed"
    assert read_job(store, bad).why == "broken.ogg is empty; record it again."
    assert read_job(store, good).state == "done"
    retry(store, bad)
    assert read_job(store, bad).state == "waiting"


def test_a_fault_of_narrate_is_tried_again_and_then_told(store: Store, drop: Callable[..., int]) -> None:
    number = drop("bay.ogg")
    tries: list[float] = []

    def fault(_: float) -> None:
        tries.append(1)
        raise ZeroDivisionError

    work_off(store, steps=Heard(at=fault), once=True)
    assert len(tries) == 3
    assert read_job(store, number).state == "failed"
    assert "please report" in read_job(store, number).why


def test_progress_reaches_the_store_at_its_own_pace(
    store: Store, drop: Callable[..., int], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Recordings of one job add up, and reports do not come as fast as steps do."""
    number = drop("a.ogg", "b.ogg")
    reports: list[float] = []
    report = queue.report

    def counted(store: Store, job_id: int, worker: str, done_s: float, total_s: float, lease_s: float) -> bool:
        reports.append(done_s)
        return report(store, job_id, worker, done_s, total_s, lease_s)

    monkeypatch.setattr(queue, "report", counted)
    seen: list[tuple[float, float]] = []

    def look(done_s: float) -> None:
        if done_s == 30.0:
            time.sleep(0.1)
            seen.append((read_job(store, number).done_s, read_job(store, number).total_s))

    work_off(store, steps=Heard(at=look), once=True)
    assert seen == [(27.0, 60.0), (57.0, 60.0)]
    assert len(reports) < 20
    assert read_job(store, number).done_s == 60.0


def test_a_job_that_is_stopped_ends_soon_and_adds_nothing(store: Store, drop: Callable[..., int]) -> None:
    number, other = drop("bay.ogg"), drop("other.ogg")

    def at(done_s: float) -> None:
        if done_s == 6.0 and read_job(store, number).state == "working":
            stop(store, number)
        if read_job(store, number).state == "stopped" and read_job(store, other).state == "waiting":
            time.sleep(0.1)
            assert done_s <= 9.0, "it went on"

    told: list[Outcome] = []
    work_off(store, steps=Heard(at=at), once=True, told=told.append)
    assert [outcome.state for outcome in told] == ["stopped", "done"]
    assert read_job(store, number).state == "stopped"
    assert len(find_walkarounds(store)) == 1


def test_the_job_in_hand_is_put_back_when_the_worker_ends(store: Store, drop: Callable[..., int]) -> None:
    number = drop("bay.ogg")
    ending = threading.Event()
    told: list[Outcome] = []
    work_off(store, steps=Heard(at=lambda _: ending.set()), stop=ending.is_set, told=told.append)
    assert [outcome.state for outcome in told] == ["put back"]
    job = read_job(store, number)
    assert (job.state, job.tries) == ("waiting", 0)


def test_an_interrupt_puts_the_job_back(store: Store, drop: Callable[..., int]) -> None:
    number = drop("bay.ogg")

    def interrupt(_: float) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        work_off(store, steps=Heard(at=interrupt), once=True)
    assert read_job(store, number).state == "waiting"


def test_a_long_silent_step_keeps_its_job(store: Store, drop: Callable[..., int]) -> None:
    """Reading three hours of words says nothing for longer than a lease."""
    number = drop("bay.ogg")
    work_off(store, steps=Heard(at=lambda done_s: time.sleep(0.5) if done_s == 3.0 else None), once=True, lease_s=0.2)
    assert (read_job(store, number).state, read_job(store, number).tries) == ("done", 1)


def test_a_worker_without_work_waits_until_it_is_stopped(store: Store, drop: Callable[..., int]) -> None:
    ending = threading.Event()
    worker = threading.Thread(target=lambda: work_off(store, steps=Heard(), stop=ending.is_set))
    worker.start()
    number = drop("late.ogg")
    deadline = time.monotonic() + 10
    while read_job(store, number).state != "done" and time.monotonic() < deadline:
        time.sleep(0.02)
    ending.set()
    worker.join(timeout=10)
    assert read_job(store, number).state == "done"
    assert not worker.is_alive()


def test_an_order_is_heard_with_and_its_vehicle_compared(store: Store, drop: Callable[..., int]) -> None:
    order = Order(number="1042", vehicle=OrderVehicle(vin="1HGCM82633A004352"), concerns=("grinding",))
    visit = add_order(store, order, who="Ben")
    steps = Heard()
    first, second = drop("first.ogg", visit_id=visit), drop("second.ogg", visit_id=visit)
    work_off(store, steps=steps, once=True)
    assert steps.orders == [order, order]
    assert [read_job(store, number).state for number in (first, second)] == ["done", "done"]
    assert [previous.id for previous in steps.compared] == [read_job(store, first).walkaround]
    held = read_walkaround(store, read_job(store, second).walkaround or "")
    assert held.walkaround.comparisons == ("worn by 1 mm",)
    assert (held.visit_id, held.vehicle_id) == (visit, read_visit(store, visit).vehicle_id)


def test_a_vin_that_was_said_tells_the_vehicle(store: Store, drop: Callable[..., int]) -> None:
    vin = "1HGCM82633A004352"
    visit = add_order(store, Order(number="1042", vehicle=OrderVehicle(vin=vin)), who="Ben")
    number = drop("bay.ogg")
    work_off(store, steps=Heard(vin=vin), once=True)
    held = read_walkaround(store, read_job(store, number).walkaround or "")
    assert held.vehicle_id == read_visit(store, visit).vehicle_id
    assert held.visit_id is None


def test_a_file_that_is_gone_fails_its_job(store: Store, drop: Callable[..., int]) -> None:
    number = drop("bay.ogg")
    for file in (store.folder / "audio").rglob("*.ogg"):
        file.unlink()
    work_off(store, steps=Heard(), once=True)
    assert read_job(store, number).state == "failed"
    assert "restore it from a backup" in read_job(store, number).why


def test_the_command_says_what_failed(store: Store, drop: Callable[..., int]) -> None:
    drop("letter.ogg")
    result = CliRunner().invoke(cli, ["worker", "--once", "--data", str(store.folder)])
    assert result.exit_code == 1
    assert "letter.ogg is not a recording that can be read" in result.stderr
    assert "1 job failed" in result.stderr


@pytest.mark.model
def test_a_real_recording_becomes_findings(store: Store) -> None:
    kept = keep_recording(store, SAMPLE, name="compact.ogg", suffix=".ogg", duration_s=92.6)
    queue_job(store, [kept], name="compact.ogg", who="Ana", total_s=92.6)
    result = CliRunner().invoke(cli, ["worker", "--once", "--data", str(store.folder)])
    assert result.exit_code == 0, result.stderr
    (job,) = list_jobs(store)
    assert (job.state, job.walkaround) == ("done", "w1")
    assert job.done_s == pytest.approx(92.6, abs=0.5)
    made = read_walkaround(store, "w1").walkaround
    assert made.recordings[0].name == "compact.ogg"
    assert {"brake_pad", "tire"} <= {finding.component.id for finding in made.findings}
    again = ShopSteps(store=store, settings=Settings).compare(made, order=None, previous=made)
    assert again.findings == made.findings


DYING = """
import os, sys
from pathlib import Path
from narrate.store.engine import open_store
from narrate.work.queue import work_off

class Dying:
    def process(self, paths, *, order, progress):
        progress(3.0, 30.0)
        os.kill(os.getpid(), 9)

work_off(open_store(Path(sys.argv[1])), steps=Dying(), once=True, lease_s=0.5)
"""


def test_a_killed_workers_job_is_done_by_the_next(store: Store, drop: Callable[..., int]) -> None:
    number = drop("bay.ogg")
    killed = subprocess.run([sys.executable, "-c", DYING, str(store.folder)], check=False)
    assert killed.returncode == -signal.SIGKILL
    assert (read_job(store, number).state, read_job(store, number).tries) == ("working", 1)
    time.sleep(0.6)
    work_off(store, steps=Heard(), once=True)
    assert (read_job(store, number).state, read_job(store, number).tries) == ("done", 2)
    assert len(find_walkarounds(store)) == 1
