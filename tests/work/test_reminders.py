"""Reminders come by day or by distance, once, and only for what is still left."""

from collections.abc import Iterator
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path

import pytest
from sqlalchemy import text

from narrate.records.estimate import Choice, Consent, Estimate, Job
from narrate.records.order import OrderVehicle
from narrate.records.walkaround import (
    Component,
    Confidence,
    Finding,
    MadeBy,
    Measurement,
    Odometer,
    Recommendation,
    Urgency,
    Vehicle,
    Walkaround,
)
from narrate.store.engine import Store, open_store
from narrate.store.estimates import add_estimate
from narrate.store.vehicles import new_vehicle
from narrate.store.walkarounds import add_walkaround
from narrate.work.due import due_of, months_after
from narrate.work.reminders import reminders, usual_distance

SURE = Confidence(overall=1, component=1, location=1, condition=1, recommendation=1)
FIRST = date(2026, 6, 1)
READ = Odometer(value=Decimal(51000), unit="mi")


@pytest.fixture
def store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    monkeypatch.delenv("NARRATE_STORE", raising=False)
    opened = open_store(tmp_path / "data")
    yield opened
    opened.close()


def finding(by: str | None = None, *, status: str = "fault") -> Finding:
    """Pads to be watched until what was said."""
    return Finding(
        id="f1",
        component=Component(id="brake_pads", name="brake pads", system="brakes", heard="pads"),
        locations=("front",),
        status=status,
        recommendation=Recommendation(action="monitor" if status == "fault" else None),
        measurements=(Measurement(quantity="thickness", value=Decimal("4"), unit="mm", said="four"),),
        urgency=Urgency(when="by_date_or_distance", by=by) if by else None,
        evidence=(),
        confidence=SURE,
    )


def visit(store: Store, vehicle: int | None, day: date, odometer: str | None, *findings: Finding) -> str:
    """A walkaround of a day."""
    read = Odometer(value=Decimal(odometer), unit="mi") if odometer else None
    made = Walkaround(
        made_by=MadeBy(program="test", lexicon="", settings=""),
        vehicle=Vehicle(plate="7ABC123", year=2019, make="Ford", model="F-150", odometer=read),
        findings=findings,
    )
    id_ = add_walkaround(store, made, who="Dana", vehicle_id=vehicle)
    with store.writing() as connection:
        at = {"at": f"{day.isoformat()}T12:00:00.000Z", "id": int(id_[1:])}
        connection.execute(text("UPDATE walkaround SET added_at = :at WHERE id = :id"), at)
    return id_


def declined(store: Store, about: str, state: str, at: date, *, until: str | None = None) -> None:
    """An estimate whose one job the customer declined, or put off."""
    way = Choice(id="k1", label="new", lines=(), subtotal=Decimal("96.40"))
    work = Job(id="j1", title="Front pads", component="brake_pads", action="replace", locations=("front",),
               finding_ids=("f1",), state=state, decide_by_date=until, choices=(way,))  # fmt: skip
    answers = {"j1": {"state": state}}
    answered_at = datetime(at.year, at.month, at.day, 12, tzinfo=UTC).isoformat()
    consent = Consent(at=answered_at, by="Dana", who="Robin", how="in_person", answers=answers, total=Decimal(0),
                      document="ab" * 32)  # fmt: skip
    made = Estimate(walkaround_id=about, draft=False, currency="USD", place="unknown", made_at=consent.at,
                    jobs=(work,), consents=(consent,))  # fmt: skip
    add_estimate(store, made, who="Dana")


@pytest.fixture
def vehicle(store: Store) -> int:
    return new_vehicle(store, OrderVehicle(plate="7ABC123"), who="Dana")


def test_a_day_to_decide_by(store: Store, vehicle: int) -> None:
    """Comes from thirty days before, and when it is past; with what was measured and asked."""
    declined(store, visit(store, vehicle, FIRST, "51000", finding()), "decide_by", FIRST, until="2026-07-15")
    assert () == reminders(store, today=date(2026, 6, 14))
    (found,) = reminders(store, today=date(2026, 6, 15))
    assert ("decide_by", date(2026, 7, 15), "2019 Ford F-150") == (found.kind, found.due_on, found.vehicle)
    assert (Decimal("96.40"), Decimal(4)) == (found.left.amount, found.left.measurements[0].value)
    assert 1 == len(reminders(store, today=date(2026, 9, 1)))


def test_declined_work_comes_after_months(store: Store, vehicle: int) -> None:
    """Six of them, unless said otherwise."""
    declined(store, visit(store, vehicle, FIRST, None), "declined", FIRST)
    assert () == reminders(store, today=FIRST, until=date(2026, 11, 30))
    (found,) = reminders(store, today=FIRST, until=date(2026, 12, 1))
    assert (date(2026, 12, 1), "declined 2026-06-01") == (found.due_on, found.why)
    assert 1 == len(reminders(store, today=FIRST, until=date(2026, 9, 1), months=3))


def test_what_is_done_is_not_reminded_of(store: Store, vehicle: int) -> None:
    """Found fine at a later visit."""
    declined(store, visit(store, vehicle, FIRST, None), "declined", FIRST)
    visit(store, vehicle, date(2026, 8, 1), None, finding(status="ok"))
    assert () == reminders(store, today=date(2027, 1, 1))


def test_by_distance(store: Store, vehicle: int) -> None:
    """As the usual distance a month tells: 1,000 miles, so 3,000 miles are near after two months."""
    visit(store, vehicle, date(2026, 3, 1), "48000")
    visit(store, vehicle, date(2026, 6, 1), "51000", finding("in three thousand miles"))
    assert () == reminders(store, today=FIRST, until=date(2026, 7, 20))
    (found,) = reminders(store, today=FIRST, until=date(2026, 8, 10))
    assert found.due_at == Odometer(value=Decimal(54000), unit="mi")
    assert date(2026, 7, 28) <= found.due_on <= date(2026, 8, 3)
    assert 53200 < found.odometer_then.value < 53400
    assert "“in three thousand miles”" in found.why
    assert () == reminders(store, today=FIRST, until=date(2026, 8, 10), within=Decimal(0))


def test_distance_without_two_visits_comes_by_time(store: Store, vehicle: int) -> None:
    """Nothing is projected from one number; and it says so."""
    visit(store, vehicle, FIRST, "51000", finding("in three thousand miles"))
    assert () == reminders(store, today=FIRST, until=date(2026, 11, 30))
    (found,) = reminders(store, today=FIRST, until=date(2026, 12, 1))
    assert found.why.endswith("how far it is driven is not known, so by time")
    assert found.odometer_then is None


def test_by_a_day_that_was_said(store: Store) -> None:
    """Of a walkaround whose vehicle nobody knows, too; the earliest first."""
    visit(store, None, FIRST, None, finding("within three months"))
    visit(store, None, FIRST, None, finding("2026-08-15"))
    visit(store, None, FIRST, None, finding())
    found = reminders(store, today=FIRST, until=date(2026, 9, 1))
    assert [date(2026, 8, 15), date(2026, 9, 1)] == [each.due_on for each in found]
    assert 3 == len(reminders(store, today=FIRST, until=date(2026, 12, 1)))


@pytest.mark.parametrize(
    ("words", "on", "at"),
    [
        ("in about three thousand miles", None, "54000"),
        ("in 3 000 miles", None, "54000"),
        ("in 5k miles", None, "56000"),
        ("next 3,000", None, "54000"),
        ("in 5,000 km", None, "54107"),
        ("at 60,000 miles", None, "60000"),
        ("at 40,000 miles", None, None),
        ("in a few thousand miles", None, None),
        ("in a couple of months", date(2026, 8, 1), None),
        ("in a year", date(2027, 6, 1), None),
        ("half a year", date(2026, 12, 1), None),
        ("two weeks", date(2026, 6, 15), None),
        ("by 2027-01-10", date(2027, 1, 10), None),
        ("2027-13-45", None, None),
        ("before winter", None, None),
        ("", None, None),
    ],
)
def test_words_tell_when(words: str, on: date | None, at: str | None) -> None:
    """Days and distances are exact; what is vague tells nothing."""
    due = due_of(words, said_on=FIRST, odometer=READ)
    assert (on, at and Odometer(value=Decimal(at), unit="mi")) == (due.on, due.at)


def test_a_distance_needs_an_odometer() -> None:
    """Nothing counts from nowhere."""
    assert due_of("in 3,000 miles", said_on=FIRST, odometer=None).at is None
    assert date(2027, 2, 28) == months_after(date(2026, 8, 31), 6)


def test_usual_distance() -> None:
    """From the first reading to the last, in its unit; none from too near or backward ones."""
    miles, kilometers = Odometer(value=Decimal(1000), unit="mi"), Odometer(value=Decimal(2609), unit="km")
    assert 1000 == round(usual_distance([("2026-01-01", miles), ("2026-01-31", kilometers)]) * 30 / Decimal("30.44"))
    for readings in ([], [("2026-01-01", miles)], [("2026-01-01", miles), ("2026-01-05", kilometers)],
                     [("2026-01-01", kilometers), ("2026-03-01", miles)]):  # fmt: skip
        assert usual_distance(readings) is None
