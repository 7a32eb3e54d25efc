"""Everything about one customer or vehicle, and nothing about anyone else."""

import csv
import io
import json
import stat
import struct
import wave
import zipfile
from pathlib import Path

import pytest
from kept_estimates import answered, estimate
from made_walkarounds import heard, walkaround, with_concern

from narrate.errors import MissingError, UsageError
from narrate.hear.audio import decode
from narrate.hear.pieces import CLUSTER, WEBM
from narrate.records.order import Customer, Order, OrderVehicle
from narrate.records.reviewed import Edit
from narrate.records.walkaround import Vehicle
from narrate.store.attachments import keep_attachment
from narrate.store.capture_marks import keep_photo
from narrate.store.captures import begin, begin_run, keep_piece
from narrate.store.engine import Store
from narrate.store.estimates import add_estimate, change_estimate
from narrate.store.events import read_events
from narrate.store.exporting import Exported, export_customer, export_vehicle
from narrate.store.jobs import queue_job
from narrate.store.orders import add_order, attach
from narrate.store.recordings import keep_recording
from narrate.store.walkarounds import add_walkaround, change_walkaround


@pytest.fixture
def full(store: Store, tmp_path: Path) -> Store:
    for name, plate in (("Robin Okafor", "7ABC 123"), ("Sam Lind", "8XYZ 999")):
        order = Order(
            number=f"R {name}",
            vehicle=OrderVehicle(plate=plate),
            customer=Customer(name=name, phone="555 0117" if name[0] == "R" else "555 0199"),
            concerns=("=it squeals",),
        )
        file = tmp_path / f"{name}: front.wav"
        file.write_bytes(name.encode())
        sha256 = keep_recording(store, file, name=file.name, suffix=".wav", duration_s=2.0)
        made = walkaround(recordings=(heard("r1", f"this is for {name}", sha256=sha256),), vehicle=Vehicle(plate=plate))
        id_ = add_walkaround(store, made, who="Dana")
        attach(store, id_, add_order(store, order, who="Dana"), who="Dana")
        keep_attachment(store, id_, name.encode(), kind="photo", suffix=".jpg", text=name)
    change_walkaround(store, "w1", who="Pat", what="concern", make=lambda w: with_concern(w, "squeals"))
    add_estimate(store, estimate(walkaround_id="w1"), who="Dana")
    change_estimate(store, "e1", who="Dana", what="answer", make=lambda e: answered(e, {"j1": "authorized"}))
    return store


def read(file: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(file) as archive:
        assert archive.testzip() is None
        return {name: archive.read(name) for name in archive.namelist()}


def test_all_about_a_customer_and_nothing_of_others(full: Store, tmp_path: Path) -> None:
    made = export_customer(full, "Robin Okafor", tmp_path / "robin.zip", who="Ann")
    assert made == Exported(orders=1, walkarounds=1, estimates=1, recordings=1)
    assert stat.S_IMODE((tmp_path / "robin.zip").stat().st_mode) == 0o600
    files = read(tmp_path / "robin.zip")
    recording = next(name for name in files if name.startswith("recordings/"))
    assert recording.endswith(" Robin Okafor_ front.wav")
    assert files[recording] == b"Robin Okafor"
    assert sorted(set(files) - {recording}) == [
        "READ ME.txt",
        "attachments/w1 a1.jpg",
        "customers.csv",
        "estimates/e1/estimate.csv",
        "estimates/e1/estimate.json",
        "estimates/e1/history.json",
        "orders.csv",
        "vehicles.csv",
        "walkarounds/w1/findings.csv",
        "walkarounds/w1/history.json",
        "walkarounds/w1/walkaround.json",
    ]
    whole = b"".join(files.values())
    assert b"Sam Lind" not in whole
    assert b"8XYZ" not in whole
    words = json.loads(files["walkarounds/w1/walkaround.json"])["recordings"][0]["words"]
    assert " ".join(word["text"] for word in words) == "this is for Robin Okafor"
    assert [each["what"] for each in json.loads(files["walkarounds/w1/history.json"])] == ["heard", "concern"]
    consent = json.loads(files["estimates/e1/estimate.json"])["consents"][0]
    assert (consent["who"], consent["words"]) == ("Robin Okafor", "go ahead")


def test_what_became_no_list_is_there_too(full: Store, tmp_path: Path) -> None:
    """Of his order: a recording that waits, one begun on a phone (with a piece that never came), and a photo."""
    waiting = tmp_path / "waiting.wav"
    waiting.write_bytes(b"waits to be heard")
    sha256 = keep_recording(full, waiting, name=waiting.name, suffix=".wav", duration_s=1.0)
    queue_job(full, [sha256], name="waiting", who="Dana", visit_id=1, total_s=1.0)
    for key, visit in (("a" * 32, 1), ("b" * 32, 2)):
        begin(full, key, visit_id=visit, device="a phone", started_at="2026-11-27T09:00:00Z", who="Dana")
        begin_run(full, key, 0, mime="audio/webm", started_at="2026-11-27T09:00:00Z")
        for number, data in ((0, WEBM + b"head" + CLUSTER + b"one"), (1, b"two"), (3, b"..." + CLUSTER + b"four")):
            keep_piece(full, key, 0, number, data, from_s=number, to_s=number + 1.0, sha256=None)
        keep_photo(full, key, "p1", b"a photo", run=0, at_s=1.0)
    made = export_customer(full, "Robin Okafor", tmp_path / "robin.zip", who="Ann")
    assert made.recordings == 4
    files = {name: data for name, data in read(tmp_path / "robin.zip").items() if name.startswith("not in a list/")}
    assert files == {
        f"not in a list/{sha256[:8]} waiting.wav": b"waits to be heard",
        "not in a list/aaaaaaaa 0-0.webm": WEBM + b"head" + CLUSTER + b"one" + b"two",
        "not in a list/aaaaaaaa 0-3.webm": WEBM + b"head" + CLUSTER + b"four",
        "not in a list/aaaaaaaa photo-p1.jpg": b"a photo",
    }


def test_tables_open_in_a_spreadsheet_without_running_anything(full: Store, tmp_path: Path) -> None:
    export_customer(full, "1", tmp_path / "robin.zip", who="Ann")
    files = read(tmp_path / "robin.zip")
    (order,) = csv.DictReader(io.StringIO(files["orders.csv"].decode(), newline=""))
    assert order["number"] == "R Robin Okafor"
    assert order["concerns"] == '["=it squeals"]'
    (customer,) = csv.DictReader(io.StringIO(files["customers.csv"].decode(), newline=""))
    assert (customer["name"], customer["phone"]) == ("Robin Okafor", "555 0117")


def test_all_about_a_vehicle_with_who_brought_it(full: Store, tmp_path: Path) -> None:
    made = export_vehicle(full, "8xyz-999", tmp_path / "truck.zip", who="Ann")
    assert made == Exported(orders=1, walkarounds=1, estimates=0, recordings=1)
    files = read(tmp_path / "truck.zip")
    assert "Sam Lind" in files["customers.csv"].decode()
    assert b"Okafor" not in b"".join(files.values())


def test_that_it_was_exported_is_told_without_names(full: Store, tmp_path: Path) -> None:
    export_customer(full, "Robin Okafor", tmp_path / "robin.zip", who="Ann")
    (told,) = read_events(full, "exports")
    assert (told.who, told.what, told.why) == ("Ann", "exported", "customer 1")
    assert told.more == {"orders": 1, "walkarounds": 1, "estimates": 1}


def test_nothing_is_overwritten_and_who_is_meant_must_be_clear(full: Store, tmp_path: Path) -> None:
    (tmp_path / "robin.zip").write_bytes(b"mine")
    with pytest.raises(UsageError, match="is there already"):
        export_customer(full, "1", tmp_path / "robin.zip", who="Ann")
    with pytest.raises(MissingError, match="There is no customer 'Robin'"):
        export_customer(full, "Robin", tmp_path / "other.zip", who="Ann")
    assert (tmp_path / "robin.zip").read_bytes() == b"mine"
    assert read_events(full, "exports") == ()


def test_what_was_cut_out_is_in_no_file_and_the_sound_is_silent_there(store: Store, tmp_path: Path) -> None:
    """Words, quotes and history without it; of the recording a copy that is silent there."""
    words = "front pads are worn and Mike owes me money"
    file = tmp_path / "bay.wav"
    with wave.open(str(file), "wb") as out:
        out.setparams((1, 2, 16_000, 0, "NONE", ""))
        out.writeframes(struct.pack("<16000h", *([9000] * 20 + [-9000] * 20) * 400) * 3)
    sha256 = keep_recording(store, file, name="bay.wav", suffix=".wav", duration_s=3.0)
    order = Order(number="R 1", customer=Customer(name="Robin Okafor"))
    id_ = add_walkaround(store, walkaround(recordings=(heard("r1", words, sha256=sha256),)), who="Dana")
    attach(store, id_, add_order(store, order, who="Dana"), who="Dana")
    cut = Edit(recording="r1", first_word=5, last_word=8, text="", cut=True, by="Ann")
    change_walkaround(store, id_, who="Ann", what="cut_out", make=lambda w: w.model_copy(update={"edits": (cut,)}))
    export_customer(store, "Robin Okafor", tmp_path / "robin.zip", who="Ann")
    files = read(tmp_path / "robin.zip")
    assert not [name for name, content in files.items() if b"Mike" in content or b"owes" in content]
    assert "cut_out" in files["walkarounds/w1/history.json"].decode()
    (name,) = [name for name in files if name.startswith("recordings/")]
    assert name.endswith(" bay, cut.ogg")
    (tmp_path / "cut.ogg").write_bytes(files[name])
    samples = decode(tmp_path / "cut.ogg", min_duration_s=0.1, max_duration_s=60.0).samples
    assert abs(samples[int(1.8 * 16_000) : int(2.9 * 16_000)]).max() < 0.01
    assert abs(samples[int(0.2 * 16_000) : int(1.5 * 16_000)]).max() > 0.1
