"""Pieces that phones send: kept once, ended once, and known to whoever forgets, backs up and checks."""

import threading
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from made_walkarounds import heard, walkaround

from narrate.errors import ConflictError, MissingError, UsageError
from narrate.records.capture import Mark
from narrate.records.order import Customer, Order
from narrate.store.attachments import keep_attachment
from narrate.store.backing_up import back_up
from narrate.store.capture_ends import become_job, drop_pieces
from narrate.store.capture_marks import (
    keep_mark,
    keep_photo,
    marks_of,
    photo_attached,
    photo_file,
    photos_of,
    waiting_photos,
)
from narrate.store.captures import (
    begin,
    begin_run,
    capture_of_job,
    captures_with,
    folder_of,
    keep_piece,
    piece_file,
    read_capture,
)
from narrate.store.engine import Store, open_store
from narrate.store.forget_plan import ALL
from narrate.store.forgetting import forget, plan_customer, plan_walkaround
from narrate.store.jobs import claim, finish, list_jobs, read_job
from narrate.store.orders import add_order, list_orders
from narrate.store.recordings import keep_recording
from narrate.store.restoring import restore
from narrate.store.retention import plan_before
from narrate.store.verifying import verify
from narrate.store.walkarounds import add_walkaround

KEY, OTHER = "0123456789abcdef" * 2, "fedcba9876543210" * 2
AT = "2026-11-27T09:00:00.000Z"
MARK = Mark(id="m1", what="take_back", at_s=1.5, said="strike that")


def spoken(store: Store, key: str = KEY, *, visit_id: int | None = None, count: int = 3) -> None:
    """A capture of one run with some pieces."""
    begin(store, key, visit_id=visit_id, device="a phone", started_at=AT, who="Ana")
    begin_run(store, key, 0, mime="audio/webm", started_at=AT)
    for number in range(count):
        keep(store, number, key=key)


def keep(store: Store, number: int, data: bytes | None = None, *, key: str = KEY) -> float:
    return keep_piece(
        store, key, 0, number, data or f"piece {number}".encode(), from_s=number, to_s=number + 1, sha256=None
    )


def ended(store: Store, tmp_path: Path, *, key: str = KEY, pieces: int = 3, kept: tuple[int, ...] = ()) -> int | None:
    """Make a job of a capture, as if its pieces had been joined."""
    file = tmp_path / f"{key}.webm"
    file.write_bytes(f"sound of {key}".encode())
    recording = keep_recording(store, file, name="spoken.webm", suffix=".webm", duration_s=3.0)
    told = {"recordings": [{"places": [], "gaps": []}], "kept": [[run, 1, 2] for run in kept]}
    return become_job(store, key, [recording], name="spoken", total_s=3.0, pieces=pieces, told=told, who="Ana")


def listed(store: Store, key: str) -> str:
    """The walkaround that a capture's job becomes."""
    job = claim(store, "bench")
    assert job is not None
    made = walkaround(recordings=(heard("r1", sha256=job.recordings[0]),))
    finish(store, job, made, "Ana")
    return read_capture(store, key).walkaround or ""


def test_pieces_are_there_when_it_says_so(store: Store, open_again: Callable[[], Store]) -> None:
    spoken(store, count=2)
    assert keep(store, 2) == 3.0
    assert keep(store, 2) == 3.0, "sent twice it is there once"
    capture = read_capture(open_again(), KEY)
    assert (capture.state, capture.safe_s, capture.device) == ("open", 3.0, "a phone")
    assert capture.runs[0].spans == [(0, 2)]
    assert [piece_file(store, KEY, 0, number).read_bytes() for number in range(3)] == [
        b"piece 0",
        b"piece 1",
        b"piece 2",
    ]
    keep(store, 5)
    assert read_capture(store, KEY).runs[0].spans == [(0, 2), (5, 5)]
    assert [] == verify(store, deep=True)


def test_what_is_no_piece_is_refused(store: Store) -> None:
    spoken(store)
    with pytest.raises(ConflictError, match="Another piece is here under this number"):
        keep(store, 1, b"others")
    with pytest.raises(UsageError, match="This is no piece of a recording"):
        keep(store, -1)
    with pytest.raises(UsageError, match="This is no key of a recording"):
        begin(store, "../etc", visit_id=None, device="", started_at=AT, who="Ana")
    with pytest.raises(MissingError, match="There is no such recording here"):
        keep(store, 0, key=OTHER)
    with pytest.raises(UsageError, match="This is no name of a mark or a photo"):
        keep_photo(store, KEY, "../x", b"picture", run=0, at_s=1.0)
    assert piece_file(store, KEY, 0, 1).read_bytes() == b"piece 1"


def test_one_piece_sent_twice_at_once_is_one(store: Store) -> None:
    """Of two that differ one is kept, and the other's sender is told."""
    spoken(store, count=0)
    refused: list[bytes] = []

    def send(data: bytes) -> None:
        try:
            keep(store, 0, data)
        except ConflictError:
            refused.append(data)

    senders = [threading.Thread(target=send, args=(data,)) for data in (b"one", b"two") * 4]
    for each in senders:
        each.start()
    for each in senders:
        each.join()
    assert len(set(refused)) == 1
    assert piece_file(store, KEY, 0, 0).read_bytes() not in refused
    assert [] == verify(store, deep=True)


def test_it_ends_once_and_only_with_all_that_came(store: Store, tmp_path: Path) -> None:
    spoken(store)
    assert ended(store, tmp_path, pieces=2) is None, "a piece came while two were joined"
    assert read_capture(store, KEY).state == "open"
    number = ended(store, tmp_path)
    assert number is not None
    assert ended(store, tmp_path) == number
    assert len(list_jobs(store)) == 1
    capture = capture_of_job(store, number)
    assert capture is not None
    assert (capture.key, capture.state) == (KEY, "queued")
    with pytest.raises(ConflictError, match="This recording was ended; begin a new recording"):
        keep(store, 3)
    drop_pieces(store, KEY)
    assert not folder_of(store, KEY).exists()
    assert [] == verify(store, deep=True)
    assert captures_with(store) == ()
    assert listed(store, KEY) == "w1"
    assert read_capture(store, KEY).state == "done"


def test_the_order_may_be_told_later(store: Store) -> None:
    visit = add_order(store, Order(number="R-1"), who="Dana")
    spoken(store)
    assert read_capture(store, KEY).visit_id is None
    begin(store, KEY, visit_id=visit, device="a phone", started_at=AT, who="Ana")
    assert read_capture(store, KEY).visit_id == visit
    assert read_capture(store, KEY).safe_s == 3.0


def test_marks_and_photos_wait_for_their_walkaround(store: Store, tmp_path: Path) -> None:
    spoken(store)
    keep_mark(store, KEY, MARK, 0)
    keep_mark(store, KEY, MARK.model_copy(update={"undone": True}), 0)
    assert [(run, mark.undone) for run, mark in marks_of(store, KEY)] == [(0, True)]
    keep_photo(store, KEY, "p1", b"picture", run=0, at_s=1.0)
    assert waiting_photos(store) == (), "nobody can have a photo of what was not heard yet"
    ended(store, tmp_path)
    id_ = listed(store, KEY)
    assert [each.id for each in waiting_photos(store)] == ["p1"]
    kept = keep_attachment(store, id_, photo_file(store, KEY, "p1").read_bytes(), kind="photo", suffix=".jpg", text="")
    photo_attached(store, KEY, "p1", int(kept.id[1:]))
    assert waiting_photos(store) == ()
    assert [each.attachment_id for each in photos_of(store, KEY)] == [int(kept.id[1:])]
    assert not photo_file(store, KEY, "p1").exists()


def test_the_doctor_misses_pieces_and_photos(store: Store) -> None:
    spoken(store)
    keep_photo(store, KEY, "p1", b"picture", run=0, at_s=1.0)
    piece_file(store, KEY, 0, 0).unlink()
    piece_file(store, KEY, 0, 1).write_bytes(b"xxxxx y")
    photo_file(store, KEY, "p1").unlink()
    assert [each.split(";")[0] for each in verify(store)] == [
        "Piece 0 of run 0 of the recording 0123456789ab is gone from the data folder or damaged",
        "A photo of the recording 0123456789ab is gone or damaged",
    ]
    assert len(verify(store, deep=True)) == 3


def test_a_backup_holds_what_is_still_to_be_joined(
    store: Store, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    spoken(store)
    spoken(store, OTHER)
    keep_photo(store, OTHER, "p1", b"picture", run=0, at_s=1.0)
    ended(store, tmp_path, key=OTHER)
    drop_pieces(store, OTHER)
    (folder_of(store, KEY) / "run-0" / ".stray.part").write_bytes(b"of nobody")
    assert back_up(store, tmp_path / "all.tar").problems == ()
    url = None if store.engine.dialect.name == "sqlite" else request.getfixturevalue("new_database")()
    restore(tmp_path / "all.tar", tmp_path / "again", url)
    again = open_store(tmp_path / "again", url)
    assert [] == verify(again, deep=True)
    names = sorted(path.relative_to(again.folder).as_posix() for path in (again.folder / "captures").rglob("*.*"))
    assert names == [f"captures/{OTHER}/photo-p1.jpg"]
    assert [path.name for path in sorted((folder_of(again, KEY) / "run-0").iterdir())] == [
        "0000000",
        "0000001",
        "0000002",
    ]
    assert keep_piece(again, KEY, 0, 3, b"more", from_s=3, to_s=4, sha256=None) == 4.0
    again.close()


def test_a_customer_is_forgotten_with_what_was_not_ended(store: Store) -> None:
    visit = add_order(store, Order(number="R-1", customer=Customer(name="Robin Okafor")), who="Dana")
    spoken(store, visit_id=visit)
    spoken(store, OTHER)
    keep_mark(store, KEY, MARK, 0)
    keep_photo(store, KEY, "p1", b"picture", run=0, at_s=1.0)
    plan = plan_customer(store, "Robin Okafor", ALL)
    assert plan.captures == (KEY,)
    forget(store, plan, who="Pat")
    assert not list(folder_of(store, KEY).rglob("*.*"))
    assert not [path for path in folder_of(store, KEY).rglob("*") if path.is_file()]
    with pytest.raises(MissingError):
        read_capture(store, KEY)
    assert list_orders(store) == ()
    assert read_capture(store, OTHER).safe_s == 3.0
    assert [] == verify(store, deep=True)


def test_a_list_is_forgotten_with_what_its_capture_told(store: Store, tmp_path: Path) -> None:
    """Marks hold words; photos attached and waiting go with them. Forgetting the sound alone leaves both."""
    spoken(store)
    keep_mark(store, KEY, MARK, 0)
    for name in ("p1", "p2"):
        keep_photo(store, KEY, name, name.encode(), run=0, at_s=1.0)
    ended(store, tmp_path)
    drop_pieces(store, KEY)
    id_ = listed(store, KEY)
    kept = keep_attachment(store, id_, b"p1", kind="photo", suffix=".jpg", text="")
    photo_attached(store, KEY, "p1", int(kept.id[1:]))
    forget(store, plan_walkaround(store, id_, ("audio",)), who="Pat")
    assert [each.id for each in waiting_photos(store)] == ["p2"]
    assert len(marks_of(store, KEY)) == 1
    forget(store, plan_walkaround(store, id_, ALL), who="Pat")
    with pytest.raises(MissingError):
        read_capture(store, KEY)
    assert not photo_file(store, KEY, "p2").exists()
    assert [] == verify(store, deep=True)


def test_a_photo_may_be_forgotten_before_its_capture(store: Store, tmp_path: Path) -> None:
    """An attachment goes by the shop's rule for words, while another list needs the same recording."""
    spoken(store)
    keep_photo(store, KEY, "p1", b"p1", run=0, at_s=1.0)
    ended(store, tmp_path)
    listed(store, KEY)
    other = add_walkaround(store, walkaround(recordings=(heard("r1"),)), who="Ana")
    kept = keep_attachment(store, other, b"p1", kind="photo", suffix=".jpg", text="")
    photo_attached(store, KEY, "p1", int(kept.id[1:]))
    forget(store, plan_walkaround(store, other, ("words",)), who="Pat")
    assert photos_of(store, KEY) == ()
    assert read_capture(store, KEY).state == "done"


def test_the_rule_for_sound_takes_what_was_never_ended(store: Store, tmp_path: Path) -> None:
    visit = add_order(store, Order(number="R-1"), who="Dana")
    spoken(store, visit_id=visit)
    spoken(store, OTHER)
    ended(store, tmp_path, key=OTHER, kept=(0,))
    drop_pieces(store, OTHER, but=(0,))
    assert piece_file(store, OTHER, 0, 1).is_file(), "what could not be joined stays"
    later = datetime.now(UTC) + timedelta(days=91)
    assert plan_before(store, "audio", 92, at=later).is_empty
    words = plan_before(store, "words", 90, at=later)
    assert words.visits == (), "an order that somebody is speaking for is not idle"
    plan = plan_before(store, "audio", 90, at=later)
    assert set(plan.captures) == {KEY, OTHER}
    forget(store, plan, who="the shop's rule")
    assert [path for path in (store.folder / "captures").rglob("*") if path.is_file()] == []
    assert read_job(store, 1).state == "waiting", "what is still to be heard stays"
    assert plan_before(store, "words", 90, at=later).visits == (visit,)
    assert [] == verify(store, deep=True)
