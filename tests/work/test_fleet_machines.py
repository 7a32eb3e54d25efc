"""Machines with data folders of their own, with and without cards, with clocks that differ."""

import asyncio
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner
from fleet_hand import QUICK, Slow
from sqlalchemy import text, update

from narrate.cli.main import cli
from narrate.errors import MissingError, StoreError, UsageError
from narrate.records.order import Order
from narrate.store.clock import as_text
from narrate.store.engine import Store, open_store
from narrate.store.jobs import list_jobs, queue_job, read_job
from narrate.store.orders import add_order
from narrate.store.recordings import keep_recording, recording_file
from narrate.store.tables import job
from narrate.store.walkarounds import read_walkaround
from narrate.work import fleet
from narrate.work.fleet import announce, work_in_fleet
from narrate.work.fleet_audio import SharedAudio, shared_audio
from narrate.work.fleet_member import Member
from narrate.work.fleet_queue import FleetQueue, QueueName
from narrate.work.queue import Outcome

SAMPLE = Path(__file__).parents[1] / "data" / "speech_short" / "jfk.flac"
Drop = Callable[..., int]


@pytest.fixture
def shop(fleet_database: str, tmp_path: Path) -> Iterator[Store]:
    """The shop's machine."""
    opened = open_store(tmp_path / "shop", fleet_database)
    yield opened
    opened.close()


@pytest.fixture
def elsewhere(shop: Store, tmp_path: Path) -> Iterator[Store]:
    """Another machine with the same database."""
    opened = open_store(tmp_path / "elsewhere", shop.engine.url.render_as_string(hide_password=False))
    yield opened
    opened.close()


@pytest.fixture
def place(tmp_path: Path) -> str:
    return (tmp_path / "shared").as_uri()


@pytest.fixture
def drop(shop: Store, tmp_path: Path) -> Drop:
    def make(name: str, visit_id: int | None = None) -> int:
        (tmp_path / name).write_text(f"sound of {name}", "utf-8")
        kept = keep_recording(shop, tmp_path / name, name=name, suffix=".ogg", duration_s=5.0)
        return queue_job(shop, [kept], name=name, who="Ana", visit_id=visit_id, total_s=5.0)

    return make


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    for module, name, value in QUICK:
        monkeypatch.setattr(module, name, value)


def ask(store: Store, asked: Callable[[FleetQueue], object], device: QueueName = "cpu") -> object:
    """What an opened queue answers."""

    async def run() -> object:
        queue = FleetQueue(store, lambda number: None, device)
        await queue.open()
        try:
            return await asked(queue)  # type: ignore[misc]
        finally:
            await queue.close()

    with asyncio.Runner(loop_factory=asyncio.SelectorEventLoop) as runner:
        return runner.run(run())


def member(
    store: Store, place: str | None = None, *, shares: bool = False, told: list[Outcome] | None = None
) -> Member:
    audio = shared_audio(store, place) if place else None
    keep = told.append if told is not None else lambda _: None
    return Member(store=store, steps=Slow(), audio=audio, shares=shares, told=keep)


def told_of(store: Store, place: str | None = None, *, shares: bool = False) -> int:
    return ask(store, lambda queue: announce(queue, member(store, place, shares=shares)))  # type: ignore[return-value]


def copies(place: str) -> list[Path]:
    return [file for file in Path(place.removeprefix("file://")).rglob("*.ogg") if file.is_file()]


def test_a_recording_goes_to_another_machine_and_its_copies_go_away(
    shop: Store, elsewhere: Store, drop: Drop, place: str
) -> None:
    number = drop("bay.ogg")
    (shop.folder / "words.csv").write_text("words,component,kind\n", "utf-8")
    assert told_of(elsewhere, place) == 0, "nobody has shared the recording"
    assert told_of(shop, place, shares=True) == 1
    assert len(copies(place)) == 1
    told: list[Outcome] = []
    work_in_fleet(member(elsewhere, place, told=told), device="cpu", once=True)
    assert [outcome.state for outcome in told] == ["done"]
    assert (elsewhere.folder / "words.csv").read_text("utf-8") == "words,component,kind\n"
    assert not list((elsewhere.folder / "audio").rglob("*.ogg"))
    work_in_fleet(member(shop, place, shares=True), device="cpu", once=True)
    assert copies(place) == []
    (sha256,) = read_job(shop, number).recordings
    assert recording_file(shop, sha256).read_text("utf-8") == "sound of bay.ogg"


def test_a_copy_that_is_needed_stays(shop: Store, drop: Drop, place: str) -> None:
    drop("bay.ogg")
    assert told_of(shop, place, shares=True) == 1
    fleet._withdraw(member(shop, place, shares=True))
    assert len(copies(place)) == 1


def test_a_damaged_copy_is_not_heard(shop: Store, elsewhere: Store, drop: Drop, place: str) -> None:
    number = drop("bay.ogg")
    told_of(shop, place, shares=True)
    (copy,) = copies(place)
    copy.chmod(0o644)
    copy.write_text("something else!!", "utf-8")
    with pytest.raises(StoreError, match="is damaged; share it again"):
        work_in_fleet(member(elsewhere, place), device="cpu", once=True)
    assert (read_job(shop, number).state, read_job(shop, number).tries) == ("waiting", 0)
    assert not list(elsewhere.folder.rglob("*.ogg"))
    assert not list(elsewhere.folder.rglob("*.fetched"))


def test_a_copy_that_vanished_fails_in_the_end_with_what_to_do(
    shop: Store, elsewhere: Store, drop: Drop, place: str
) -> None:
    number = drop("bay.ogg")
    told_of(shop, place, shares=True)
    copies(place)[0].unlink()
    hand = member(elsewhere, place)
    for _ in range(3):
        hand.hear(number)
    assert read_job(shop, number).state == "failed"
    assert "run 'narrate worker --fleet --share' where it is" in read_job(shop, number).why


def test_objects_are_stored_as_well_as_files(shop: Store, elsewhere: Store, drop: Drop) -> None:
    """fsspec's memory, like a bucket, has no folders and other errors than a disk."""
    number = drop("bay.ogg")
    (sha256,) = read_job(shop, number).recordings
    here, there = shared_audio(shop, "memory://bucket/one"), shared_audio(elsewhere, "memory://bucket/one")
    with pytest.raises(MissingError):
        there.fetch(sha256)
    assert here.share(sha256)
    assert here.share(sha256), "a second time"
    fetched = there.fetch(sha256)
    assert fetched is not None
    assert fetched.read_text("utf-8") == "sound of bay.ogg"
    assert there.fetch(sha256) is None
    assert here.withdraw(lambda: {sha256}) == 0
    assert here.withdraw(lambda: set()) == 1
    assert not here.is_there(sha256)


def test_an_address_that_fails_is_told_in_a_sentence(shop: Store, drop: Drop) -> None:
    (sha256,) = read_job(shop, drop("bay.ogg")).recordings
    with pytest.raises(UsageError, match="NARRATE_AUDIO is an address that cannot be used"):
        shared_audio(shop, "nothing-known://bucket")

    class Away:
        def invalidate_cache(self) -> None: ...

        def exists(self, place: str) -> bool:
            raise TimeoutError

    away = SharedAudio(shop, Away(), "bucket")
    with pytest.raises(StoreError, match=r"does not answer as it should \(TimeoutError\)"):
        away.share(sha256)


def test_a_card_is_told_first_and_processors_help_where_it_is_behind(shop: Store, drop: Drop) -> None:
    number = drop("bay.ogg")

    async def with_card(cards: FleetQueue) -> set[tuple[QueueName, int]]:
        assert await cards.cards()
        await announce(cards, member(shop))
        return await cards.announced()

    assert ask(shop, with_card, "cuda") == {("cuda", number)}
    with shop.writing() as connection:
        long_ago = as_text(datetime.now(UTC) - timedelta(seconds=fleet.PATIENCE_S + 1))
        connection.execute(update(job).values(added_at=long_ago))
    assert ask(shop, with_card, "cuda") == {("cuda", number), ("cpu", number)}
    # Told of twice, it is done once.
    told: list[Outcome] = []
    work_in_fleet(member(shop, told=told), device="cuda", once=True)
    assert [outcome.state for outcome in told] == ["done"]


def test_without_a_card_processors_are_told(shop: Store, drop: Drop) -> None:
    number = drop("bay.ogg")
    assert told_of(shop) == 1
    assert told_of(shop) == 0, "told of once"
    assert ask(shop, lambda queue: queue.cards()) is False
    assert ask(shop, lambda queue: queue.announced()) == {("cpu", number)}


def test_what_was_promised_first_is_heard_first(shop: Store, drop: Drop) -> None:
    soon = add_order(shop, Order(number="1", promised=datetime(2026, 1, 2, 9, 0, tzinfo=UTC)), who="Ben")
    sooner = add_order(shop, Order(number="2", promised=datetime(2026, 1, 2, 8, 0, tzinfo=UTC)), who="Ben")
    numbers = [drop("any.ogg"), drop("soon.ogg", soon), drop("sooner.ogg", sooner)]
    told: list[Outcome] = []
    work_in_fleet(member(shop, told=told), device="cpu", once=True)
    assert [outcome.job.id for outcome in told] == [numbers[2], numbers[1], numbers[0]]


def test_rows_of_dead_workers_are_put_away(shop: Store, drop: Drop) -> None:
    """Those whose worker's heart stopped, and those whose worker's own row is gone (known to get stuck for ever)."""
    drop("a.ogg")
    drop("b.ogg")
    assert told_of(shop) == 2

    async def die(queue: FleetQueue) -> tuple[int, int]:
        manager = queue._app.job_manager
        first, second = await manager.register_worker(), await manager.register_worker()
        for worker in (first, second):
            assert await manager.fetch_job(queues=["cpu"], worker_id=worker)
        await manager.unregister_worker(second)
        gone = await queue.sweep()
        await queue._app.connector.execute_query_async(
            "UPDATE procrastinate_workers SET last_heartbeat = now() - interval '1 hour'"
        )
        return gone, await queue.sweep()

    assert ask(shop, die) == (1, 1)
    work_in_fleet(member(shop), device="cpu", once=True)
    assert {each.state for each in list_jobs(shop)} == {"done"}


def test_a_machine_whose_clock_is_wrong_takes_nothing(shop: Store, drop: Drop, monkeypatch: pytest.MonkeyPatch) -> None:
    number = drop("bay.ogg")
    assert abs(fleet.clock_ahead_s(shop)) < 1
    monkeypatch.setattr(fleet, "clock_ahead_s", lambda _: -200.4)
    with pytest.raises(StoreError, match="200 seconds behind the database's; set it right"):
        work_in_fleet(member(shop), device="cpu", once=True)
    assert read_job(shop, number).state == "waiting"


def test_the_queue_lies_beside_the_store_and_not_in_it(shop: Store) -> None:
    """Each version of the queue has a schema of its own, so that two versions work at once and none is migrated."""
    assert ask(shop, lambda queue: queue.announced()) == set()
    assert ask(shop, lambda queue: queue.announced()) == set()
    with shop.reading() as connection:
        found = connection.execute(
            text("SELECT DISTINCT schemaname FROM pg_tables WHERE tablename LIKE 'procrastinate_%'")
        ).scalars()
        assert [name.startswith("narrate_fleet_3_") for name in found] == [True]


def test_the_command_says_what_does_not_go(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("NARRATE_STORE", raising=False)
    monkeypatch.delenv("NARRATE_AUDIO", raising=False)
    data = ["--data", str(tmp_path / "data")]
    for given, sentence in {
        ("--share",): "go with --fleet",
        ("--fleet", "--once", "--processes", "2"): "--once goes with one process",
        ("--fleet", "--share", "--once"): "set NARRATE_AUDIO",
        ("--fleet", "--once"): "Several machines need a store on PostgreSQL",
    }.items():
        result = CliRunner().invoke(cli, ["worker", *given, *data])
        assert result.exit_code in {1, 2}
        assert sentence in result.stderr


@pytest.mark.model
def test_the_command_hears_what_waits(shop: Store, fleet_database: str, monkeypatch: pytest.MonkeyPatch) -> None:
    kept = keep_recording(shop, SAMPLE, name="short.wav", suffix=SAMPLE.suffix, duration_s=5.0)
    number = queue_job(shop, [kept], name="short.wav", who="Ana", total_s=5.0)
    monkeypatch.setenv("NARRATE_STORE", fleet_database)
    monkeypatch.setenv("NARRATE_MODEL", "tiny.en")
    result = CliRunner().invoke(cli, ["worker", "--fleet", "--once", "--data", str(shop.folder)])
    assert (result.exit_code, result.stdout) == (0, "short.wav: w1\n"), result.stderr
    made = read_walkaround(shop, read_job(shop, number).walkaround or "").walkaround
    assert made.recordings[0].words
