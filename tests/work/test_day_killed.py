"""A day and its processes may be killed at any moment: each recording is done once, and nothing is half written."""

import random
from collections.abc import Callable
from pathlib import Path

import pytest
from day_killing import kill_at_random, small_recordings, what_is_wrong

from narrate.store.engine import open_store

KILLS = 30


def test_a_day_killed_at_random_moments_is_done_once(tmp_path: Path) -> None:
    """Thirty times: a process that hears, the day itself, or all of them at once as by a power cut."""
    folder, data = tmp_path / "day", tmp_path / "data"
    digests = small_recordings(folder, 60)
    store = open_store(data)
    chance = random.Random(15)
    kills = kill_at_random(folder, data, kills=KILLS, delay_s=0.3, workers=3, chance=chance, pause_s=0.35)
    assert kills.all == KILLS
    assert min(kills.workers, kills.days, kills.both) > 0
    assert [] == what_is_wrong(folder, store, digests)
    store.close()


def test_a_day_on_postgresql_killed_at_random_moments_is_done_once(
    tmp_path: Path, emptied_database: Callable[[], str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same, with the records in a server that lives on while those who write to it are killed."""
    folder, data = tmp_path / "day", tmp_path / "data"
    monkeypatch.setenv("NARRATE_STORE", emptied_database())
    digests = small_recordings(folder, 40)
    store = open_store(data)
    chance = random.Random(16)
    kills = kill_at_random(folder, data, kills=20, delay_s=0.3, workers=3, chance=chance, pause_s=0.35)
    assert kills.all == 20
    assert min(kills.workers, kills.days, kills.both) > 0
    assert [] == what_is_wrong(folder, store, digests)
    store.close()
