"""A backup made while others write is whole, is put back whole or not at all, and overwrites nothing."""

import hashlib
import io
import json
import shutil
import stat
import tarfile
import threading
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

import pytest
from kept_estimates import estimate
from made_walkarounds import heard, walkaround, with_concern

from narrate.errors import StoreError, UsageError
from narrate.store import backing_up
from narrate.store.attachments import keep_attachment
from narrate.store.backing_up import back_up
from narrate.store.engine import Store, open_store
from narrate.store.estimates import add_estimate
from narrate.store.events import head
from narrate.store.forget_plan import ALL
from narrate.store.forgetting import forget, plan_walkaround
from narrate.store.people import add_person
from narrate.store.recordings import keep_recording
from narrate.store.restoring import restore
from narrate.store.signed_in import sign_in
from narrate.store.verifying import verify
from narrate.store.walkarounds import add_walkaround, change_walkaround, read_walkaround


@pytest.fixture
def again(store: Store, request: pytest.FixtureRequest) -> str | None:
    """Where the records are to be put back: an empty database, or None for the folder itself."""
    if store.engine.dialect.name == "sqlite":
        return None
    address: str = request.getfixturevalue("new_database")()
    return address


@pytest.fixture
def full(store: Store, tmp_path: Path) -> Store:
    """A store with recordings, a photo, an estimate, own words and somebody with a PIN."""
    add(store, tmp_path, "bay 1")
    keep_attachment(store, "w1", b"a picture", kind="photo", suffix=".jpg", text="worn pads")
    add_estimate(store, estimate(), who="Dana")
    (store.folder / "words.csv").write_text("words,component\n", "utf-8")
    add_person(store, name="Ann", role="owner", who="Ann", pin="4711")
    return store


def add(store: Store, folder: Path, name: str) -> str:
    file = folder / f"{name}.wav"
    file.write_bytes(f"sound of {name}".encode() * 999)
    sha256 = keep_recording(store, file, name=file.name, suffix=".wav", duration_s=2.0)
    return add_walkaround(store, walkaround(recordings=(heard("r1", sha256=sha256),)), who="Dana")


@contextmanager
def writers(store: Store, folder: Path, number: int = 3) -> Iterator[list[int]]:
    """Let others add and change walkarounds as fast as they can; the list tells how often they did."""
    done: list[int] = []
    over = threading.Event()
    failed: list[Exception] = []

    def write(which: int) -> None:
        while not over.is_set():
            try:
                id_ = add(store, folder, f"{which} {len(done)}")
                change_walkaround(store, id_, who="Pat", what="concern", make=lambda w: with_concern(w, "squeals"))
            except Exception as error:
                failed.append(error)
                return
            done.append(which)

    threads = [threading.Thread(target=write, args=(which,)) for which in range(number)]
    for thread in threads:
        thread.start()
    try:
        yield done
    finally:
        over.set()
        for thread in threads:
            thread.join()
    assert failed == []


def test_under_writes_it_is_whole_up_to_its_moment(full: Store, tmp_path: Path, again: str | None) -> None:
    with writers(full, tmp_path) as done:
        while len(done) < 5:
            pass
        before, _ = head(full)
        made = back_up(full, tmp_path / "shop.tar")
        written = len(done)
    assert made.problems == ()
    assert before <= made.events <= head(full)[0]
    assert written >= 5
    put_back = restore(tmp_path / "shop.tar", tmp_path / "again", again)
    assert (put_back.events, put_back.problems) == (made.events, ())
    with closing(open_store(tmp_path / "again", again)) as restored:
        assert [] == verify(restored, deep=True)
        assert head(restored) == (made.events, made.head)
        assert read_walkaround(restored, "w1").walkaround == read_walkaround(full, "w1").walkaround


def test_everything_is_in_it(full: Store, tmp_path: Path, again: str | None) -> None:
    """Own words, photos, PINs and what comes with them; and one can go on working with it."""
    back_up(full, tmp_path / "shop.tar")
    assert stat.S_IMODE((tmp_path / "shop.tar").stat().st_mode) == 0o600
    restore(tmp_path / "shop.tar", tmp_path / "again", again)
    assert (tmp_path / "again" / "words.csv").read_text("utf-8") == "words,component\n"
    recordings = list((tmp_path / "again" / "audio").rglob("*.wav"))
    assert [stat.S_IMODE(path.stat().st_mode) for path in recordings] == [0o444]
    with closing(open_store(tmp_path / "again", again)) as restored:
        assert sign_in(restored, 1, "4711", "desk")
        change_walkaround(restored, "w1", who="Pat", what="concern", make=lambda w: with_concern(w, "squeals"))
        assert add(restored, tmp_path, "bay 2") == "w2"
        assert [] == verify(restored, deep=True)


def test_a_store_that_is_there_is_never_overwritten(full: Store, tmp_path: Path, again: str | None) -> None:
    back_up(full, tmp_path / "shop.tar")
    with pytest.raises(UsageError, match="is not empty; name a new folder"):
        restore(tmp_path / "shop.tar", full.folder, again)
    assert [] == verify(full, deep=True)
    with pytest.raises(UsageError, match="is there already; give the backup another name"):
        back_up(full, tmp_path / "shop.tar")
    (tmp_path / "empty").mkdir()
    assert restore(tmp_path / "shop.tar", tmp_path / "empty", again).problems == ()
    if again:
        with pytest.raises(UsageError, match="The database that NARRATE_STORE names is not empty"):
            restore(tmp_path / "shop.tar", tmp_path / "another", again)
        with pytest.raises(UsageError, match="is of a postgresql store; set NARRATE_STORE"):
            restore(tmp_path / "shop.tar", tmp_path / "another")
    else:
        with pytest.raises(UsageError, match="is of a sqlite store; unset NARRATE_STORE"):
            restore(tmp_path / "shop.tar", tmp_path / "another", "postgresql://nowhere/none")
    assert not (tmp_path / "another").exists()


@pytest.mark.parametrize("when", ["before the database is copied", "after it was copied"])
def test_what_was_forgotten_meanwhile_does_not_come_back(
    when: str, full: Store, tmp_path: Path, again: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whether it was in the archive already, or came and went while that was written."""
    add_files, calls = backing_up._add_files, []

    def add_files_meanwhile(*given: Any) -> Any:
        calls.append(1)
        if when.startswith("after") and len(calls) == 2:
            forget(full, plan_walkaround(full, "w2", ALL), who="Pat")
        done = add_files(*given)
        if len(calls) == 1:
            add(full, tmp_path, "bay 2")
            if when.startswith("before"):
                forget(full, plan_walkaround(full, "w1", ALL), who="Pat")
        return done

    monkeypatch.setattr(backing_up, "_add_files", add_files_meanwhile)
    made = back_up(full, tmp_path / "shop.tar")
    assert made.problems == ()
    assert len(calls) == (2 if when.startswith("before") else 3)
    restore(tmp_path / "shop.tar", tmp_path / "again", again)
    with closing(open_store(tmp_path / "again", again)) as restored:
        assert [] == verify(restored, deep=True)
        assert len(list((tmp_path / "again" / "audio").rglob("*.wav"))) == 1


def test_damage_of_the_store_is_told_and_backed_up_as_it_is(full: Store, tmp_path: Path, again: str | None) -> None:
    (sound,) = (full.folder / "audio").rglob("*.wav")
    sound.chmod(0o644)
    sound.write_bytes(b"other".ljust(sound.stat().st_size))
    (photo,) = (full.folder / "attachments").rglob("*.jpg")
    photo.unlink()
    made = back_up(full, tmp_path / "shop.tar")
    assert made.problems == (
        f"The file {photo.name[:12]} is missing from the data folder.",
        f"The file {sound.name[:12]} is damaged; it is in the backup as it is.",
    )
    assert restore(tmp_path / "shop.tar", tmp_path / "again", again).problems == (
        "The file of a1 is gone from the data folder; restore it from a backup.",
    )


def test_a_full_disk_leaves_no_half_backup(full: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full_disk(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(tarfile.TarFile, "addfile", full_disk)
    with pytest.raises(StoreError, match=r"cannot be written \(No space left on device\); check"):
        back_up(full, tmp_path / "shop.tar")
    assert [path for path in tmp_path.iterdir() if "tar" in path.name] == []
    assert list((full.folder / "incoming").iterdir()) == []


def changed(file: Path, change: Callable[[dict[str, bytes]], None]) -> None:
    """Write an archive anew with other files in it."""
    with tarfile.open(file) as tar:
        members = {entry.name: stream.read() for entry in tar if (stream := tar.extractfile(entry))}
    change(members)
    with tarfile.open(file, "w") as tar:
        for name, data in members.items():
            entry = tarfile.TarInfo(name)
            entry.size = len(data)
            tar.addfile(entry, io.BytesIO(data))


def with_path(members: dict[str, bytes], name: str) -> None:
    manifest = json.loads(members["manifest.json"])
    members[name] = b"x"
    manifest["files"][name] = {"bytes": 1, "sha256": hashlib.sha256(b"x").hexdigest()}
    members["manifest.json"] = json.dumps(manifest).encode()


DAMAGES: list[tuple[Callable[[dict[str, bytes]], None], str]] = [
    (lambda members: members.update({"data/words.csv": b"words,componenT\n"}), "words.csv is not what was backed up"),
    (lambda members: members.pop("data/words.csv") and None, "words.csv is not in it as it should be"),
    (lambda members: members.pop("manifest.json") and None, "its manifest is missing or damaged"),
    (lambda members: members.update({"manifest.json": b"{"}), "its manifest is missing or damaged"),
    (lambda members: members.update({"manifest.json": b"{}"}), "is no narrate.backup/1; restore it"),
    (lambda members: with_path(members, "data/../../outside"), "outside is not in it as it should be"),
    (lambda members: with_path(members, "/tmp/outside"), "outside is not in it as it should be"),
    (lambda members: with_path(members, "data/narrate.sqlite3-wal"), "is not in it as it should be"),
]


@pytest.mark.parametrize(("change", "said"), DAMAGES, ids=[said for _, said in DAMAGES])
def test_a_damaged_backup_leaves_nothing_behind(
    change: Callable[[dict[str, bytes]], None], said: str, tmp_path: Path, sqlite_pattern: Path
) -> None:
    shutil.copytree(sqlite_pattern, tmp_path / "data")
    (tmp_path / "data" / "words.csv").write_text("words,component\n", "utf-8")
    with closing(open_store(tmp_path / "data")) as store:
        back_up(store, tmp_path / "shop.tar")
    changed(tmp_path / "shop.tar", change)
    with pytest.raises((StoreError, UsageError), match=said):
        restore(tmp_path / "shop.tar", tmp_path / "again")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["data", "shop.tar"]


def test_a_cut_off_backup_and_what_is_none(full: Store, tmp_path: Path) -> None:
    made = back_up(full, tmp_path / "shop.tar")
    whole = made.file.read_bytes()
    in_the_manifest = whole.rindex(b'"head"')
    for length in (0, 511, len(whole) // 3, in_the_manifest):
        (tmp_path / "cut.tar").write_bytes(whole[:length])
        with pytest.raises((StoreError, UsageError), match="whole backup"):
            restore(tmp_path / "cut.tar", tmp_path / "again")
    with pytest.raises(UsageError, match="There is no backup"):
        restore(tmp_path / "none.tar", tmp_path / "again")


def test_a_store_of_postgresql_needs_its_programs(full: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shutil, "which", lambda _: None)
    if full.engine.dialect.name == "sqlite":
        assert back_up(full, tmp_path / "shop.tar").files == 4
        return
    with pytest.raises(StoreError, match="needs the program pg_dump; install PostgreSQL's client programs"):
        back_up(full, tmp_path / "shop.tar")
