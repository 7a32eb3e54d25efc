"""`narrate forget`: tells first, asks, and erases."""

from pathlib import Path

import pytest
from cli_fakes import Run, fake_recording, fake_walkaround

from narrate.records.order import Customer, Order
from narrate.store.engine import open_store
from narrate.store.orders import add_order, attach
from narrate.store.recordings import keep_recording
from narrate.store.walkarounds import add_walkaround, read_walkaround


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """A store with one customer's walk-round."""
    store = open_store(tmp_path / "data")
    file = tmp_path / "bay.wav"
    file.write_text("front pads worn", "utf-8")
    keep_recording(store, file, name="bay.wav", suffix=".wav", duration_s=90.0)
    visit = add_order(store, Order(number="R-1", customer=Customer(name="Robin Okafor")), who="Dana")
    attach(store, add_walkaround(store, fake_walkaround([fake_recording(file)]), who="Dana"), visit, who="Dana")
    store.close()
    return tmp_path / "data"


def test_it_tells_and_wants_a_yes(data: Path, run: Run) -> None:
    result = run("forget", "--customer", "Robin Okafor")
    assert result.exit_code == 2
    assert result.stdout.splitlines() == [
        "To be erased (customer 1):",
        "  1 recording (1.5 minutes, 0.0 MB)",
        "  words and findings of 1 walk-round, 1 of them not signed",
        "  1 order",
        "  1 customer",
    ]
    assert "Nothing was erased: add --yes" in result.stderr
    store = open_store(data)
    assert len(read_walkaround(store, "w1").walkaround.findings) == 1
    store.close()


def test_with_a_yes_it_is_gone_and_doctor_is_content(data: Path, run: Run) -> None:
    result = run("forget", "--customer", "1", "--by", "Ann", "--yes")
    assert (result.exit_code, result.stdout.splitlines()[-1]) == (0, "Erased. Backups made before still hold it.")
    store = open_store(data)
    assert read_walkaround(store, "w1").walkaround.findings == ()
    store.close()
    assert "Store: whole" in run("doctor").stdout
    again = run("forget", "--walkaround", "w1", "--yes")
    assert (again.exit_code, again.stdout) == (0, "There is nothing to erase.\n")
    assert not list((data / "audio").rglob("*.wav"))


def test_only_one_kind(data: Path, run: Run) -> None:
    result = run("forget", "--walkaround", "w1", "--what", "audio", "--yes")
    assert result.stdout.splitlines()[:-1] == ["To be erased (w1):", "  1 recording (1.5 minutes, 0.0 MB)"]


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ([], "Say once what to forget: --customer"),
        (["--customer", "1", "--due"], "Say once what to forget: --customer"),
        (["--customer", "Sam"], "There is no customer 'Sam' in the store"),
        (["--walkaround", "w9"], "There is no walkaround 'w9'"),
        (["--rule", "audio"], "'audio' is no rule; write audio=90"),
        (["--rule", "sound=90"], "'sound=90' is no rule; write audio=90"),
        (["--rule", "audio=0"], "retention audio"),
    ],
)
def test_wrong_use_is_told(line: list[str], said: str, data: Path, run: Run) -> None:
    result = run("forget", *line, "--yes")
    assert result.exit_code in (1, 2)
    assert said in result.stderr


def test_the_rule_is_set_and_applied(data: Path, run: Run) -> None:
    assert "The shop has no rule" in run("forget", "--due", "--yes").stdout
    result = run("forget", "--rule", "audio=90", "--rule", "words=always", "--due", "--yes")
    assert result.stdout.splitlines() == [
        "audio: kept for 90 days",
        "words: kept until forgotten",
        "estimates: kept until forgotten",
        "There is nothing to erase.",
    ]
    assert run("forget", "--older-than", "30", "--yes").stdout == "There is nothing to erase.\n"
