"""A day over a folder: each recording once, put together where that is sure, and told of; whatever goes wrong."""

import errno
import os
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from day_fakes import Said, Threaded

from narrate.errors import UsageError
from narrate.hear.digests import sha256_of
from narrate.records.day import Day, DayItem
from narrate.records.order import Customer, Order, OrderVehicle
from narrate.records.reviewed import Signed
from narrate.records.walkaround import Walkaround
from narrate.store import clock, recordings
from narrate.store.engine import Store, open_store
from narrate.store.jobs import list_jobs, stop
from narrate.store.orders import add_order
from narrate.store.verifying import verify
from narrate.store.walkarounds import (
    change_walkaround,
    find_walkarounds,
    history,
    read_walkaround,
    set_aside,
    undo,
)
from narrate.work import day, queue
from narrate.work.day import Run


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    for module in (queue, day):
        monkeypatch.setattr(module, "LOOK_EVERY_S", 0.01)
    monkeypatch.setattr(day, "SWEEP_EVERY_S", 0.05)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = open_store(tmp_path / "data")
    yield opened
    opened.close()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "day").mkdir()
    return tmp_path / "day"


@pytest.fixture
def put(folder: Path) -> Callable[..., Path]:
    """Put a recording into the folder that says something; it was written so many seconds ago."""

    def write(name: str, said: str, *, age_s: float = 3600.0) -> Path:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(f"{said}\n", "utf-8")
        at = time.time() - age_s
        os.utime(path, (at, at))
        return path

    return write


@pytest.fixture
def run(store: Store, folder: Path) -> Callable[..., Day]:
    """Run a day to its end."""

    def go(steps: Said | None = None, **given: object) -> Day:
        said = steps or Said()
        made = Run(store=store, folder=folder, steps=said, start=lambda _: Threaded(store, said), **given)
        return made.go()

    return go


def names(items: Iterable[DayItem]) -> list[str]:
    return sorted(each.name for each in items)


def test_everything_is_heard_once_and_again_changes_nothing(
    store: Store, folder: Path, put: Callable[..., Path], run: Callable[..., Day]
) -> None:
    paths = [put(name, name) for name in ("a.ogg", "kev/b.ogg", "kev/c.ogg")]
    before = {path: (sha256_of(path), path.stat().st_mtime_ns) for path in paths}
    said = Said()
    first = run(said)
    assert names(first.done) == ["a.ogg", "kev/b.ogg", "kev/c.ogg"]
    assert (first.failed, first.set_aside) == ((), ())
    again = run(said)
    assert again.done == first.done
    assert len(said.heard) == 3
    assert {path: (sha256_of(path), path.stat().st_mtime_ns) for path in paths} == before
    assert verify(store, deep=True) == []
    assert [each.who for each in history(store, "w1")] == ["narrate day"]


def test_a_copy_of_a_recording_is_not_heard_again(put: Callable[..., Path], run: Callable[..., Day]) -> None:
    put("a.ogg", "pads", age_s=7200)
    put("copy of a.ogg", "pads")
    said = Said()
    told = run(said)
    assert [(each.name, each.why) for each in told.done] == [
        ("a.ogg", "The same recording lies there as copy of a.ogg.")
    ]
    assert said.heard == ["pads"]


def test_a_corrupt_file_costs_no_other_and_is_set_aside_after_three_failures(
    put: Callable[..., Path], run: Callable[..., Day]
) -> None:
    for number, said in enumerate(("one", "broken", "three")):
        put(f"{number}.ogg", said, age_s=5000 - number)
    for round_ in range(4):
        told = run()
        assert names(told.done) == ["0.ogg", "2.ogg"]
        (bad,) = told.failed if round_ < 2 else told.set_aside
        assert (bad.name, bad.why) == ("1.ogg", "1.ogg is not a recording that can be read; save it again.")
    tried = Said()
    assert names(run(tried).set_aside) == ["1.ogg"]
    assert tried.heard == []
    assert names(run(tried, again=True).failed) == ["1.ogg"]
    assert tried.heard == ["broken"]


def test_what_a_person_stopped_stays_stopped(store: Store, put: Callable[..., Path], run: Callable[..., Day]) -> None:
    put("a.ogg", "one")

    def stopped(_: Path) -> None:
        stop(store, list_jobs(store)[0].id)
        time.sleep(0.1)

    assert names(run(Said(stopped)).set_aside) == ["a.ogg"]
    again = Said()
    (told,) = run(again).set_aside
    assert "stopped on the page" in told.why
    assert again.heard == []


def test_what_a_person_set_aside_is_not_heard_again(
    store: Store, put: Callable[..., Path], run: Callable[..., Day]
) -> None:
    put("a.ogg", "one")
    run()
    set_aside(store, "w1", who="Ana", why="a test")
    said = Said()
    (told,) = run(said).done
    assert (told.walkaround_id, said.heard) == ("w1", [])
    assert "set aside by a person" in told.why


def test_recordings_go_to_their_orders_by_name_and_by_word(
    store: Store, put: Callable[..., Path], run: Callable[..., Day]
) -> None:
    first = add_order(store, Order(number="1042", concerns=("grinding",)), who="Ben")
    second = add_order(store, Order(number="1043", vehicle=OrderVehicle(plate="7ABC123")), who="Ben")
    put("1042 brakes.ogg", "pads")
    put("rec.ogg", "plate=7ABC123 belt")
    put("other.ogg", "hose")
    told = run()
    visits = {each.name: read_walkaround(store, each.walkaround_id or "").visit_id for each in told.done}
    assert visits == {"1042 brakes.ogg": first, "rec.ogg": second, "other.ogg": None}
    assert told.doubtful == ()


def test_recordings_of_one_order_become_one_walkaround(
    store: Store, put: Callable[..., Path], run: Callable[..., Day]
) -> None:
    visit = add_order(store, Order(number="1042"), who="Ben")
    put("b.ogg", "order=1042 belt", age_s=3000)
    put("1042.ogg", "pads", age_s=4000)
    put("kev/c.ogg", "order=1042 hose", age_s=2000)
    told = run()
    (id_,) = {each.walkaround_id for each in told.done}
    held = read_walkaround(store, id_ or "")
    assert [each.name for each in held.walkaround.recordings] == ["1042.ogg", "b.ogg", "c.ogg"]
    assert [each.id for each in held.walkaround.recordings] == ["r1", "r2", "r3"]
    assert held.visit_id == visit
    assert len(find_walkarounds(store)) == 1
    assert "Put together with" in told.done[0].why
    assert verify(store) == []
    again = run()
    assert again.done == told.done
    assert len(history(store, held.id)) == 3


def test_a_recording_that_comes_later_joins_the_others(
    store: Store, put: Callable[..., Path], run: Callable[..., Day]
) -> None:
    put("a.ogg", "plate=7ABC123 pads", age_s=4000)
    put("b.ogg", "plate=9XYZ555 belt", age_s=3500)
    first = run()
    assert len({each.walkaround_id for each in first.done}) == 2
    put("c.ogg", "plate=7ABC123 hose", age_s=3000)
    told = {each.name: each.walkaround_id for each in run().done}
    assert told["a.ogg"] == told["c.ogg"] != told["b.ogg"]


def test_what_a_person_took_apart_stays_apart(store: Store, put: Callable[..., Path], run: Callable[..., Day]) -> None:
    for name, age_s in (("a.ogg", 4000), ("b.ogg", 3000)):
        put(name, f"plate=7ABC123 {name}", age_s=age_s)
    (id_,) = {each.walkaround_id for each in run().done}
    undo(store, id_ or "", who="Ana")
    told = run()
    assert len({each.walkaround_id for each in told.done}) == 2
    (doubt,) = told.doubtful
    assert doubt.names == ("a.ogg", "b.ogg")
    assert "someone has worked" in doubt.why


@pytest.mark.parametrize(
    ("said", "age_s", "why"),
    [
        ("order=1042 plate=9XYZ555", 3000, "different plates"),
        ("order=1042 vin=2HGCM82633A004353", 3000, "different VINs"),
        ("order=1042 split", 3000, "two vehicles"),
        ("order=1042", 90000, "different days"),
    ],
)
def test_what_is_not_sure_is_asked(
    said: str, age_s: float, why: str, store: Store, put: Callable[..., Path], run: Callable[..., Day]
) -> None:
    add_order(store, Order(number="1042"), who="Ben")
    put("a.ogg", "order=1042 plate=7ABC123 vin=1HGCM82633A004352 pads", age_s=4000)
    put("b.ogg", said, age_s=age_s)
    told = run()
    assert len({each.walkaround_id for each in told.done}) == 2
    assert [sorted(each.names) for each in told.doubtful] == [["a.ogg", "b.ogg"]]
    assert why in told.doubtful[0].why


def test_folders_called_by_a_known_plate_hold_one_vehicle(
    store: Store, put: Callable[..., Path], run: Callable[..., Day]
) -> None:
    """The shop knows the plate from an earlier visit; a folder called by anything else tells nothing."""
    known = add_order(store, Order(number="900", vehicle=OrderVehicle(plate="7ABC123")), who="Ben")
    put("old.ogg", "order=900")
    run()
    change_walkaround(store, "w1", who="Ana", what="sign", make=_signed)
    assert read_walkaround(store, "w1").state == "signed"
    for name in ("7ABC123/one.ogg", "7ABC123/two.ogg", "iphone12/one.ogg", "iphone12/two.ogg"):
        put(name, name)
    told = {each.name: each.walkaround_id for each in run().done}
    assert told["7ABC123/one.ogg"] == told["7ABC123/two.ogg"]
    assert told["iphone12/one.ogg"] != told["iphone12/two.ogg"]
    assert known is not None


def test_doubtful_orders_are_offered(store: Store, put: Callable[..., Path], run: Callable[..., Day]) -> None:
    for number, customer in (("1042", "Dana"), ("1050", "Lee")):
        vehicle = OrderVehicle(plate="8XYZ456")
        add_order(store, Order(number=number, customer=Customer(name=customer), vehicle=vehicle), who="Ben")
    put("Recording 1042.ogg", "pads")
    put("b.ogg", "plate=8XYZ456 belt", age_s=3000)
    put("1042 or so.ogg", "order=1050 hose", age_s=2000)
    told = run()
    doubts = {each.names[0]: each.orders for each in told.doubtful}
    assert doubts["Recording 1042.ogg"] == ("1042",)
    assert doubts["b.ogg"] == ("1042", "1050")
    assert doubts["1042 or so.ogg"] == ("1042", "1050")
    assert [read_walkaround(store, each.walkaround_id or "").visit_id for each in told.done] == [None] * 3


def test_a_file_taken_too_early_gives_way_to_the_whole(
    store: Store, put: Callable[..., Path], run: Callable[..., Day]
) -> None:
    path = put("bay.ogg", "pads worn")
    run()
    put("bay.ogg", path.read_text("utf-8") + "belt cracked")
    told = run()
    assert [each.walkaround_id for each in told.done] == ["w2"]
    assert read_walkaround(store, "w1").state == "set_aside"
    assert "w2 has all of it" in (history(store, "w1")[-1].why or "")
    put("bay.ogg", "another car under the same name")
    run()
    assert read_walkaround(store, "w2").state == "to_check"


def test_what_was_promised_first_is_heard_first(
    store: Store, put: Callable[..., Path], run: Callable[..., Day], monkeypatch: pytest.MonkeyPatch
) -> None:
    add_order(store, Order(number="1042", promised=datetime(2026, 11, 27, 17)), who="Ben")
    add_order(store, Order(number="1043", promised=datetime(2026, 11, 27, 9)), who="Ben")
    for name in ("none.ogg", "1042.ogg", "1043.ogg"):
        put(name, name)
    monkeypatch.setattr("narrate.store.jobs.now", lambda: "2026-11-27T08:00:00.000Z")
    said = Said()
    made = Run(store=store, folder=put("none.ogg", "none.ogg").parent, steps=said, start=lambda _: None)
    made._look()
    while made._take_one():
        pass
    worker = Threaded(store, said)
    while len(said.heard) < 3:
        time.sleep(0.01)
    worker.terminate()
    worker._thread.join()
    assert said.heard == ["1043.ogg", "1042.ogg", "none.ogg"]


def test_a_full_disk_is_told_and_the_rest_goes_on(
    store: Store, put: Callable[..., Path], run: Callable[..., Day], monkeypatch: pytest.MonkeyPatch
) -> None:
    put("a.ogg", "one", age_s=4000)
    put("b.ogg", "two", age_s=3000)
    put("c.ogg", "three", age_s=2000)
    copied = recordings._copied

    def full(source: Path, folder: Path) -> object:
        if source.name == "b.ogg":
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return copied(source, folder)

    told: list[str] = []
    with monkeypatch.context() as patched:
        patched.setattr(recordings, "_copied", full)
        first = run(say=told.append)
    assert names(first.done) == ["a.ogg", "c.ogg"]
    assert [(each.name, each.sha256) for each in first.failed] == [("b.ogg", "")]
    assert "No space left" in first.failed[0].why
    assert "No space left" in told[0]
    assert names(run().done) == ["a.ogg", "b.ogg", "c.ogg"]
    assert not list((store.folder / "audio").glob(".*"))


def test_a_folder_that_vanishes_loses_nothing_that_was_taken(
    store: Store, folder: Path, put: Callable[..., Path], run: Callable[..., Day]
) -> None:
    for name in ("a.ogg", "b.ogg"):
        put(name, name)
    away = folder.with_name("away")
    gone = threading.Lock()
    told: list[str] = []

    def vanish(_: Path) -> None:
        with gone:
            if len(list_jobs(store)) == 2 and folder.exists():
                folder.rename(away)
                # The last recording must not be done before the folder was looked at once more.
                until = time.monotonic() + 20
                while not told and time.monotonic() < until:
                    time.sleep(0.01)

    assert names(run(Said(vanish), say=told.append).done) == ["a.ogg", "b.ogg"]
    assert away.exists()
    assert any("cannot be read now" in sentence for sentence in told)
    with pytest.raises(UsageError, match="cannot be read; check its name"):
        run()


def test_what_arrives_is_taken_until_it_is_stopped(put: Callable[..., Path], run: Callable[..., Day]) -> None:
    put("a.ogg", "one")
    ready: list[Day] = []

    def look(so_far: Day) -> None:
        ready.append(so_far)
        if len(ready) == 1:
            put("late.ogg", "two")

    told = run(follow=True, ready=look, stop=lambda: bool(ready) and len(ready[-1].done) == 2)
    assert names(told.done) == ["a.ogg", "late.ogg"]


@pytest.mark.parametrize("days", [-400, 400])
def test_a_clock_that_jumps_does_nothing_twice(
    days: int, store: Store, put: Callable[..., Path], run: Callable[..., Day], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Leases are kept by the clock: all run out at once, or none for a year; each recording is done once."""
    for number in range(6):
        put(f"{number}.ogg", f"said {number}")
    jumped = threading.Event()

    class Jumping(datetime):
        @classmethod
        def now(cls, tz: object = None) -> datetime:
            present = datetime.now(UTC)
            return present + timedelta(days=days) if jumped.is_set() else present

    monkeypatch.setattr(clock, "datetime", Jumping)
    monkeypatch.setattr("narrate.store.jobs.datetime", Jumping)
    at = Said(lambda path: (time.sleep(0.05), jumped.set(), time.sleep(0.05)))
    told = run(at, workers=3)
    assert len(told.done) == 6
    assert len(find_walkarounds(store)) == 6
    assert len({each.sha256 for each in told.done}) == 6
    assert verify(store) == []


def _signed(walkaround: Walkaround) -> Walkaround:
    return walkaround.model_copy(update={"signed": Signed(by="Ana", at="2026-11-27T09:00:00.000Z")})
