"""Same words, same result, in every process."""

import os
import subprocess
import sys
import tomllib
from pathlib import Path

CASE = Path(__file__).parents[1] / "cases" / "narrations" / "pickup_brakes.toml"


def found(said: str, seed: str) -> bytes:
    """The walkaround of a text as JSON, made by a process whose sets are in an order of their own."""
    program = "from narrate.cli.main import main; main()"
    command = [sys.executable, "-c", program, "find", "-", "--json", "-"]
    env = {**os.environ, "PYTHONHASHSEED": seed}
    return subprocess.run(command, input=said.encode(), env=env, check=True, capture_output=True).stdout


def test_the_order_of_sets_changes_nothing() -> None:
    """Sums of weights in another order could tip a finding."""
    said = tomllib.loads(CASE.read_text("utf-8"))["said"]
    assert found(said, "1") == found(said, "2") != b""
