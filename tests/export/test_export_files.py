"""All formats at once, and files that appear whole or not at all; the terminal's rows."""

import os
from pathlib import Path

import pytest

from narrate.atomic import write_atomically
from narrate.errors import NarrateError
from narrate.export.files import export_walkaround
from narrate.export.table import HEADINGS, findings_table
from narrate.records.walkaround import Walkaround


def test_every_format_is_written(walkaround: Walkaround, tmp_path: Path) -> None:
    """The folder is made, and holds the files told and nothing else."""
    folder = tmp_path / "new" / "out"
    paths = export_walkaround(walkaround, folder)
    names = ["findings.csv", "findings.xlsx", "findings.json", "findings.html", "findings.svg"]
    assert names == [path.name for path in paths]
    assert sorted(names) == sorted(path.name for path in folder.iterdir())


def test_a_folder_that_cannot_be_made_is_told(walkaround: Walkaround, tmp_path: Path) -> None:
    """A file in the way is a sentence, not a traceback."""
    (tmp_path / "file").write_text("", "utf-8")
    with pytest.raises(NarrateError, match="cannot be made"):
        export_walkaround(walkaround, tmp_path / "file" / "out")


def test_a_file_is_replaced_whole(tmp_path: Path) -> None:
    """The new content stands where the old one was, nothing is left beside it."""
    path = tmp_path / "a.txt"
    write_atomically(path, b"old")
    write_atomically(path, b"new")
    assert ([path], b"new") == (list(tmp_path.iterdir()), path.read_bytes())


def test_a_failed_write_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the disk refuses, the old file stays and the half one goes."""

    def refuse(_: int) -> None:
        raise OSError(28, "No space left on device")

    path = tmp_path / "a.txt"
    write_atomically(path, b"old")
    monkeypatch.setattr(os, "fsync", refuse)
    with pytest.raises(NarrateError, match=r"a\.txt cannot be written \(No space left on device\)"):
        write_atomically(path, b"new")
    assert ([path], b"old") == (list(tmp_path.iterdir()), path.read_bytes())


def test_the_terminal_shows_each_finding(walkaround: Walkaround) -> None:
    """A row a finding with a cell a heading, dropped ones left out, empty where nothing was said."""
    rows = findings_table(walkaround)
    assert [
        (
            "wheel bearing",
            "front right",
            "play (suspected)",
            "replace, otherwise adjust",
            "about 0.4 mm front right (above 0.1 mm, maker)",
            "before it is driven again",
            "1:09",
            "check: heard 'will bearing'; it could also be ball joint",
        ),
        (
            "tire",
            "rear left and rear right",
            "looked at and fine",
            "",
            "5 to 6/32 in",
            "",
            "1:15",
            "confirmed by a person",
        ),
        ("output shaft seal", "", "seeping (just starting)", "keep an eye on it", "", "", "", "sure"),
    ] == rows
    assert {len(HEADINGS)} == {len(row) for row in rows}
