"""`--log` of the page's worker, and NARRATE_LOG."""

import json
import logging
from collections.abc import Iterator
from pathlib import Path

import pytest
from cli_fakes import BAD, FakeProcess, Run, fake_walkaround

from narrate.store.engine import open_store
from narrate.store.jobs import queue_job
from narrate.store.recordings import keep_recording


@pytest.fixture(autouse=True)
def logging_as_before(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Whatever a command sets up goes again."""
    monkeypatch.setenv("NARRATE_LOG", "")
    root, own = logging.getLogger(), logging.getLogger("narrate")
    before = (root.handlers[:], root.level, own.level)
    yield
    for handler in set(root.handlers) - set(before[0]):
        handler.close()
    root.handlers, root.level = before[0], before[1]
    own.setLevel(before[2])


@pytest.fixture
def waiting(tmp_path: Path) -> None:
    """Two recordings in line, one of which is none."""
    store = open_store(tmp_path / "data")
    for content in (b"front pads worn", BAD):
        file = tmp_path / f"Okafor {len(content)}.wav"
        file.write_bytes(content)
        sha256 = keep_recording(store, file, name=file.name, suffix=".wav", duration_s=3.0)
        queue_job(store, [sha256], name=file.name, who="Dana", total_s=3.0)
    store.close()


@pytest.mark.usefixtures("waiting")
def test_a_worker_logs_what_it_does(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("narrate.work.shop_steps.ShopSteps.process", lambda _, paths, **given: FakeProcess()(paths))
    monkeypatch.setattr("narrate.work.shop_steps.ShopSteps.find", lambda _, heard, **given: fake_walkaround(heard))
    result = run("worker", "--once", "--log", tmp_path / "log.jsonl")
    assert result.exit_code == 1
    lines = [json.loads(line) for line in (tmp_path / "log.jsonl").read_text("utf-8").splitlines()]
    jobs = [(line["job"], line["state"], line["kind"]) for line in lines if line["what"] == "job"]
    assert jobs == [(1, "done", None), (2, "failed", "audio")]
    whole = (tmp_path / "log.jsonl").read_text("utf-8")
    assert not [secret for secret in ("Okafor", "pads", "wav", "Dana") if secret in whole]


def test_a_place_that_cannot_be_written_is_told(run: Run, tmp_path: Path) -> None:
    result = run("worker", "--once", "--log", tmp_path / "none" / "log.jsonl")
    assert (result.exit_code, result.stdout) == (2, "")
    assert "cannot be written (No such file or directory); name another file." in result.stderr
