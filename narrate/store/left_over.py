"""What was declined, put off or is to be watched, and comes back at the vehicle's next visit."""

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any, Literal

from sqlalchemy import Connection, Row, or_, select

from narrate.judge.places import may_meet
from narrate.records.estimate import Estimate, Job
from narrate.records.walkaround import Finding, Measurement, Odometer, Urgency, Walkaround
from narrate.store.engine import Store
from narrate.store.estimate_rows import NOT_OFFERED, way_of
from narrate.store.estimate_tables import estimate, offered_job
from narrate.store.keeping import row_of
from narrate.store.tables import customer, visit, walkaround

LOOKED_ONLY = frozenset({"diagnose", "inspect", "measure", "monitor", "order", "road_test", "stop_driving"})
"""Actions that leave a part as worn as it was."""


@dataclass(frozen=True, kw_only=True)
class LeftOver:
    """Work that was declined or put off, or a part to be watched, and what is found of it now."""

    kind: Literal["declined", "decide_by", "watched"]
    title: str
    component: str | None
    locations: tuple[str, ...]
    walkaround: str
    finding_ids: tuple[str, ...]
    at: str
    """When it was answered, or the walkaround added; ISO, UTC."""
    measurements: tuple[Measurement, ...] = ()
    """As they were then."""
    odometer: Odometer | None = None
    """Then."""
    estimate: str | None = None
    job: str | None = None
    amount: Decimal | None = None
    """Before tax, as it was offered."""
    currency: str | None = None
    decide_by_date: str | None = None
    urgency: Urgency | None = None
    timing: str | None = None
    """When to look again, as the technician said."""
    found_now: tuple[str, ...] = ()
    """Findings of the present walkaround at the same component and axle."""


@dataclass(frozen=True, kw_only=True)
class LeftVehicle:
    """A vehicle with work left over. `vehicle_id` is None where nobody has said which vehicle it is."""

    vehicle_id: int | None
    vehicle: str
    plate: str | None
    customer: str | None
    phone: str | None
    left: tuple[LeftOver, ...]
    readings: tuple[tuple[str, Odometer], ...] = ()
    """Day and odometer of each visit that tells it, the oldest first."""


def declined_of(store: Store, vehicle_id: int, *, now: Walkaround | None = None) -> tuple[LeftOver, ...]:
    """Return what was declined, put off or to be watched at a vehicle's earlier visits and is not done since.

    `now` is the present walkaround: what came before it counts, and what it finds at the same component and axle is
    linked. A part that was found fine since, or whose work was authorized since, is left out.
    """
    chosen = _visits().where(walkaround.c.vehicle_id == vehicle_id)
    if now is not None:
        chosen = chosen.where(walkaround.c.id < row_of(now.id))
    with store.reading() as connection:
        left = _left(connection, connection.execute(chosen.order_by(walkaround.c.id)).all())
    return tuple(replace(each, found_now=_found(each, now)) for each in left) if now else left


def everything_left(store: Store) -> Iterator[LeftVehicle]:
    """Yield each vehicle that has anything left over; a walkaround of no known vehicle stands by itself."""
    with store.reading() as connection:
        asked = select(estimate.c.walkaround_id).join(offered_job)
        asked = asked.where(estimate.c.state.not_in(NOT_OFFERED), offered_job.c.state.in_(("declined", "decide_by")))
        watched = walkaround.c.record.contains('"action":"monitor"', autoescape=True)
        about = or_(walkaround.c.id.in_(asked), watched)
        columns = (walkaround.c.id, walkaround.c.vehicle_id)
        rows = connection.execute(select(*columns).where(about).order_by(walkaround.c.id)).all()
        for vehicle_id in dict.fromkeys(row.vehicle_id for row in rows if row.vehicle_id is not None):
            yield from _vehicle(connection, vehicle_id, walkaround.c.vehicle_id == vehicle_id)
        for row in rows:
            if row.vehicle_id is None:
                yield from _vehicle(connection, None, walkaround.c.id == row.id)


def _vehicle(connection: Connection, vehicle_id: int | None, which: Any) -> Iterator[LeftVehicle]:  # noqa: ANN401 - a condition
    rows = connection.execute(_visits().where(which).order_by(walkaround.c.id)).all()
    left = _left(connection, rows)
    if left:
        last = rows[-1]
        odometers = ((row.added_at[:10], _record(row).vehicle.odometer) for row in rows)
        named = next((row for row in reversed(rows) if row.customer), last)
        yield LeftVehicle(
            vehicle_id=vehicle_id,
            vehicle=last.vehicle,
            plate=last.plate,
            customer=named.customer,
            phone=named.phone,
            left=left,
            readings=tuple((day, odometer) for day, odometer in odometers if odometer),
        )


def _visits() -> Any:  # noqa: ANN401 - a Select of many columns; its full type says nothing more
    joined = walkaround.outerjoin(visit, walkaround.c.visit_id == visit.c.id)
    joined = joined.outerjoin(customer, visit.c.customer_id == customer.c.id)
    columns = (walkaround.c.id, walkaround.c.record, walkaround.c.added_at, walkaround.c.vehicle, walkaround.c.plate)
    asked = select(*columns, customer.c.name.label("customer"), customer.c.phone).select_from(joined)
    return asked.where(walkaround.c.state != "set_aside")


def _left(connection: Connection, rows: Iterable[Row[Any]]) -> tuple[LeftOver, ...]:
    """Go through a vehicle's visits, the oldest first: what is fine or done goes, what is left comes."""
    left: list[LeftOver] = []
    for row in rows:
        record = _record(row)
        findings = [finding for finding in record.findings if finding.review.state != "dropped"]
        for finding in findings:
            if finding.status == "ok" or finding.recommendation.timing == "done":
                left = _without(left, finding.component.id, finding.locations)
        new = [_watched(row, record, finding) for finding in findings if finding.recommendation.action == "monitor"]
        for made in _estimates(connection, row.id):
            for job in made.jobs:
                if job.state == "authorized" and job.action not in LOOKED_ONLY:
                    left, new = (_without(each, job.component, job.locations) for each in (left, new))
                elif job.state in ("declined", "decide_by"):
                    new.append(_declined(row, record, made, job))
        left = [old for old in left if not any(_same_axle(old, each) for each in new)] + new
    return tuple(left)


def _estimates(connection: Connection, number: int) -> Iterator[Estimate]:
    asked = select(estimate.c.record).where(estimate.c.walkaround_id == number, estimate.c.state.not_in(NOT_OFFERED))
    for text in connection.scalars(asked.order_by(estimate.c.id)).all():
        yield Estimate.model_validate_json(text)


def _watched(row: Row[Any], record: Walkaround, finding: Finding) -> LeftOver:
    places = ", ".join(finding.locations)
    name = finding.component.name[:1].upper() + finding.component.name[1:]
    return LeftOver(
        kind="watched",
        title=f"{name}, {places}" if places else name,
        component=finding.component.id,
        locations=finding.locations,
        walkaround=f"w{row.id}",
        finding_ids=(finding.id,),
        at=row.added_at,
        measurements=finding.measurements,
        odometer=record.vehicle.odometer,
        urgency=finding.urgency,
        timing=finding.recommendation.timing,
    )


def _declined(row: Row[Any], record: Walkaround, made: Estimate, job: Job) -> LeftOver:
    named = {finding.id: finding for finding in record.findings}
    about = [named[id_] for id_ in job.finding_ids if id_ in named]
    answered = [consent.at for consent in made.consents if job.id in consent.answers]
    way = way_of(job)
    return LeftOver(
        kind="declined" if job.state == "declined" else "decide_by",
        title=job.title,
        component=job.component,
        locations=job.locations,
        walkaround=f"w{row.id}",
        finding_ids=job.finding_ids,
        at=answered[-1] if answered else made.made_at,
        measurements=tuple(number for finding in about for number in finding.measurements),
        odometer=record.vehicle.odometer,
        estimate=made.id,
        job=job.id,
        amount=way.subtotal if way else None,
        currency=made.currency,
        decide_by_date=job.decide_by_date,
        urgency=about[0].urgency if about else None,
    )


def _record(row: Row[Any]) -> Walkaround:
    """The walkaround in a row, without the words of its recordings."""
    return Walkaround.model_validate(json.loads(row.record))


def _without(left: list[LeftOver], component: str | None, places: Iterable[str]) -> list[LeftOver]:
    told = tuple(places)
    return [
        each for each in left if component is None or each.component != component or not may_meet(told, each.locations)
    ]


def _same_axle(old: LeftOver, new: LeftOver) -> bool:
    if old.component is None or old.component != new.component:
        return False
    return _meet(old.locations, new.locations)


def _found(left: LeftOver, now: Walkaround) -> tuple[str, ...]:
    return tuple(
        finding.id
        for finding in now.findings
        if finding.review.state != "dropped"
        and finding.component.id == left.component
        and _meet(left.locations, finding.locations)
    )


def _meet(some: Iterable[str], others: Iterable[str]) -> bool:
    """Whether two are at one axle; where none is told, at any."""
    here, there = _axles(some), _axles(others)
    return not here or not there or bool(here & there)


def _axles(places: Iterable[str]) -> set[str]:
    return {token for place in places for token in place.split() if token in ("front", "rear")}
