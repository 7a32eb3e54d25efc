"""The shop's rule how long things are kept: each kind by its own days, told by events, and nobody else's things."""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from kept_estimates import estimate
from made_walkarounds import heard, walkaround
from sqlalchemy import update

from narrate.errors import UsageError
from narrate.records.order import Customer, Order, OrderVehicle
from narrate.store import tables
from narrate.store.clock import as_text
from narrate.store.engine import Store
from narrate.store.estimate_tables import estimate as estimate_table
from narrate.store.estimates import add_estimate, read_estimate
from narrate.store.events import read_events
from narrate.store.jobs import queue_job
from narrate.store.listing import find_walkarounds
from narrate.store.orders import add_order, attach, list_orders
from narrate.store.recordings import keep_recording, kept_recording
from narrate.store.retention import forget_due, plan_before, plans_due, read_retention, set_retention
from narrate.store.shop import Retention, read_shop
from narrate.store.verifying import verify
from narrate.store.walkarounds import add_walkaround, read_walkaround

Came = Callable[[int], str]


@pytest.fixture
def came(store: Store, tmp_path: Path) -> Came:
    """Return what puts an order with recording, walkaround and estimate into the store, as it came days ago."""

    def put(days: int) -> str:
        at = as_text(datetime.now(UTC) - timedelta(days=days, minutes=1))
        file = tmp_path / f"{days}.wav"
        file.write_bytes(f"sound of {days} days ago".encode())
        sha256 = keep_recording(store, file, name=file.name, suffix=".wav", duration_s=30.0)
        order = Order(number=f"R-{days}", vehicle=OrderVehicle(plate=f"P {days}"), customer=Customer(name=f"C {days}"))
        visit = add_order(store, order, who="Dana")
        id_ = add_walkaround(store, walkaround(recordings=(heard("r1", sha256=sha256),)), who="Dana")
        attach(store, id_, visit, who="Dana")
        add_estimate(store, estimate(walkaround_id=id_), who="Dana")
        number = int(id_[1:])
        with store.writing() as connection:
            for table in (tables.walkaround, tables.visit, tables.customer, tables.vehicle, estimate_table):
                connection.execute(update(table).where(table.c.id == number).values(added_at=at))
            of_it = tables.recording.c.sha256 == sha256
            connection.execute(update(tables.recording).where(of_it).values(added_at=at))
        return sha256

    return put


def test_each_kind_has_its_own_days(store: Store, came: Came) -> None:
    """400, 100 and 5 days ago; audio is kept 90 days, words 365, estimates for ever."""
    digests = [came(days) for days in (400, 100, 5)]
    assert plans_due(store) == ()
    set_retention(store, {"audio": 90, "words": 365}, who="Ann")
    done = list(forget_due(store))
    assert [(plan.what, len(plan.recordings), len(plan.walkarounds)) for plan in done] == [
        (("audio",), 2, 0),
        (("words",), 0, 1),
    ]
    assert [kept_recording(store, sha256) is not None for sha256 in digests] == [False, False, True]
    assert sorted(each.id for each in find_walkarounds(store)) == ["w2", "w3"]
    assert len(read_walkaround(store, "w2").walkaround.recordings[0].words) == 6
    assert [read_estimate(store, f"e{number}").state for number in (1, 2, 3)] == ["offered"] * 3
    # What the estimate is for stays as long as the estimate.
    assert [each.order.number for each in list_orders(store)] == ["R-5", "R-100", "R-400"]
    assert [] == verify(store, deep=True)
    assert list(forget_due(store)) == []


def test_with_the_last_of_it_goes_who_it_was(store: Store, came: Came) -> None:
    came(400)
    came(5)
    set_retention(store, {"words": 365, "estimates": 365}, who="Ann")
    list(forget_due(store))
    list(forget_due(store))
    with store.reading() as connection:
        left = [len(connection.execute(t.select()).all()) for t in (tables.visit, tables.vehicle, tables.customer)]
    assert left == [1, 1, 1]
    assert [] == verify(store, deep=True)


def test_events_say_what_the_rule_did(store: Store, came: Came) -> None:
    sha256 = came(100)
    set_retention(store, {"audio": 90}, who="Ann")
    list(forget_due(store))
    (told,) = read_events(store, "forgetting")
    assert (told.who, told.why) == ("the shop's rule", "kept for 90 days by the shop's rule")
    assert told.more == {"what": ["audio"], "counts": {"recordings": 1}, "recordings": [sha256]}
    last = read_events(store, "walkaround/1")[-1]
    assert (last.what, last.who, last.why) == ("forgotten", "the shop's rule", told.why)
    (rule,) = [change for change in read_events(store, "shop")[-1].changes]
    assert (rule.kind, rule.after) == ("retention", {"audio": 90, "words": None, "estimates": None})


def test_what_waits_to_be_heard_is_never_old(store: Store, came: Came) -> None:
    sha256 = came(100)
    queue_job(store, [sha256], name="again", who="Dana", total_s=30.0)
    assert plan_before(store, "audio", 90).is_empty
    assert not plan_before(store, "words", 90).is_empty


def test_a_recording_heard_anew_is_as_young_as_that(store: Store, came: Came) -> None:
    sha256 = came(100)
    add_walkaround(store, walkaround(recordings=(heard("r1", sha256=sha256),)), who="Dana")
    assert plan_before(store, "audio", 90).recordings == ()


def test_the_rule_is_set_changed_and_ended(store: Store) -> None:
    set_retention(store, {"audio": 90, "words": 365}, who="Ann")
    assert set_retention(store, {"audio": 30}, who="Ann") == Retention(audio=30, words=365)
    with pytest.raises(UsageError, match="retention audio: Input should be greater than or equal to 1, not 0"):
        set_retention(store, {"audio": 0}, who="Ann")
    set_retention(store, {"audio": None, "words": None}, who="Ann")
    assert read_retention(store) == Retention()
    assert read_shop(store).retention is None


def test_more_than_fits_a_question_goes_piece_by_piece(
    store: Store, came: Came, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("narrate.store.outdated.AT_ONCE", 2)
    for days in range(100, 105):
        came(days)
    set_retention(store, {"audio": 90, "words": 90, "estimates": 90}, who="Ann")
    assert len(list(forget_due(store))) >= 6
    with store.reading() as connection:
        for table in (tables.recording, tables.visit, tables.vehicle, tables.customer):
            assert connection.execute(table.select()).all() == []
    assert find_walkarounds(store) == []
    assert [] == verify(store, deep=True)
