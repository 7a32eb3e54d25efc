"""`narrate review` as a process: it tells its address, answers there, and ends when told to, its worker with it."""

import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx2
import pytest

START = [sys.executable, "-c", "from narrate.cli.main import main; main()", "review", "--no-browser"]
LONGEST_S = 60


@contextmanager
def running(data: Path, *options: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """The process and the address that it told."""
    command = [*START, "--data", str(data), "--port", "0", *options]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    assert process.stdout
    told = ""
    try:
        while not (address := re.search(r"http://[^ ]+", told)):
            line = process.stdout.readline()
            assert line, told
            told += line
        yield process, address[0]
    finally:
        if process.poll() is None:
            process.kill()
        process.stdout.close()
        process.wait()


@pytest.mark.parametrize("stop", [signal.SIGTERM, signal.SIGINT])
def test_it_answers_and_ends_well_when_it_is_stopped(tmp_path: Path, stop: signal.Signals) -> None:
    with running(tmp_path, "--no-worker") as (process, address):
        assert httpx2.get(address, timeout=LONGEST_S).status_code == 200
        assert httpx2.get(address, headers={"host": "evil.example"}, timeout=LONGEST_S).status_code == 400
        process.send_signal(stop)
        assert process.wait(timeout=LONGEST_S) == 0


def test_its_worker_does_not_stay_behind(tmp_path: Path) -> None:
    with running(tmp_path) as (process, address):
        assert httpx2.get(address, timeout=LONGEST_S).status_code == 200
        children = Path(f"/proc/{process.pid}/task/{process.pid}/children").read_text("utf-8").split()
        assert len(children) == 1
        # The worker is told to end; it must have begun to listen for that.
        process.send_signal(signal.SIGTERM)
        assert process.wait(timeout=LONGEST_S) == 0
    with pytest.raises(ProcessLookupError):
        os.kill(int(children[0]), 0)


def test_an_open_page_does_not_hold_it(tmp_path: Path) -> None:
    with running(tmp_path, "--no-worker") as (process, address):
        with httpx2.stream("GET", f"{address}api/jobs/stream", timeout=LONGEST_S) as answer:
            assert answer.status_code == 200
            process.send_signal(signal.SIGTERM)
            began = time.monotonic()
            assert process.wait(timeout=LONGEST_S) == 0
        assert time.monotonic() - began < LONGEST_S / 2


def test_an_address_that_is_taken_is_told(tmp_path: Path) -> None:
    with running(tmp_path / "one", "--no-worker") as (_, address):
        port = address.rstrip("/").rsplit(":", 1)[1]
        command = [*START, "--data", str(tmp_path / "two"), "--no-worker", "--port", port]
        second = subprocess.run(command, capture_output=True, text=True, timeout=LONGEST_S, check=False)
    assert second.returncode != 0
    assert f"port {port}" in second.stderr
    assert "--port" in second.stderr
    assert "Traceback" not in second.stderr


def test_other_devices_are_let_in_only_with_a_pin(tmp_path: Path) -> None:
    command = [*START, "--data", str(tmp_path), "--no-worker", "--host", "0.0.0.0", "--port", "0"]
    refused = subprocess.run(command, capture_output=True, text=True, timeout=LONGEST_S, check=False)
    assert refused.returncode != 0
    assert "PIN" in refused.stderr
    assert "Traceback" not in refused.stderr
