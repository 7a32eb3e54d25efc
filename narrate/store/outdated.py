"""What is to be forgotten because of its age."""

from collections.abc import Collection

from sqlalchemy import ColumnElement, Connection, Table, and_, or_, select

from narrate.store.capture_ends import captures_before, captures_of, with_pieces
from narrate.store.capture_tables import capture
from narrate.store.erasing import is_live
from narrate.store.estimate_tables import estimate
from narrate.store.forget_plan import (
    UNDER_WAY,
    Plan,
    What,
    counted,
    live,
    of_jobs_under_way,
    photos_of,
    sorted_numbers,
)
from narrate.store.tables import attachment, customer, heard, job, recording, vehicle, visit, walkaround

AT_ONCE = 2000
"""The most of a kind in one plan: a database takes only so many numbers in a question."""


def plan_older(connection: Connection, what: What, before: str, *, why: str) -> Plan:
    """Plan to erase what came in before a moment (as the store writes it); what is still in line to be heard stays.

    With the words go orders, and vehicles and customers of whom nothing else is left. No more than AT_ONCE of a kind.
    """
    if what == "estimates":
        old = live(connection, estimate, estimate.c.added_at < before, most=AT_ONCE)
        return counted(connection, Plan(why=why, what=(what,), estimates=old))
    if what == "audio":
        digests = set(connection.scalars(select(recording.c.sha256).where(recording.c.added_at < before)))
        young = select(heard.c.sha256).join(walkaround).where(walkaround.c.added_at >= before)
        digests -= set(connection.scalars(young))
        digests -= of_jobs_under_way(connection)
        kinds = attachment.c.kind.in_(("clip", "still"))
        cuts = connection.scalars(select(attachment.c.id).where(kinds, attachment.c.added_at < before).limit(AT_ONCE))
        oldest = tuple(sorted(digests)[:AT_ONCE])
        captures = captures_before(connection, before, most=AT_ONCE)
        plan = Plan(why=why, what=(what,), recordings=oldest, captures=captures, cuts=tuple(sorted(cuts)))
        return counted(connection, plan)
    numbers = live(connection, walkaround, walkaround.c.added_at < before, most=AT_ONCE)
    jobs = tuple(sorted(connection.scalars(select(job.c.id).where(job.c.walkaround_id.in_(numbers)))))
    visits = _idle_visits(connection, before, numbers)
    return counted(
        connection,
        Plan(
            why=why,
            what=(what,),
            walkarounds=numbers,
            photos=photos_of(connection, numbers, ()),
            jobs=jobs,
            visits=visits,
            captures=captures_of(connection, jobs, visits),
            vehicles=_idle_rows(connection, vehicle, before, numbers),
            customers=_idle_rows(connection, customer, before, numbers),
        ),
    )


def _idle_visits(connection: Connection, before: str, going: Collection[int]) -> tuple[int, ...]:
    """Orders of before, with which nothing is left but what is going."""
    stays = and_(walkaround.c.id.not_in(going), is_live(walkaround))
    stays = or_(stays, select(estimate.c.id).where(_of_walkaround(), is_live(estimate)).exists())
    left = select(walkaround.c.id).where(walkaround.c.visit_id == visit.c.id, stays).exists()
    waits = select(job.c.id).where(job.c.visit_id == visit.c.id, job.c.state.in_(UNDER_WAY)).exists()
    speaks = select(capture.c.key).where(capture.c.visit_id == visit.c.id, with_pieces()).exists()
    return sorted_numbers(connection, select(visit.c.id).where(visit.c.added_at < before, ~left, ~waits, ~speaks))


def _idle_rows(connection: Connection, table: Table, before: str, going: Collection[int]) -> tuple[int, ...]:
    """Vehicles or customers of before, none of whose orders and walkarounds stays."""
    idle = set(_idle_visits(connection, before, going))
    key = visit.c.vehicle_id if table is vehicle else visit.c.customer_id
    named = set(connection.scalars(select(key).where(visit.c.id.not_in(idle), key.is_not(None))))
    mine = walkaround.c.vehicle_id if table is vehicle else vehicle.c.customer_id
    stays = and_(walkaround.c.id.not_in(going), is_live(walkaround))
    stays = or_(stays, select(estimate.c.id).where(_of_walkaround(), is_live(estimate)).exists())
    linked = select(mine).select_from(walkaround.outerjoin(vehicle, walkaround.c.vehicle_id == vehicle.c.id))
    named |= set(connection.scalars(linked.where(stays, mine.is_not(None))))
    return tuple(sorted(set(connection.scalars(select(table.c.id).where(table.c.added_at < before))) - named))


def _of_walkaround() -> ColumnElement[bool]:
    return estimate.c.walkaround_id == walkaround.c.id
