"""What was offered adds up by month and system; what was declined or is to be watched comes back."""

from datetime import date
from decimal import Decimal
from types import SimpleNamespace

import pytest
from kept_estimates import answered, estimate, job, kept
from made_walkarounds import finding, walkaround
from sqlalchemy import text

from narrate.records.estimate import Estimate
from narrate.records.order import OrderVehicle
from narrate.records.walkaround import Recommendation, Walkaround
from narrate.store.engine import Store
from narrate.store.estimates import add_estimate, change_estimate, set_aside
from narrate.store.left_over import everything_left
from narrate.store.offers import declined_of, offers, summed_by
from narrate.store.vehicles import new_vehicle
from narrate.store.walkarounds import add_walkaround, read_walkaround
from narrate.store.walkarounds import set_aside as set_walkaround_aside

LEXICON = SimpleNamespace(system_of={"brake_pads": "brakes", "struts": "suspension"})
WHOLE = {"since": date(2000, 1, 1), "until": date(2999, 1, 1), "lexicon": LEXICON}


@pytest.fixture
def vehicle(store: Store) -> int:
    return new_vehicle(store, OrderVehicle(plate="7ABC 123"), who="Dana")


def visit(
    store: Store, vehicle: int | None, *jobs: object, states: dict[str, str] | None = None, **more: object
) -> str:
    """A visit of a vehicle, with an estimate answered as `states` says; the walkaround's id."""
    about = add_walkaround(store, walkaround(**more), who="Dana", vehicle_id=vehicle)
    if jobs:
        id_ = add_estimate(store, estimate(walkaround_id=about, jobs=jobs), who="Dana")
        change_estimate(store, id_, who="Dana", what="authorize", make=lambda e: answered(e, states or {}))
    return about


def watched(id_: str, *places: str):
    return finding(id_, value="3", locations=places).model_copy(
        update={"recommendation": Recommendation(action="monitor")}
    )


def fine(id_: str, *places: str):
    return finding(id_, value="9", locations=places).model_copy(update={"status": "ok"})


def test_sums_add_up(store: Store) -> None:
    """Offered is authorized, declined and waiting together, to the cent; each in its system."""
    states = {"j1": "authorized", "j2": "declined"}
    change_estimate(store, kept(store), who="Dana", what="authorize", make=lambda e: answered(e, states))
    kept(store, jobs=(job("j1", "10.10"), job("j2", "5.00", state="decide_by", component=None)))
    found = offers(store, **WHOLE)
    assert ["brakes", "other", "suspension"] == [each.system for each in found]
    told = {each.system: (each.offered, each.authorized, each.declined, each.waiting) for each in found}
    assert (Decimal("106.50"), Decimal("96.40"), 0, Decimal("10.10")) == told["brakes"]
    assert (Decimal("210.00"), 0, Decimal("210.00"), 0) == told["suspension"]
    assert all(each.offered == each.authorized + each.declined + each.waiting for each in found)
    (month,) = summed_by(found, "month")
    assert (Decimal("321.50"), 4, 1, 1) == (month.offered, month.jobs, month.jobs_authorized, month.jobs_declined)
    assert found == tuple(
        each.__class__(**{**vars(each), "month": found[0].month}) for each in summed_by(found, "system")
    )


def test_the_way_chosen_counts(store: Store) -> None:
    """The dearer way that was authorized, not the first."""
    kept(store, jobs=(job("j1", state="authorized", chosen="k2"),))
    assert Decimal("106.40") == offers(store, **WHOLE)[0].authorized


def test_what_nobody_was_offered_is_left_out(store: Store) -> None:
    """Drafts, estimates set aside, and optional jobs without an answer; and other days."""
    kept(store, draft=True)
    set_aside(store, kept(store), who="Dana", why="made anew")
    kept(store, jobs=(job("j1", optional=True),))
    assert () == offers(store, **WHOLE)
    kept(store)
    assert 2 == len(offers(store, **WHOLE))
    assert () == offers(store, **{**WHOLE, "until": date(2001, 1, 1)})
    assert () == offers(store, **{**WHOLE, "since": date(2998, 1, 1)})


def test_days_are_those_of_the_shops_clock(store: Store) -> None:
    """A whole day, from its midnight to the next."""
    kept(store)
    with store.writing() as connection:
        connection.execute(text("UPDATE estimate SET added_at = '2026-11-30T12:00:00.000Z'"))
    day = date(2026, 11, 30)
    assert "2026-11" == offers(store, since=day, until=day, lexicon=LEXICON)[0].month


def test_what_was_declined_comes_back(store: Store, vehicle: int) -> None:
    """With the old measurement and price, linked to what is found now at the same part and axle."""
    before = visit(store, vehicle, job("j1", locations=("front",)), states={"j1": "declined"})
    findings = (finding("f1", value="2", locations=("front left",)), finding("f2", locations=("rear left",)))
    now = visit(store, vehicle, findings=findings)
    (left,) = declined_of(store, vehicle, now=read_walkaround(store, now).walkaround)
    assert ("declined", before, ("f1",)) == (left.kind, left.walkaround, left.found_now)
    assert (Decimal("96.40"), "USD", ["3"]) == (left.amount, left.currency, [str(m.value) for m in left.measurements])
    assert "2026-11-27T11:00:00.000Z" == left.at
    assert () == declined_of(store, vehicle, now=read_walkaround(store, before).walkaround)


def test_what_is_to_be_watched_comes_back(store: Store, vehicle: int) -> None:
    """Until it is found fine at that place, or its work is authorized; diagnosing does not mend it."""
    visit(store, vehicle, findings=(watched("f1", "front left"),))
    visit(store, vehicle, findings=(fine("f1", "front right"), fine("f2", "rear")))
    (left,) = declined_of(store, vehicle)
    assert ("watched", "Brake pads, front left", "w1") == (left.kind, left.title, left.walkaround)
    visit(store, vehicle, job("j1", action="diagnose"), states={"j1": "authorized"}, findings=())
    assert 1 == len(declined_of(store, vehicle))
    visit(store, vehicle, findings=(fine("f1", "front left"),))
    assert () == declined_of(store, vehicle)


def test_authorized_later_is_done(store: Store, vehicle: int) -> None:
    """Work that was declined and authorized the next time does not come back; declined again it comes once."""
    visit(store, vehicle, job("j1", locations=("front",)), states={"j1": "declined"})
    again = visit(store, vehicle, job("j1", "99.00", locations=("front",)), states={"j1": "declined"})
    (left,) = declined_of(store, vehicle)
    assert (again, Decimal("99.00")) == (left.walkaround, left.amount)
    visit(store, vehicle, job("j1", locations=("front left", "front right")), states={"j1": "authorized"})
    assert () == declined_of(store, vehicle)


def test_nothing_of_what_is_set_aside_comes_back(store: Store, vehicle: int) -> None:
    """Neither of a walkaround nor of an estimate."""
    about = visit(store, vehicle, job("j1"), states={"j1": "declined"})
    set_aside(store, "e1", who="Dana", why="made anew")
    assert () == declined_of(store, vehicle)
    visit(store, vehicle, job("j1"), states={"j1": "declined"})
    set_walkaround_aside(store, "w2", who="Dana", why="joined")
    assert ("w1", ()) == (about, declined_of(store, vehicle))


def test_every_vehicle_with_something_left(store: Store, vehicle: int) -> None:
    """Walkarounds of no known vehicle too, each by itself."""
    visit(store, vehicle, job("j1"), states={"j1": "decide_by"})
    visit(store, None, findings=(watched("f1"),))
    visit(store, None)
    found = list(everything_left(store))
    assert [(vehicle, ["decide_by"]), (None, ["watched"])] == [
        (each.vehicle_id, [left.kind for left in each.left]) for each in found
    ]
    assert ("2019 Ford F-150", "7ABC 123") == (found[1].vehicle, found[1].plate)


def test_what_is_changed_is_written_anew(store: Store) -> None:
    """A job taken out of an estimate is in no sum."""
    id_ = kept(store)

    def without(present: Estimate) -> Estimate:
        return present.model_copy(update={"jobs": present.jobs[:1]})

    change_estimate(store, id_, who="Dana", what="remove", make=without)
    assert ["brakes"] == [each.system for each in offers(store, **WHOLE)]
    assert isinstance(read_walkaround(store, "w1").walkaround, Walkaround)
