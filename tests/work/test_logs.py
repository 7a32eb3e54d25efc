"""What is logged says what happened, and not a word of what was said."""

import ast
import io
import json
import logging
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import pytest

import narrate
from narrate.errors import AudioError, ModelError, StoreError
from narrate.hear.digests import sha256_of
from narrate.records.order import Customer, Order, OrderVehicle
from narrate.records.recording import Recording, Word
from narrate.records.walkaround import MadeBy, Vehicle, Walkaround
from narrate.store.engine import Store, open_store
from narrate.store.jobs import queue_job, read_job
from narrate.store.orders import add_order
from narrate.store.recordings import keep_recording
from narrate.work import queue
from narrate.work.logs import SAFE, JsonLines, log_to, tell
from narrate.work.queue import work_off

SAID = "the zebrawood trim of 7ABC123 is loose says Robin Okafor"
LOGGER = logging.getLogger("narrate.work.queue")


@pytest.fixture
def log(tmp_path: Path) -> Iterator[Callable[[], list[dict[str, Any]]]]:
    """Log to a file, and return what reads its lines."""
    root, own = logging.getLogger(), logging.getLogger("narrate")
    before = (root.handlers[:], root.level, own.level)
    log_to(str(tmp_path / "log.jsonl"))
    yield lambda: [json.loads(line) for line in (tmp_path / "log.jsonl").read_text("utf-8").splitlines()]
    for handler in root.handlers:
        handler.close()
    root.handlers, root.level = before[0], before[1]
    own.setLevel(before[2])


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = open_store(tmp_path / "data")
    yield opened
    opened.close()


class Heard:
    """Steps that hear the same each time, or fail as the recording's content says."""

    def process(self, paths: Sequence[Path], *, order: Order | None, progress: Callable[[float, float], None]) -> Any:
        content = paths[0].read_text("utf-8")
        raised = {"broken": AudioError, "model": ModelError, "store": StoreError, "fault": ValueError}
        if content in raised:
            message = f"{SAID}: {paths[0]} is empty."
            raise raised[content](message)
        words = tuple(Word(text=word, start_s=0.0, end_s=0.1, probability=0.9) for word in SAID.split())
        made = Recording(id="r1", name=paths[0].name, sha256=sha256_of(paths[0]), words=words)
        made_by = MadeBy(program="p", lexicon="l", settings="s")
        return Walkaround(made_by=made_by, recordings=(made,), vehicle=Vehicle(plate="7ABC123"))

    def find(self, recordings: Sequence[Recording], *, order: Order | None) -> Any:
        raise NotImplementedError

    def compare(self, walkaround: Walkaround, *, order: Order | None, previous: Walkaround | None) -> Walkaround:
        return walkaround


def test_a_days_log_has_no_word_of_what_was_said(
    store: Store, tmp_path: Path, log: Callable[[], list[dict[str, Any]]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nor of a name, a plate or a file, in good jobs and in every kind of failure; and doctor's figures agree."""
    monkeypatch.setattr(queue, "LOOK_EVERY_S", 0.01)
    order = Order(number="R-1007", vehicle=OrderVehicle(plate="7ABC 123"), customer=Customer(name="Robin Okafor"))
    visit = add_order(store, order, who="Dana")
    numbers = {}
    for content in ("fine", "broken", "model", "store", "fault"):
        file = tmp_path / f"Okafor zebrawood {content}.ogg"
        file.write_text(content, "utf-8")
        sha256 = keep_recording(store, file, name=file.name, suffix=".ogg", duration_s=30.0)
        numbers[content] = queue_job(store, [sha256], name=file.name, who="Dana", visit_id=visit, total_s=30.0)
    work_off(store, steps=Heard(), once=True)
    lines = log()
    whole = (tmp_path / "log.jsonl").read_text("utf-8").casefold()
    private = {*SAID.casefold().split(), "r-1007", "dana", "ogg", str(tmp_path).casefold(), "empty"}
    told = set(whole.replace('"', " ").replace(",", " ").replace(":", " ").split())
    assert private & told <= {"is", "of", "the"}, "words of the program's own sentences"
    assert not [secret for secret in ("okafor", "zebrawood", "7abc", "trim") if secret in whole]
    jobs = [line for line in lines if line["what"] == "job"]
    assert {(line["state"], line["kind"]) for line in jobs} == {
        ("done", None),
        ("failed", "audio"),
        ("failed", "model"),
        ("failed", "store"),
        ("failed", "fault"),
    }
    (done,) = [line for line in jobs if line["state"] == "done"]
    assert (done["job"], done["walkaround"], done["sound_s"]) == (numbers["fine"], "w1", 30.0)
    assert done["times_real"] > 1
    job = read_job(store, numbers["fault"])
    assert job.state == "failed"


def test_a_fault_is_told_by_kind_and_place(log: Callable[[], list[dict[str, Any]]]) -> None:
    try:
        raise ValueError(SAID)
    except ValueError:
        LOGGER.exception("A fault of narrate itself, on job %d:", 7)
    (line,) = log()
    assert (line["level"], line["from"]) == ("error", "narrate.work.queue")
    assert line["what"] == "A fault of narrate itself, on job %d:"
    assert line["error"] == "ValueError"
    assert line["through"][-1].startswith("tests/work/test_logs.py:")


def test_an_error_as_the_message_is_told_by_its_kind(log: Callable[[], list[dict[str, Any]]]) -> None:
    LOGGER.warning("%s", StoreError(SAID))
    (line,) = log()
    assert (line["what"], line["errors"]) == ("%s", ["StoreError"])


def test_others_are_told_by_place_alone(log: Callable[[], list[dict[str, Any]]]) -> None:
    """Their texts may hold file names, addresses, or what they were given to read."""
    other = logging.getLogger("faster_whisper")
    other.info("Processing %s", SAID)
    other.warning(f"cannot read {SAID}")
    (line,) = log()
    assert set(line) == {"at", "level", "from", "what"}
    assert line["what"].startswith("test_logs:")


def test_only_figures_are_told(log: Callable[[], list[dict[str, Any]]]) -> None:
    with pytest.raises(ValueError, match="may not hold name, plate"):
        tell(LOGGER, "job", {"name": "bay.ogg", "plate": "7ABC123", "job": 1})
    tell(LOGGER, "job", {"state": SAID, "walkaround": "Robin", "took_s": 1 / 3, "job": 7})
    (line,) = log()
    assert (line["state"], line["walkaround"], line["took_s"], line["job"]) == ("?", "?", 0.333, 7)


def test_a_stranger_to_the_keys_cannot_slip_in() -> None:
    record = LOGGER.makeRecord("narrate", logging.INFO, "x.py", 1, "job", (), None, extra={"figures": {"name": SAID}})
    assert "zebrawood" not in JsonLines().format(record)
    assert "name" not in SAFE


def test_to_standard_error(capsys: pytest.CaptureFixture[str], log: object, monkeypatch: pytest.MonkeyPatch) -> None:
    shown = io.StringIO()
    monkeypatch.setattr("sys.stderr", shown)
    log_to("-")
    tell(LOGGER, "job", {"job": 7})
    assert json.loads(shown.getvalue())["job"] == 7


def test_no_message_of_narrates_own_is_filled_in_by_itself() -> None:
    """What is logged is a text in the program; what changes stands in its arguments, which are not told."""
    found = []
    for file in Path(narrate.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
                called = ast.unparse(node.func)
                if called.startswith(("_log.", "logging.")) and node.func.attr in _LEVELS:
                    found.append(called)
                    assert isinstance(node.args[0], ast.Constant), f"{file.name}:{node.lineno}"
    assert len(found) > 3


_LEVELS = {"debug", "info", "warning", "error", "exception", "critical"}
