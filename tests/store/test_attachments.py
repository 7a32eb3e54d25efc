"""Attachments: kept whole beside their walkaround, the same bytes once."""

import pytest

from narrate.errors import MissingError, StoreError
from narrate.records.walkaround import MadeBy, Walkaround
from narrate.store.attachments import attachment_file, attachments_of, keep_attachment, kinds_of, read_attachment
from narrate.store.engine import Store
from narrate.store.walkarounds import add_walkaround


@pytest.fixture
def walkaround(store: Store) -> str:
    made_by = MadeBy(program="p", lexicon="l", settings="s")
    return add_walkaround(store, Walkaround(made_by=made_by), who="Ana")


def test_what_is_kept_comes_back(store: Store, walkaround: str) -> None:
    kept = keep_attachment(store, walkaround, b"picture", kind="photo", suffix=".jpg", text="left front pads")
    assert attachment_file(store, kept).read_bytes() == b"picture"
    assert (kept.kind, kept.type, kept.text, kept.walkaround) == ("photo", "image/jpeg", "left front pads", walkaround)
    assert read_attachment(store, kept.id) == kept
    assert attachments_of(store, walkaround) == (kept,)
    assert kinds_of(store, walkaround) == {kept.id: "photo"}


def test_the_same_bytes_are_one_attachment(store: Store, walkaround: str) -> None:
    first = keep_attachment(store, walkaround, b"sound", kind="clip", suffix=".ogg", text="a")
    assert keep_attachment(store, walkaround, b"sound", kind="clip", suffix=".ogg", text="b") == first
    other = keep_attachment(store, walkaround, b"other", kind="clip", suffix=".ogg", text="a")
    assert [each.id for each in attachments_of(store, walkaround)] == [first.id, other.id]


def test_a_walkaround_there_is_not_has_none(store: Store) -> None:
    with pytest.raises(MissingError, match="no walkaround"):
        keep_attachment(store, "w99", b"picture", kind="photo", suffix=".jpg", text="")


@pytest.mark.parametrize("id_", ["a1", "a0", "a99999999999", "12", "a-1", "a²", "", "../a1"])
def test_an_attachment_there_is_not_is_told(id_: str, store: Store) -> None:
    with pytest.raises(MissingError, match="no attachment"):
        read_attachment(store, id_)


def test_a_file_that_is_gone_is_told(store: Store, walkaround: str) -> None:
    kept = keep_attachment(store, walkaround, b"picture", kind="photo", suffix=".jpg", text="")
    attachment_file(store, kept).unlink()
    with pytest.raises(MissingError, match=f"{kept.id} is gone"):
        attachment_file(store, kept)


def test_what_cannot_be_written_leaves_no_trace(store: Store, walkaround: str) -> None:
    folder = store.folder / "attachments"
    folder.rmdir()
    folder.write_text("a file where the folder should be", "utf-8")
    with pytest.raises(StoreError, match="check the data folder"):
        keep_attachment(store, walkaround, b"picture", kind="photo", suffix=".jpg", text="")
    assert attachments_of(store, walkaround) == ()
