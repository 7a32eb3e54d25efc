"""Folders appear whole or not at all."""

import subprocess
import sys
from pathlib import Path

import pytest

from narrate.work.finished import place_folder, tidy_up


@pytest.fixture
def gone() -> int:
    """The number of a process that has ended."""
    with subprocess.Popen([sys.executable, "-c", ""]) as child:
        child.wait()
        return child.pid


def write(folder: Path) -> None:
    (folder / "findings.csv").write_text("new")


def test_a_folder_is_placed(tmp_path: Path) -> None:
    """What was written lies at its place and nothing else is left."""
    place_folder(tmp_path / "out" / "a", write)
    assert ["a"] == [path.name for path in (tmp_path / "out").iterdir()]
    assert "new" == (tmp_path / "out/a/findings.csv").read_text()


def test_a_former_folder_is_replaced_and_foreign_files_stay(tmp_path: Path) -> None:
    """A note that somebody put beside the findings is not thrown away with them."""
    former = tmp_path / "a"
    former.mkdir()
    (former / "findings.csv").write_text("old")
    (former / "note.txt").write_text("mine")
    place_folder(former, write)
    assert {"findings.csv": "new", "note.txt": "mine"} == {p.name: p.read_text() for p in former.iterdir()}
    assert ["a"] == [path.name for path in tmp_path.iterdir()]


def test_a_failed_write_changes_nothing(tmp_path: Path) -> None:
    """The former findings stay as they were."""
    place_folder(tmp_path / "a", write)

    def fail(folder: Path) -> None:
        (folder / "findings.csv").write_text("half")
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        place_folder(tmp_path / "a", fail)
    assert ["a"] == [path.name for path in tmp_path.iterdir()]
    assert "new" == (tmp_path / "a/findings.csv").read_text()


def test_what_a_dead_process_left_half_written_goes(tmp_path: Path, gone: int) -> None:
    """Its hidden folder is removed by the next run."""
    (tmp_path / f".a.{gone}-0123abcd.part").mkdir()
    tidy_up(tmp_path)
    assert [] == list(tmp_path.iterdir())


def test_what_a_dead_process_had_moved_aside_comes_back(tmp_path: Path, gone: int) -> None:
    """Killed between two renames, the former findings are not lost."""
    old = tmp_path / f".a.b.{gone}-0123abcd.old"
    old.mkdir()
    write(old)
    tidy_up(tmp_path)
    assert "new" == (tmp_path / "a.b/findings.csv").read_text()
    assert ["a.b"] == [path.name for path in tmp_path.iterdir()]


def test_what_is_being_written_now_is_left_alone(tmp_path: Path) -> None:
    """Another run at work in the same folder is not disturbed, nor are other hidden files."""
    with subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE) as child:
        (tmp_path / f".a.{child.pid}-0123abcd.part").mkdir()
        (tmp_path / ".notes").mkdir()
        tidy_up(tmp_path)
        assert 2 == len(list(tmp_path.iterdir()))
        child.kill()


def test_a_missing_folder_needs_no_tidying(tmp_path: Path) -> None:
    """The very first run has nothing to tidy up."""
    tidy_up(tmp_path / "none")
    assert not (tmp_path / "none").exists()
