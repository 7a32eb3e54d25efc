"""Original recordings are kept whole, once, and never written again."""

import hashlib
import os
import stat
from pathlib import Path

import pytest
from made_walkarounds import heard, walkaround

from narrate.errors import MissingError, StoreError
from narrate.store.engine import Store
from narrate.store.recordings import keep_recording, kept_recording, recording_file, walkarounds_of
from narrate.store.walkarounds import add_walkaround

SOUND = bytes(range(256)) * 9_000
DIGEST = hashlib.sha256(SOUND).hexdigest()


@pytest.fixture
def source(tmp_path: Path) -> Path:
    path = tmp_path / "x;bay 2.M4A"
    path.write_bytes(SOUND)
    return path


def keep(store: Store, source: Path, name: str = "bay 2.m4a", suffix: str = ".M4A") -> str:
    return keep_recording(store, source, name=name, suffix=suffix, duration_s=61.4, video=False)


def test_a_recording_is_kept_byte_for_byte(store: Store, source: Path) -> None:
    """Under its digest, read-only, with nothing left over; the source stays where it was."""
    assert DIGEST == keep(store, source)
    path = recording_file(store, DIGEST)
    assert store.folder / "audio" / DIGEST[:2] / f"{DIGEST}.m4a" == path
    assert SOUND == path.read_bytes() == source.read_bytes()
    assert 0o444 == stat.S_IMODE(path.stat().st_mode)
    assert [path] == [each for each in (store.folder / "audio").rglob("*") if each.is_file()]
    known = kept_recording(store, DIGEST)
    assert ("bay 2.m4a", ".m4a", len(SOUND), 61.4) == (known.name, known.suffix, known.bytes, known.duration_s)
    assert not known.video


def test_the_same_again_is_the_one_there(store: Store, source: Path) -> None:
    """Whatever it is called now, the file is not touched and keeps its first name."""
    keep(store, source)
    path = recording_file(store, DIGEST)
    before = path.stat()
    assert DIGEST == keep(store, source, name="copy.mp4", suffix=".mp4")
    after = path.stat()
    assert (before.st_ino, before.st_mtime_ns) == (after.st_ino, after.st_mtime_ns)
    assert "bay 2.m4a" == kept_recording(store, DIGEST).name
    assert path == recording_file(store, DIGEST)


@pytest.mark.parametrize("suffix", ["", "m4a", ".m4a/../../x", ".", ".ü", "." + "a" * 20, "..", ".a\n"])
def test_a_strange_ending_never_becomes_a_path(store: Store, source: Path, suffix: str) -> None:
    """It is left out; the digest alone names the file."""
    keep(store, source, suffix=suffix)
    assert store.folder / "audio" / DIGEST[:2] / DIGEST == recording_file(store, DIGEST)


def test_a_damaged_one_is_told_and_left(store: Store, source: Path) -> None:
    """Never written over, even with the right bytes at hand."""
    keep(store, source)
    path = recording_file(store, DIGEST)
    path.chmod(0o644)
    path.write_bytes(b"short")
    with pytest.raises(StoreError, match="is damaged; restore it from a backup"):
        keep(store, source)
    assert b"short" == path.read_bytes()


def test_what_is_not_there_is_told(store: Store, source: Path) -> None:
    """Never kept, gone from the folder, or no file at all."""
    with pytest.raises(MissingError, match="no recording abababababab in the store"):
        recording_file(store, "ab" * 32)
    assert kept_recording(store, "ab" * 32) is None
    keep(store, source)
    recording_file(store, DIGEST).unlink()
    with pytest.raises(MissingError, match="gone from the data folder"):
        recording_file(store, DIGEST)
    with pytest.raises(StoreError, match="cannot be kept"):
        keep(store, source.with_name("none.wav"))


def test_a_full_disk_leaves_nothing_behind(store: Store, source: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No half file, no row."""

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(StoreError, match="No space left on device"):
        keep(store, source)
    assert [] == list((store.folder / "audio").iterdir())
    assert kept_recording(store, DIGEST) is None


def test_a_recording_knows_its_walkarounds(store: Store, source: Path) -> None:
    """Each once, the oldest first."""
    keep(store, source)
    assert () == walkarounds_of(store, DIGEST)
    given = walkaround(recordings=(heard("r1", sha256=DIGEST),))
    add_walkaround(store, walkaround(), who="Dana")
    add_walkaround(store, given, who="Dana")
    add_walkaround(store, given, who="Dana")
    assert ("w2", "w3") == walkarounds_of(store, DIGEST)
