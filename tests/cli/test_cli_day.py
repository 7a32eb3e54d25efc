"""`narrate day`: what it prints and writes, and its exit codes."""

import json
import os
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from cli_fakes import BAD, FakeProcess, Run, fake_walkaround

from narrate.records.day import Day
from narrate.store.engine import open_store
from narrate.store.orders import list_orders
from narrate.work import day, day_worker, queue
from narrate.work.shop_steps import ShopSteps

ORDERS = "number,customer,plate,concerns\n1042,Dana Ruiz,7ABC123,grinding when braking\n"


class HereAndNow:
    """Hears in this process, when it is asked whether it still runs."""

    def __init__(self, data: Path) -> None:
        self.pid, self._data = 2_000_000_000, data
        self._heard = False

    def poll(self) -> int | None:
        if not self._heard:
            self._heard = True
            store = open_store(self._data)
            queue.work_off(store, steps=ShopSteps(store=store, settings=queue_settings), once=True)
            store.close()
        return 0

    def terminate(self) -> None:
        pass

    kill = terminate


def queue_settings() -> object:
    from narrate.settings import load_settings

    return load_settings()


@pytest.fixture(autouse=True)
def hearing(process: FakeProcess, monkeypatch: pytest.MonkeyPatch) -> FakeProcess:
    """Words are what files hold; hearing needs no process and no model."""

    def find(recordings: list, **_: object) -> object:
        return fake_walkaround(recordings)

    def hear(paths: list[Path], **given: object) -> object:
        return process(paths, **given).recordings

    monkeypatch.setattr("narrate.work.shop_steps.hear_recordings", hear)
    monkeypatch.setattr("narrate.work.shop_steps.process_words", find)
    monkeypatch.setattr("narrate.hear.weights.model_folder", lambda _: None)
    monkeypatch.setattr(day_worker, "start_worker", lambda data, **_: HereAndNow(data))
    for module in (queue, day):
        monkeypatch.setattr(module, "LOOK_EVERY_S", 0.01)
    return process


@pytest.fixture
def put(at: Path) -> Callable[[str, bytes], Path]:
    def write(name: str, content: bytes) -> Path:
        path = at / "day" / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(content)
        os.utime(path, (time.time() - 3600, time.time() - 3600))
        return path

    return write


def test_a_day_is_told_and_written(put: Callable[[str, bytes], Path], run: Run, at: Path) -> None:
    put("1042 brakes.ogg", b"front pads worn")
    put("b.ogg", b"belt cracked")
    (at / "orders.csv").write_text(ORDERS)
    result = run("day", at / "day", "--orders", at / "orders.csv", "--json", at / "day.json")
    assert result.exit_code == 0, result.stderr
    assert "1 order added" in result.stderr
    assert "2 recordings done in 2 walk-rounds." in result.stdout
    assert "To check on the page" in result.stdout
    told = json.loads((at / "day.json").read_text())
    assert told["schema"] == "narrate.day/1"
    assert sorted(each["name"] for each in told["done"]) == ["1042 brakes.ogg", "b.ogg"]
    assert all(set(each) == {"name", "sha256", "walkaround_id", "why"} for each in told["done"])
    again = run("day", at / "day", "--orders", at / "orders.csv", "--json", "-")
    assert "0 orders added" in again.stderr
    assert json.loads(again.stdout)["done"] == told["done"]
    store = open_store(at.parent / "data")
    (visit,) = list_orders(store)
    assert len(visit.walkarounds) == 1
    store.close()


def test_what_failed_is_told_and_exits_with_1(put: Callable[[str, bytes], Path], run: Run, at: Path) -> None:
    put("bad.ogg", BAD)
    put("good.ogg", b"belt cracked")
    result = run("day", at / "day")
    assert result.exit_code == 1
    assert "1 recording done in 1 walk-round, 1 failed." in result.stdout
    assert "bad.ogg is not a recording that can be read; save it again." in result.stdout
    assert "1 recording failed" in result.stderr
    for _ in range(2):
        run("day", at / "day")
    aside = run("day", at / "day")
    assert aside.exit_code == 0
    assert "1 set aside" in aside.stdout


def test_an_empty_folder_is_no_error_and_a_missing_one_is(run: Run, at: Path) -> None:
    (at / "day").mkdir()
    result = run("day", at / "day", "--json", "-")
    assert result.exit_code == 0
    assert Day.model_validate_json(result.stdout) == Day()
    missing = run("day", at / "nowhere")
    assert missing.exit_code == 2
    assert "cannot be read" in missing.stderr


def test_an_orders_file_with_a_mistake_changes_nothing(run: Run, at: Path) -> None:
    (at / "day").mkdir()
    (at / "orders.csv").write_text("number,colour\n1042,blue\n")
    result = run("day", at / "day", "--orders", at / "orders.csv")
    assert result.exit_code == 2
    assert "'colour' is none of them" in result.stderr
