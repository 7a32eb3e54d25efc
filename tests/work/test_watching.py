"""What the queue's figures mean: what is wrong, a sentence, and the Prometheus text format."""

import re
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from narrate.store.engine import Store, open_store
from narrate.store.jobs import queue_job
from narrate.store.queue_state import QueueState, queue_state
from narrate.work import watching
from narrate.work.watching import metrics, queue_problems, say_queue, say_s

LABELS = r'(\{[a-z_]+="[a-z_]+"\})?'
SAMPLE = re.compile(rf"([a-z_:][a-z0-9_:]*){LABELS} (-?[0-9]+(?:\.[0-9]+)?)")
"""A line of the format's own grammar, as far as narrate uses it."""


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = open_store(tmp_path / "data")
    yield opened
    opened.close()


@pytest.fixture
def calm(store: Store) -> QueueState:
    return queue_state(store)


def test_a_calm_queue_is_well(calm: QueueState, tmp_path: Path) -> None:
    assert queue_problems(calm, tmp_path) == []
    assert say_queue(calm) == "0 waiting, 0 being heard, 0 failed; no worker seen yet."


def test_what_is_wrong_is_said_with_what_to_do(
    calm: QueueState, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stuck = replace(calm, stuck=2)
    assert "2 jobs are held by a worker that went silent; start" in queue_problems(stuck, tmp_path)[0]
    waiting = replace(calm, oldest_waiting_s=7300.0)
    assert "have waited for 2 h and no worker was seen" in queue_problems(waiting, tmp_path)[0]
    assert queue_problems(replace(waiting, worker_seen_s=30.0), tmp_path) == [], "a long line is no fault"
    monkeypatch.setattr(watching, "free_bytes", lambda _: 12_000_000)
    assert queue_problems(calm, tmp_path) == ["Only 12 MB are free where recordings are kept; make room there."]


def test_the_sentence(calm: QueueState) -> None:
    busy = replace(
        calm,
        jobs={**calm.jobs, "waiting": 3, "working": 1},
        oldest_waiting_s=400.0,
        worker_seen_s=40.0,
        times_real=8.25,
    )
    assert say_queue(busy) == (
        "3 waiting (the oldest for 6 min), 1 being heard, 0 failed; a worker seen 40 s ago, "
        "8.2 times real time over the last day."
    )
    assert [say_s(seconds) for seconds in (0.4, 119, 120, 86_400 * 3)] == ["0 s", "119 s", "2 min", "3 days"]


def test_every_line_is_of_the_format(store: Store) -> None:
    """HELP and TYPE before each family, names with a prefix, numbers as numbers, a line end at the end."""
    queue_job(store, [], name="Okafor 7ABC123.ogg", who="Dana", total_s=60.0)
    text = metrics(store)
    assert text.endswith("\n")
    assert not [secret for secret in ("Okafor", "7ABC", "Dana") if secret in text]
    known: dict[str, str] = {}
    seen: set[str] = set()
    for line in text.splitlines():
        if line.startswith("# TYPE "):
            _, _, name, kind = line.split()
            known[name] = kind
        elif not line.startswith("# HELP "):
            match = SAMPLE.fullmatch(line)
            assert match, line
            assert known[match[1]] in ("gauge", "counter")
            assert (match[1].endswith("_total")) == (known[match[1]] == "counter")
            assert match[0].rsplit(" ", 1)[0] not in seen
            seen.add(match[0].rsplit(" ", 1)[0])
    assert 'narrate_jobs{state="waiting"} 1' in text.splitlines()
    assert 'narrate_jobs_failed{reason="audio"} 0' in text.splitlines()
    assert "narrate_real_time_factor" not in text, "nothing was heard yet"
    assert all(name.startswith("narrate_") for name in known)
