"""The process is stopped from outside: nothing half-written is left, and the next run goes on."""

import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from cli_fakes import FakeProcess, Run

FILES = {"findings.csv", "findings.xlsx", "findings.json", "findings.html", "findings.svg"}
SLOW = """
import sys, time
from pathlib import Path
sys.path.insert(0, {here!r})
from cli_fakes import FakeProcess
import narrate.pipeline, narrate.work.batch
from narrate.export.csv_file import write_csv

def export_slowly(walkaround, folder):
    if walkaround.recordings[0].name == "b.wav":
        write_csv(walkaround, folder / "findings.csv")
        print("writing", flush=True)
        time.sleep(60)
    return narrate_export(walkaround, folder)

def hear_slowly(path):
    if path.name == "b.wav" and {slow!r} == "hearing":
        print("hearing", flush=True)
        time.sleep(60)

narrate_export = narrate.work.batch.export_walkaround
narrate.work.batch.export_walkaround = export_slowly
narrate.pipeline.process_recordings = FakeProcess(before=hear_slowly)
from narrate.cli.main import main
sys.argv = ["narrate", "process", "day"]
main()
"""


@pytest.fixture
def stopped(at: Path) -> Callable[[str, signal.Signals], subprocess.CompletedProcess[str]]:
    """Run `narrate process day` in a process of its own and stop it at the second recording."""
    (at / "day").mkdir()
    for name in ("a.wav", "b.wav", "c.wav"):
        (at / "day" / name).write_text(f"pads of {name}")

    def stop(when: str, how: signal.Signals) -> subprocess.CompletedProcess[str]:
        script = SLOW.format(here=str(Path(__file__).parent), slow=when)
        child = subprocess.Popen(
            [sys.executable, "-c", script], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        )
        assert child.stdout is not None
        lines = []
        for line in child.stdout:
            lines.append(line)
            if line.strip() == when:
                break
        child.send_signal(how)
        out, err = child.communicate(timeout=30)
        return subprocess.CompletedProcess("narrate", child.returncode, "".join(lines) + out, err)

    return stop


@pytest.mark.parametrize("when", ["hearing", "writing"])
def test_killed_it_leaves_nothing_half_written(
    when: str,
    at: Path,
    run: Run,
    process: FakeProcess,
    stopped: Callable[[str, signal.Signals], subprocess.CompletedProcess[str]],
) -> None:
    """After kill -9 only whole folders can be seen; the next run does the rest and tidies up."""
    assert -signal.SIGKILL == stopped(when, signal.SIGKILL).returncode
    seen = [path for path in (at / "findings").iterdir() if not path.name.startswith(".")]
    assert ["a"] == [path.name for path in seen]
    assert FILES == {path.name for path in seen[0].iterdir()}
    assert 0 == run("process", "day").exit_code
    assert [("b.wav",), ("c.wav",)] == process.names
    assert {"a", "b", "c"} == {path.name for path in (at / "findings").iterdir()}
    assert all(FILES == {path.name for path in folder.iterdir()} for folder in (at / "findings").iterdir())


@pytest.mark.parametrize("when", ["hearing", "writing"])
def test_ctrl_c_leaves_nothing_at_all(
    when: str, at: Path, stopped: Callable[[str, signal.Signals], subprocess.CompletedProcess[str]]
) -> None:
    """Ctrl-C is answered at once, with one sentence, and not even hidden folders stay."""
    start = time.monotonic()
    ended = stopped(when, signal.SIGINT)
    assert 130 == ended.returncode
    assert "Stopped; 1 walk-round done and kept. Run it again to go on.\n" == ended.stderr
    assert ["a"] == [path.name for path in (at / "findings").iterdir()]
    assert time.monotonic() - start < 30
