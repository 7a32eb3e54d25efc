"""What is forgotten is gone, from tables, files and the database's own pages, and the chain still holds."""

import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import pytest
from kept_estimates import answered, estimate
from made_walkarounds import heard, walkaround, with_concern
from sqlalchemy import select, text

from narrate.errors import MissingError, StoreError, UsageError
from narrate.records.order import Customer, Order, OrderVehicle
from narrate.records.walkaround import Vehicle
from narrate.store import forgetting
from narrate.store.attachments import attachments_of, keep_attachment
from narrate.store.engine import Store
from narrate.store.estimates import add_estimate, change_estimate, read_estimate
from narrate.store.estimates import undo as undo_estimate
from narrate.store.events import read_events
from narrate.store.forget_plan import ALL
from narrate.store.forgetting import finish_forgetting, forget, plan_customer, plan_vehicle, plan_walkaround
from narrate.store.jobs import claim, finish, list_jobs, queue_job
from narrate.store.links import LinkError, estimate_by_link, new_link
from narrate.store.listing import find_walkarounds
from narrate.store.orders import add_order, attach, change_order, list_orders
from narrate.store.recordings import keep_recording, kept_recording
from narrate.store.tables import metadata
from narrate.store.verifying import verify
from narrate.store.walkarounds import (
    add_walkaround,
    change_walkaround,
    history,
    join_walkarounds,
    read_walkaround,
    undo,
    what_can_be_undone,
)

SECRETS = ("Okafor", "zebrawood", "7ABC123", "1FTEW1E50PFA00001", "flamingo", "555 0117", "marmalade", "F-150")
"""What was said, written and typed about one customer; none of it may be left."""


def sound(store: Store, tmp_path: Path, name: str) -> str:
    file = tmp_path / name
    file.write_bytes(f"sound of {name}, marmalade".encode())
    return keep_recording(store, file, name=name, suffix=".wav", duration_s=61.4)


def order(name: str, number: str, plate: str, vin: str | None = None) -> Order:
    vehicle = OrderVehicle(vin=vin, plate=plate, make="Ford", model="F-150")
    return Order(number=number, vehicle=vehicle, customer=Customer(name=name), concerns=("it smells of flamingo",))


@pytest.fixture
def full(store: Store, tmp_path: Path) -> Store:
    """Robin's order with recording, walkaround, correction, photo, clip, estimate and answer; and Sam's."""
    robin = add_order(store, order("Robin Okafor", "R-1", "7ABC 123", "1FTEW1E50PFA00001"), who="Dana")
    sam = add_order(store, order("Sam Lind", "R-2", "8XYZ 999"), who="Dana")
    for visit, name in ((robin, "okafor front.wav"), (sam, "bay.wav")):
        sha256 = sound(store, tmp_path, name)
        queue_job(store, [sha256], name=name, who="Dana", visit_id=visit, total_s=61.4)
        words = "the zebrawood trim is loose" if visit == robin else "front pads are at three"
        vehicle = {} if visit == robin else {"vehicle": Vehicle(plate="8XYZ 999"), "order_number": "R-2"}
        made = walkaround(recordings=(heard("r1", words, sha256=sha256),), **vehicle)
        job = claim(store, "bench")
        assert job is not None
        finish(store, job, made, "Dana", vehicle_id=visit)
    change_walkaround(store, "w1", who="Pat", what="concern", make=lambda w: with_concern(w, "flamingo smell"))
    keep_attachment(store, "w1", b"a marmalade picture", kind="photo", suffix=".jpg", text="zebrawood")
    keep_attachment(store, "w1", b"a marmalade clip", kind="clip", suffix=".ogg", text="okafor front.wav at 0:02")
    add_estimate(store, estimate(walkaround_id="w1"), who="Dana")
    change_estimate(store, "e1", who="Dana", what="answer", make=lambda e: answered(e, {"j1": "authorized"}))
    return store


def everything(store: Store) -> str:
    """All rows of all tables, and all files beside the database, as one text."""
    with store.reading() as connection:
        rows = [str(tuple(row)) for table in metadata.sorted_tables for row in connection.execute(select(table))]
    files = [path.read_bytes().decode("latin-1") for path in store.folder.rglob("*") if path.is_file()]
    names = [path.name for path in store.folder.rglob("*")]
    return "\n".join(rows + names + files)


def found(store: Store) -> list[str]:
    return [secret for secret in SECRETS if secret.casefold() in everything(store).casefold()]


def test_a_customer_is_forgotten_wholly(full: Store) -> None:
    """Not a word of them is left, in rows, events, files or free pages of the database; Sam's things are as before."""
    before = read_walkaround(full, "w2").walkaround
    assert set(found(full)) == set(SECRETS)
    plan = plan_customer(full, "robin okafor", ALL)
    assert (len(plan.recordings), len(plan.cuts), len(plan.photos), plan.sound_s) == (1, 1, 1, 61.4)
    assert (plan.walkarounds, plan.unsigned, plan.estimates) == ((1,), 1, (1,))
    assert (plan.visits, plan.vehicles, plan.customers) == ((1,), (1,), (1,))
    assert set(found(full)) == set(SECRETS), "a plan changes nothing"
    forget(full, plan, who="Pat")
    # Sam's recording and its truck are called by the same words.
    assert set(found(full)) <= {"marmalade", "F-150", "flamingo"}
    forget(full, plan_customer(full, "Sam Lind", ("audio",)), who="Pat")
    assert "marmalade" not in everything(full)
    assert [] == verify(full, deep=True)
    assert before == read_walkaround(full, "w2").walkaround
    with pytest.raises(MissingError, match="There is no customer 'Robin Okafor'"):
        plan_customer(full, "Robin Okafor", ALL)
    assert [each.order.number for each in list_orders(full)] == ["R-2"]
    assert ["w2"] == [listed.id for listed in find_walkarounds(full)]


def test_what_was_done_is_told_without_the_content(full: Store) -> None:
    forget(full, plan_customer(full, "1", ALL), who="Pat")
    (told,) = read_events(full, "forgetting")
    assert (told.who, told.what, told.why) == ("Pat", "forgotten", "customer 1")
    assert told.more["what"] == ["audio", "words", "estimates"]
    assert told.more["counts"] == {
        "recordings": 1, "cuts": 1, "photos": 1, "walkarounds": 1, "estimates": 1, "visits": 1, "vehicles": 1,
        "customers": 1,
    }  # fmt: skip
    for stream in ("walkaround/1", "estimate/1", "order/1", "vehicle/1", "customer/1"):
        events = read_events(full, stream)
        assert events[-1].what == "forgotten"
        assert all((each.model_extra or {}).get("erased") for each in events[:-1])


def test_the_page_finds_an_empty_list(full: Store) -> None:
    """What was emptied can be read, is aside, and nothing of it can be taken back."""
    forget(full, plan_customer(full, "1", ALL), who="Pat")
    held = read_walkaround(full, "w1")
    assert (held.state, held.walkaround.findings, held.walkaround.vehicle) == ("set_aside", (), Vehicle())
    assert [(each.name, each.words) for each in held.walkaround.recordings] == [("recording r1", ())]
    assert held.walkaround.ids_used["f"] == 2, "ids are never used again"
    assert what_can_be_undone(full, "w1") == (None, None)
    with pytest.raises(UsageError):
        undo(full, "w1", who="Pat")
    assert read_estimate(full, "e1").state == "set_aside"
    with pytest.raises(UsageError):
        undo_estimate(full, "e1", who="Pat")
    assert len(history(full, "w1")) >= 3
    assert [job.name for job in list_jobs(full)] == ["bay.wav", "forgotten"]


def test_sound_alone(full: Store) -> None:
    """The recording and the clip go; words, findings and the photo stay, and can go on being corrected."""
    plan = plan_walkaround(full, "w1", ("audio",))
    assert (plan.walkarounds, plan.photos, plan.estimates, plan.visits) == ((), (), (), ())
    forget(full, plan, who="Pat")
    held = read_walkaround(full, "w1")
    assert len(held.walkaround.recordings[0].words) == 5
    assert kept_recording(full, held.walkaround.recordings[0].sha256 or "") is None
    assert [each.kind for each in attachments_of(full, "w1")] == ["photo"]
    undo(full, "w1", who="Pat")
    assert [each.id for each in read_walkaround(full, "w1").walkaround.concerns] == ["c1"]
    assert [] == verify(full, deep=True)
    files = [path.read_bytes() for path in full.folder.rglob("*") if path.is_file() and "sqlite" not in path.name]
    assert b"sound of okafor front.wav, marmalade" not in files
    assert plan_walkaround(full, "w1", ("audio",)).is_empty


def test_words_alone_leave_sound_and_estimate(full: Store) -> None:
    plan = plan_walkaround(full, "w1", ("words",))
    assert plan.recordings == plan.estimates == plan.visits == ()
    forget(full, plan, who="Pat")
    assert "zebrawood" not in everything(full)
    assert read_estimate(full, "e1").state == "offered"
    sha256 = read_walkaround(full, "w1").walkaround.recordings[0].sha256
    assert kept_recording(full, sha256 or "") is not None
    assert [] == verify(full, deep=True)
    forget(full, plan_customer(full, "1", ALL), who="Pat")
    assert set(found(full)) <= {"flamingo", "marmalade", "F-150"}
    assert [] == verify(full, deep=True)


def test_a_change_behind_narrates_back_is_still_found(full: Store) -> None:
    """The record that was emptied is checked like any other."""
    forget(full, plan_customer(full, "1", ALL), who="Pat")
    with full.writing() as connection:
        connection.execute(text("UPDATE walkaround SET record = replace(record, '\"us\"', '\"gb\"') WHERE id = 1"))
        connection.execute(text("UPDATE estimate SET record = replace(record, 'USD', 'EUR') WHERE id = 1"))
    assert verify(full) == [
        "The record of w1 is not what its events add up to.",
        "The record of e1 is not what its events add up to.",
    ]


def test_a_recording_that_others_need_is_kept(store: Store, tmp_path: Path) -> None:
    sha256 = sound(store, tmp_path, "two cars.wav")
    for _ in range(2):
        add_walkaround(store, walkaround(recordings=(heard("r1", sha256=sha256),)), who="Dana")
    plan = plan_walkaround(store, "w1", ALL)
    assert (plan.recordings, plan.shared) == ((), (sha256,))
    forget(store, plan, who="Pat")
    assert kept_recording(store, sha256) is not None
    assert [] == verify(store, deep=True)
    plan = plan_walkaround(store, "w2", ALL)
    assert (plan.recordings, plan.walkarounds) == ((sha256,), (2,))
    forget(store, plan, who="Pat")
    assert "pads" not in everything(store)
    assert [] == verify(store, deep=True)


def test_what_was_joined_goes_together(store: Store, tmp_path: Path) -> None:
    first, second = (sound(store, tmp_path, f"{name}.wav") for name in "ab")
    for sha256 in (first, second):
        add_walkaround(store, walkaround(recordings=(heard("r1", sha256=sha256),)), who="Dana")

    def both(one, other):
        moved = other.recordings[0].model_copy(update={"id": "r2"})
        return one.model_copy(update={"recordings": (*one.recordings, moved)})

    join_walkarounds(store, "w1", "w2", who="Dana", make=both)
    plan = plan_walkaround(store, "w1", ALL)
    assert (plan.walkarounds, set(plan.recordings)) == ((1, 2), {first, second})
    forget(store, plan, who="Pat")
    assert "pads" not in everything(store)
    assert [] == verify(store, deep=True)


def test_a_vehicle_by_plate_also_where_nobody_linked_it(store: Store) -> None:
    add_walkaround(store, walkaround(), who="Dana")
    add_walkaround(store, walkaround(vehicle=Vehicle(plate="7ABC 1234")), who="Dana")
    assert plan_vehicle(store, "7abc-123", ALL).walkarounds == (1,)
    assert plan_vehicle(store, "1ftew1e50pfa00001", ALL).walkarounds == (1,)
    with pytest.raises(MissingError, match="Nothing in the store is about a vehicle '7ABC'"):
        plan_vehicle(store, "7ABC", ALL)
    with pytest.raises(UsageError, match="neither a VIN nor a plate"):
        plan_vehicle(store, " - ", ALL)


def test_a_vehicle_that_came_for_two_people_stays_when_one_is_forgotten(store: Store) -> None:
    for name, number in (("Robin Okafor", "R-1"), ("Sam Lind", "R-2")):
        told = order(name, number, "7ABC 123", "1FTEW1E50PFA00001")
        visit = add_order(store, told, who="Dana")
        attach(store, add_walkaround(store, walkaround(), who="Dana"), visit, who="Dana")
    plan = plan_customer(store, "Robin Okafor", ALL)
    assert (plan.walkarounds, plan.visits, plan.vehicles) == ((1,), (1,), ())
    forget(store, plan, who="Pat")
    assert "Okafor" not in everything(store)
    assert read_walkaround(store, "w2").vehicle_id == 1
    assert [] == verify(store)


def test_an_order_that_was_theirs_by_mistake_tells_nothing_of_them(store: Store) -> None:
    """What its history said of them goes; the order, and the orders of a namesake, stay with all they say."""
    wrong = Order(number="R-1", customer=Customer(name="Robin Okafor", phone="555 0117"))
    visit = add_order(store, wrong, who="Dana")
    change_order(store, visit, Order(number="R-1", customer=Customer(name="Sam Lind")), who="Dana")
    add_order(store, Order(number="R-2", customer=Customer(name="Robin Okafor", phone="555 0118")), who="Dana")
    forget(store, plan_customer(store, "1", ALL), who="Pat")
    assert "555 0117" not in everything(store)
    assert "Okafor" not in "".join(str(event) for event in read_events(store, "order/1"))
    assert "Sam Lind" in "".join(str(order) for order in list_orders(store))
    assert "555 0118" in str(read_events(store, "order/2")[0].changes)
    assert [] == verify(store)


def test_namesakes_are_not_mixed_up(store: Store) -> None:
    for number, phone in (("R-1", "555 0117"), ("R-2", "555 0118")):
        told = Order(number=number, customer=Customer(name="Robin Okafor", phone=phone))
        add_order(store, told, who="Dana")
    with pytest.raises(UsageError, match=r"give the number of one of them: 1, 2\."):
        plan_customer(store, "Robin Okafor", ALL)
    assert plan_customer(store, "2", ALL).visits == (2,)


def test_who_is_being_heard_is_stopped(full: Store, tmp_path: Path) -> None:
    """A worker that is at a forgotten recording can neither go on nor finish."""
    sha256 = sound(full, tmp_path, "okafor again.wav")
    for _ in range(2):
        queue_job(full, [sha256], name="okafor again.wav", who="Dana", visit_id=1, total_s=61.4)
    claimed = claim(full, "bench")
    assert claimed is not None
    assert sha256 in plan_customer(full, "1", ALL).recordings
    forget(full, plan_customer(full, "1", ALL), who="Pat")
    assert [job.state for job in list_jobs(full)] == ["stopped", "stopped", "done", "done"]
    assert finish(full, claimed, walkaround(), "Dana") is None
    assert "okafor" not in everything(full).casefold()


def test_links_show_nothing_any_more(full: Store) -> None:
    token = new_link(full, "e1", 7, "Dana")
    assert estimate_by_link(full, token).id == "e1"
    forget(full, plan_walkaround(full, "w1", ("estimates",)), who="Pat")
    with pytest.raises(LinkError):
        estimate_by_link(full, token)


def test_a_program_that_ends_before_deleting_leaves_it_to_the_next(
    full: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patched:
        patched.setattr(forgetting, "_delete", lambda *_: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            forget(full, plan_customer(full, "1", ALL), who="Pat")
    assert forgetting.is_unfinished(full)
    assert "marmalade" in everything(full)
    assert [] == verify(full, deep=True)
    forget(full, plan_customer(full, "1", ALL), who="Pat")
    assert not forgetting.is_unfinished(full)
    assert not list(full.folder.rglob("okafor*"))
    assert [] == verify(full, deep=True)


def test_a_recording_that_comes_again_is_kept_anew(
    full: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Even between being forgotten and its file being deleted."""
    with monkeypatch.context() as patched:
        patched.setattr(forgetting, "_delete", lambda *_: None)
        forget(full, plan_walkaround(full, "w1", ("audio",)), who="Pat")
    sha256 = sound(full, tmp_path, "okafor front.wav")
    assert finish_forgetting(full) == 2
    assert kept_recording(full, sha256) is not None
    assert [] == verify(full, deep=True)


def test_a_machine_with_a_copy_of_its_own_deletes_it_too(full: Store, tmp_path: Path) -> None:
    """What was forgotten elsewhere goes here; what came again since stays, and so does all else."""
    first, second = (read_walkaround(full, id_).walkaround.recordings[0].sha256 or "" for id_ in ("w1", "w2"))
    places = {sha256: next((full.folder / "audio").rglob(f"{sha256}*")) for sha256 in (first, second)}
    copies = {sha256: place.read_bytes() for sha256, place in places.items()}
    forget(full, plan_walkaround(full, "w1", ("audio",)), who="Pat")
    forget(full, plan_walkaround(full, "w2", ("audio",)), who="Pat")
    for sha256, place in places.items():
        place.write_bytes(copies[sha256])
    assert second == sound(full, tmp_path, "bay.wav")
    assert forgetting.sweep(full) == 1
    assert [place.exists() for place in places.values()] == [False, True]
    assert forgetting.sweep(full) == 0
    assert [] == verify(full, deep=True)


def test_a_list_of_files_that_cannot_be_read_is_told(full: Store) -> None:
    (full.folder / "forgetting-1.json").write_text("[", "utf-8")
    with pytest.raises(StoreError, match=r"still there \(its list cannot be read\); see to .*forgetting-1\.json"):
        forget(full, plan_customer(full, "1", ALL), who="Pat")


KILLED = """
import sys
from pathlib import Path
from narrate.store.engine import open_store
from narrate.store.forgetting import forget, plan_walkaround
store = open_store(Path(sys.argv[1]), sys.argv[2] or None)
print("ready", flush=True)
sys.stdin.read(1)
for number in range(1, 21):
    forget(store, plan_walkaround(store, f"w{number}", ("audio", "words", "estimates")), who="Pat")
print("done", flush=True)
"""


def test_killed_at_any_moment_nothing_is_half_forgotten(
    store: Store, tmp_path: Path, open_again: Callable[[], Store]
) -> None:
    """kill -9 at ever later moments: the chain holds, every record is whole or empty, and the rest goes next time."""
    digests = [sound(store, tmp_path, f"bay {number}.wav") for number in range(20)]
    for sha256 in digests:
        add_walkaround(store, walkaround(recordings=(heard("r1", sha256=sha256),)), who="Dana")
    sqlite = store.engine.dialect.name == "sqlite"
    url = "" if sqlite else store.engine.url.render_as_string(hide_password=False)
    for after_s in (0.0, 0.02, 0.05, 0.09, 0.14, 0.2):
        command = [sys.executable, "-c", KILLED, str(store.folder), url]
        with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as program:
            assert program.stdout is not None
            assert program.stdin is not None
            assert program.stdout.readline() == b"ready\n"
            program.stdin.write(b"g")
            program.stdin.flush()
            with suppress(subprocess.TimeoutExpired):
                program.wait(after_s)
            program.kill()
        assert [] == verify(store, deep=True)
    for number in range(1, 21):
        forget(store, plan_walkaround(store, f"w{number}", ALL), who="Pat")
    assert not [path for path in (store.folder / "audio").rglob("*.wav")]
    assert "pads" not in everything(store)
    assert [] == verify(store, deep=True)
    assert not list(store.folder.glob("forgetting-*"))
