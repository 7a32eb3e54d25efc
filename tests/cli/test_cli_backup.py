"""`narrate backup` and `narrate restore` from the command line."""

from pathlib import Path

import pytest
from cli_fakes import Run, fake_recording, fake_walkaround

from narrate.store.engine import FILE, open_store
from narrate.store.recordings import keep_recording
from narrate.store.walkarounds import add_walkaround


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """A store with a walk-round."""
    store = open_store(tmp_path / "data")
    file = tmp_path / "bay.wav"
    file.write_text("front pads worn", "utf-8")
    keep_recording(store, file, name="bay.wav", suffix=".wav", duration_s=90.0)
    add_walkaround(store, fake_walkaround([fake_recording(file)]), who="Dana")
    store.close()
    return tmp_path / "data"


def test_there_and_back(data: Path, run: Run, tmp_path: Path) -> None:
    made = run("backup", tmp_path / "shop.tar")
    assert (made.exit_code, made.stderr) == (0, "")
    assert made.stdout.startswith(f"{tmp_path / 'shop.tar'}: ")
    assert "2 files, up to event 1, whose digest begins " in made.stdout
    back = run("restore", tmp_path / "shop.tar", "--data", tmp_path / "again")
    assert back.stdout.startswith(f"{tmp_path / 'again'}: 2 files, 1 event, as of ")
    assert "Store: whole" in run("doctor", "--thorough", "--data", tmp_path / "again").stdout
    refused = run("restore", tmp_path / "shop.tar")
    assert (refused.exit_code, refused.stdout) == (2, "")
    assert f"{data} is not empty" in refused.stderr


def test_where_there_is_no_store_nothing_is_made(run: Run, tmp_path: Path) -> None:
    refused = run("backup", tmp_path / "shop.tar", "--data", tmp_path / "none")
    assert refused.exit_code == 2
    assert "There is no store in" in refused.stderr
    assert not (tmp_path / "none").exists()


def test_what_is_missing_is_said(data: Path, run: Run, tmp_path: Path) -> None:
    (sound,) = (data / "audio").rglob("*.wav")
    sound.unlink()
    made = run("backup", tmp_path / "shop.tar")
    assert f"The file {sound.name[:12]} is missing from the data folder." in made.stderr
    back = run("restore", tmp_path / "shop.tar", "--data", tmp_path / "again")
    assert back.exit_code == 1
    assert "does not hold together" in back.stderr
    assert (tmp_path / "again" / FILE).is_file()


def test_all_about_one_customer_or_vehicle_but_not_both(data: Path, run: Run, tmp_path: Path) -> None:
    refused = run("backup", tmp_path / "a.zip", "--only-customer", "1", "--only-vehicle", "7ABC")
    assert (refused.exit_code, refused.stderr) == (2, "Export a customer or a vehicle, one at a time.\n")
