"""Whoever changes the store behind narrate's back is found out."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from click.testing import CliRunner
from made_walkarounds import heard, walkaround, with_concern
from sqlalchemy import select, text

from narrate.cli.main import cli
from narrate.store import tables
from narrate.store.attachments import keep_attachment
from narrate.store.engine import FILE, Store
from narrate.store.events import append
from narrate.store.recordings import keep_recording, recording_file
from narrate.store.verifying import MOST, verify
from narrate.store.walkarounds import add_walkaround, change_walkaround, set_aside, undo


@pytest.fixture
def full(store: Store, tmp_path: Path) -> Store:
    """A store with two walkarounds, one of them changed, undone and set aside, a recording and the shop's rate."""
    sound = tmp_path / "bay.wav"
    sound.write_bytes(b"RIFF and so on")
    sha256 = keep_recording(store, sound, name="bay.wav", suffix=".wav", duration_s=2.0)
    for _ in range(2):
        add_walkaround(store, walkaround(recordings=(heard("r1", sha256=sha256),)), who="Dana")
    for word in ("squeals", "rattles"):
        change_walkaround(store, "w1", who="Pat", what="concern", make=lambda w, word=word: with_concern(w, word))
    with store.writing() as connection:
        append(connection, stream="shop", who="Pat", what="rate", body={"more": {"rate": "135.00"}})
    undo(store, "w1", who="Pat")
    set_aside(store, "w1", who="Pat", why="recorded twice")
    keep_attachment(store, "w2", b"a picture", kind="photo", suffix=".jpg", text="worn pads")
    return store


def behind(store: Store, *statements: str) -> None:
    """Do what narrate never would: change rows with triggers and foreign keys out of the way."""
    if store.engine.dialect.name == "postgresql":
        with store.writing() as connection:
            connection.execute(text("SET LOCAL session_replication_role = replica"))
            for statement in statements:
                connection.execute(text(statement))
        return
    with closing(sqlite3.connect(store.folder / FILE)) as plain, plain:
        for (name,) in plain.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            plain.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            plain.execute(statement)


def test_an_honest_store_holds_together(full: Store) -> None:
    """After all that is done to it by the front door."""
    assert [] == verify(full, deep=True)


@pytest.mark.parametrize(
    ("statement", "problem"),
    [
        ("UPDATE event SET who = 'Lee' WHERE number = 3", "Event 3 is not what was written."),
        ("UPDATE event SET at = '2020' WHERE number = 5", "Event 5 is not what was written."),
        ("UPDATE event SET previous = 'x' WHERE number = 4", "Event 4 does not follow the event before it"),
        ("DELETE FROM event WHERE number = 5", "The chain lacks event 5."),
        ("DELETE FROM event WHERE number IN (4, 5)", "The chain lacks events 4 to 5."),
        ("DELETE FROM event WHERE number = 7", "The last event of w1 is missing"),
        ("DELETE FROM event WHERE number = 1", "The chain lacks event 1."),
        (
            "UPDATE content SET body = '{}' WHERE digest = (SELECT content FROM event WHERE number = 5)",
            "What event 5 says is not what was written.",
        ),
        (
            "UPDATE content SET body = NULL WHERE digest = (SELECT content FROM event WHERE number = 5)",
            "What event 5 says is missing.",
        ),
        (
            "DELETE FROM content WHERE digest = (SELECT content FROM event WHERE number = 5)",
            "What event 5 says is missing.",
        ),
        (
            "UPDATE walkaround SET record = REPLACE(record, 'brake pads', 'brake disc') WHERE id = 2",
            "The record of w2 is not what its events add up to.",
        ),
        ("UPDATE walkaround SET state = 'signed' WHERE id = 1", "The record of w1 is not what its events add up to."),
        ("UPDATE walkaround SET revision = 1 WHERE id = 1", "its record was changed without one"),
        ("UPDATE walkaround SET record = '{' WHERE id = 2", "The record or the events of w2 cannot be read."),
        (
            "UPDATE heard SET record = REPLACE(record, 'three', 'eight') WHERE walkaround_id = 2",
            "The words of recording r1 of w2 are not those that were heard.",
        ),
        ("DELETE FROM heard WHERE walkaround_id = 1", "The words of recording r1 of w1 are missing."),
    ],
)
def test_a_changed_row_is_found(full: Store, statement: str, problem: str) -> None:
    """One sentence says which."""
    behind(full, statement)
    assert [each for each in verify(full) if problem in each], verify(full)


def test_a_lost_walkaround_is_found(full: Store) -> None:
    """Its events tell that it was there."""
    gone = (
        "DELETE FROM heard WHERE walkaround_id = 2",
        "DELETE FROM attachment",
        "DELETE FROM walkaround WHERE id = 2",
    )
    behind(full, *gone)
    assert ["There are events of w2, but its record is missing."] == verify(full)


def test_what_was_erased_is_no_problem(full: Store) -> None:
    """An erased body leaves the chain whole, and what it was is not asked for any more."""
    chosen = select(tables.event.c.content).where(tables.event.c.stream == "walkaround/1")
    with full.writing() as connection:
        erased = tables.content.update().where(tables.content.c.digest.in_(chosen))
        connection.execute(erased.values(body=None, erased_at="2026-11-27T10:00:00.000Z"))
    assert [] == verify(full)


@pytest.mark.parametrize(
    ("spoil", "deep", "problem"),
    [
        (Path.unlink, False, "is missing from the data folder"),
        (lambda path: path.write_bytes(b"RIFF"), False, "has 4 bytes instead of 14"),
        (lambda path: path.write_bytes(b"RIFF and so ON"), True, "is not what was kept"),
    ],
)
def test_a_spoiled_recording_is_found(full: Store, spoil: Callable[[Path], object], deep: bool, problem: str) -> None:
    """Gone, cut short, or, where all is read again, changed by a single letter."""
    with full.reading() as connection:
        path = recording_file(full, connection.scalar(select(tables.recording.c.sha256)))
    path.chmod(0o644)
    spoil(path)
    (told,) = verify(full, deep=deep)
    assert problem in told
    assert "bay.wav" in told


def test_a_lost_attachment_is_found(full: Store) -> None:
    """Pictures are evidence as well."""
    (picture,) = [path for path in (full.folder / "attachments").rglob("*") if path.is_file()]
    picture.unlink()
    assert ["The file of a1 is gone from the data folder; restore it from a backup."] == verify(full)


def test_a_wreck_is_not_told_row_by_row(full: Store) -> None:
    """A hundred problems are enough to know."""
    with full.writing() as connection:
        for _ in range(MOST + 5):
            append(connection, stream="shop", who="Pat", what="rate", body={})
    behind(full, "UPDATE event SET who = 'Lee'")
    problems = verify(full)
    assert MOST + 1 == len(problems)
    assert "more wrong than these 100" in problems[-1]


def test_the_doctor_tells(full: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """A sound store in one line with the head of the chain; a spoiled one with every problem, and exit code 1."""
    monkeypatch.setattr("narrate.cli.doctor.CHECKS", {})
    if full.engine.dialect.name == "postgresql":
        monkeypatch.setenv("NARRATE_STORE", full.engine.url.render_as_string(hide_password=False))
    told = CliRunner().invoke(cli, ["doctor", "--data", str(full.folder), "--thorough"])
    assert (0, True) == (told.exit_code, "Store: whole, in" in told.stdout), told.output
    assert "(7 events; the last one's digest begins " in told.stdout
    behind(full, "UPDATE event SET who = 'Lee' WHERE number IN (2, 3)")
    told = CliRunner().invoke(cli, ["doctor", "--data", str(full.folder)])
    assert 1 == told.exit_code
    assert "Store: WRONG. It does not hold together:\n  Event 2 is not what was written.\n  Event 3" in told.stdout


def test_the_doctor_makes_no_store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It only looks."""
    monkeypatch.setattr("narrate.cli.doctor.CHECKS", {})
    monkeypatch.delenv("NARRATE_STORE", raising=False)
    told = CliRunner().invoke(cli, ["doctor", "--data", str(tmp_path / "none")])
    assert (0, f"Store: none yet in {tmp_path / 'none'}.\nQueue: none yet.\n") == (told.exit_code, told.stdout)
    assert not (tmp_path / "none").exists()
