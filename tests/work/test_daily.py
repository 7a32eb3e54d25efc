"""The shop's rule is applied while a worker runs, and a failure waits for the next time."""

import time
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from sqlalchemy import update

from narrate.errors import StoreError
from narrate.store.clock import as_text
from narrate.store.engine import Store, open_store
from narrate.store.events import read_events
from narrate.store.recordings import keep_recording, kept_recording
from narrate.store.retention import set_retention
from narrate.store.tables import recording
from narrate.work import daily
from narrate.work.daily import forgetting_daily


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = open_store(tmp_path / "data")
    yield opened
    opened.close()


@pytest.fixture
def old(store: Store, tmp_path: Path) -> str:
    """A recording of a hundred days ago."""
    file = tmp_path / "bay.wav"
    file.write_bytes(b"sound")
    sha256 = keep_recording(store, file, name="bay.wav", suffix=".wav")
    with store.writing() as connection:
        came = as_text(datetime.now(UTC) - timedelta(days=100))
        connection.execute(update(recording).values(added_at=came))
    return sha256


def wait_until_gone(store: Store, sha256: str) -> bool:
    until = time.monotonic() + 10
    while kept_recording(store, sha256) and time.monotonic() < until:
        time.sleep(0.01)
    return kept_recording(store, sha256) is None


def test_it_is_done_beside_other_work(store: Store, old: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(daily, "FIRST_S", 0.01)
    set_retention(store, {"audio": 90}, who="Ann")
    with forgetting_daily(store):
        assert wait_until_gone(store, old)
    assert [event.who for event in read_events(store, "forgetting")] == ["the shop's rule"]


def test_without_a_rule_nothing_goes(store: Store, old: str, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("FIRST_S", "DAY_S"):
        monkeypatch.setattr(daily, name, 0.01)
    with forgetting_daily(store):
        time.sleep(0.2)
    assert kept_recording(store, old) is not None


def test_a_failure_is_tried_again(store: Store, old: str, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("FIRST_S", "AGAIN_S"):
        monkeypatch.setattr(daily, name, 0.01)
    failures = []

    def locked(_: Store) -> int:
        if len(failures) < 3:
            failures.append(1)
            message = "The store is locked."
            raise StoreError(message)
        return 0

    monkeypatch.setattr(daily, "sweep", locked)
    set_retention(store, {"audio": 90}, who="Ann")
    with forgetting_daily(store):
        assert wait_until_gone(store, old)
    assert len(failures) == 3


def test_it_ends_at_once(store: Store) -> None:
    began = time.monotonic()
    with forgetting_daily(store):
        pass
    assert time.monotonic() - began < 5
