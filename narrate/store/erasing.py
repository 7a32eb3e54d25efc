"""What is forgotten, taken out of the tables: rows emptied or gone, the events' content erased, their digests kept.

All of it inside one transaction of `store.writing()`. What an event said goes; that there was one, when and whose,
stays in the chain, and an event `forgotten` says who erased what.
"""

import json
from collections.abc import Iterable, Sequence
from typing import Any

from sqlalchemy import ColumnElement, Connection, Table, and_, delete, not_, or_, select, update

from narrate.records.estimate import Estimate
from narrate.records.recording import Recording
from narrate.records.walkaround import MadeBy, Walkaround
from narrate.store.capture_tables import capture, capture_photo
from narrate.store.chain import canonical, digest_of
from narrate.store.clock import now
from narrate.store.estimate_rows import HeldEstimate, held_estimate, write_estimate
from narrate.store.estimate_tables import estimate, estimate_link
from narrate.store.events import append
from narrate.store.folding import difference
from narrate.store.keeping import change_within, event_body, read_within, write_row
from narrate.store.tables import attachment, content, customer, event, heard, job, recording, vehicle, visit, walkaround
from narrate.store.undoing import FORGOTTEN

MARK = "forgotten"
"""The field of a record that was emptied: when."""
NAMELESS = "forgotten"


def is_live(table: Table) -> ColumnElement[bool]:
    """Rows of `walkaround` or `estimate` that nobody emptied."""
    # Quotes inside a text are escaped in JSON, so that no words can look like the mark.
    return not_(and_(table.c.state == "set_aside", table.c.record.contains(f'"{MARK}":"', autoescape=True)))


def erase_walkaround(connection: Connection, number: int, *, who: str, why: str) -> None:
    """Empty a walkaround: what was heard, found and corrected, and its heading. Recordings stay as they are."""
    held = read_within(connection, f"w{number}")
    silent = tuple(
        Recording(id=each.id, name=f"recording {each.id}", sha256=each.sha256, duration_s=each.duration_s)
        for each in held.walkaround.recordings
    )
    _erase_content(connection, f"walkaround/{number}")
    words = {each.id: canonical(each.model_dump(mode="json")) for each in silent}
    connection.execute(delete(heard).where(heard.c.walkaround_id == number, heard.c.recording_id.not_in(list(words))))
    for id_, record in words.items():
        same = and_(heard.c.walkaround_id == number, heard.c.recording_id == id_)
        connection.execute(update(heard).where(same).values(record=record))
    blank = Walkaround.model_validate(
        {
            "made_by": MadeBy(program="narrate", lexicon="", settings=""),
            "id": held.id,
            "market": held.walkaround.market,
            "recordings": silent,
            "ids_used": held.walkaround.ids_used,
            MARK: now(),
        }
    )
    more = {FORGOTTEN: ["words"], "set_aside": True, "heard": {id_: digest_of(text) for id_, text in words.items()}}
    # From nothing: what it was before is not to be told, and whoever checks the record begins here.
    body = event_body(why=why, changes=difference(None, blank), more=more)
    told = append(connection, stream=f"walkaround/{number}", who=who, what=FORGOTTEN, body=body)
    write_row(connection, held, blank, told)


def erase_estimate(connection: Connection, number: int, *, who: str, why: str) -> None:
    """Empty an estimate, with what the customer said to it, and end its links."""
    row = connection.execute(select(estimate).where(estimate.c.id == number)).one()
    held: HeldEstimate = held_estimate(row)
    _erase_content(connection, f"estimate/{number}")
    connection.execute(delete(estimate_link).where(estimate_link.c.estimate_id == number))
    kept = ("walkaround_id", "currency", "place", "made_at", "ids_used")
    values = {key: getattr(held.estimate, key) for key in kept}
    blank = Estimate.model_validate({"id": held.id, "draft": True, **values, MARK: now()})
    more = {FORGOTTEN: ["estimates"], "set_aside": True}
    body = event_body(why=why, changes=difference(None, blank), more=more)
    told = append(connection, stream=f"estimate/{number}", who=who, what=FORGOTTEN, body=body)
    write_estimate(connection, held, blank, told)


def erase_sound(connection: Connection, digests: Sequence[str], cut: Sequence[int], *, who: str, why: str) -> None:
    """Take recordings (sha256) and what was cut from them (ids of attachments) out of the tables."""
    of_them = select(heard.c.walkaround_id, heard.c.sha256).where(heard.c.sha256.in_(digests))
    lost: dict[int, list[str]] = {}
    for row in connection.execute(of_them.order_by(heard.c.walkaround_id, heard.c.recording_id)):
        lost.setdefault(row.walkaround_id, []).append(row.sha256)
    for number in connection.scalars(select(attachment.c.walkaround_id).where(attachment.c.id.in_(cut)).distinct()):
        lost.setdefault(number, [])
    connection.execute(update(heard).where(heard.c.sha256.in_(digests)).values(sha256=None))
    connection.execute(delete(attachment).where(attachment.c.id.in_(cut)))
    connection.execute(delete(recording).where(recording.c.sha256.in_(digests)))
    for number, of_it in sorted(lost.items()):
        held = read_within(connection, f"w{number}")
        more = {FORGOTTEN: ["audio"], "recordings": of_it}
        change_within(connection, held, held.walkaround, who=who, what=FORGOTTEN, why=why, more=more)


def erase_photos(connection: Connection, photos: Sequence[int]) -> None:
    """Take attachments out of the tables."""
    connection.execute(delete(capture_photo).where(capture_photo.c.attachment_id.in_(photos)))
    connection.execute(delete(attachment).where(attachment.c.id.in_(photos)))


def erase_jobs(connection: Connection, jobs: Sequence[int]) -> None:
    """Take names and reasons out of jobs, and stop those that are not over."""
    mine = job.c.id.in_(jobs)
    under_way = and_(mine, job.c.state.in_(("waiting", "working")))
    connection.execute(update(job).where(under_way).values(state="stopped", worker=None, lease_until=None))
    connection.execute(update(job).where(mine).values(name=NAMELESS, why=""))


def erase_visits(connection: Connection, visits: Iterable[int], *, who: str, why: str) -> int:
    """Take orders out that nothing unforgotten hangs on; return how many."""
    gone = 0
    for number in visits:
        here = or_(is_live(walkaround), _live_estimate())
        if connection.execute(select(walkaround.c.id).where(walkaround.c.visit_id == number, here)).first():
            continue
        waits = and_(job.c.visit_id == number, job.c.state.in_(("waiting", "working")))
        if connection.execute(select(job.c.id).where(waits)).first():
            continue
        speaks = and_(capture.c.visit_id == number, capture.c.job_id.is_(None))
        if connection.execute(select(capture.c.key).where(speaks)).first():
            continue
        for table in (walkaround, job, capture):
            connection.execute(update(table).where(table.c.visit_id == number).values(visit_id=None))
        gone += _erase_row(connection, visit, "order", number, who=who, why=why)
    return gone


def erase_vehicles(connection: Connection, vehicles: Iterable[int], *, who: str, why: str) -> int:
    """Take vehicles out that nothing unforgotten hangs on; return how many."""
    gone = 0
    for number in vehicles:
        here = or_(is_live(walkaround), _live_estimate())
        of_it = select(walkaround.c.id).where(walkaround.c.vehicle_id == number, here)
        ordered = select(visit.c.id).where(visit.c.vehicle_id == number)
        if connection.execute(of_it).first() or connection.execute(ordered).first():
            continue
        connection.execute(update(walkaround).where(walkaround.c.vehicle_id == number).values(vehicle_id=None))
        gone += _erase_row(connection, vehicle, "vehicle", number, who=who, why=why)
    return gone


def erase_customers(connection: Connection, customers: Iterable[int], *, asked: bool, who: str, why: str) -> int:
    """Take customers out; return how many. Not `asked` for by name: only those that no order or vehicle names."""
    gone = 0
    for number in customers:
        named = [
            select(table.c.id).where(table.c.customer_id == number) for table in (visit, *(() if asked else (vehicle,)))
        ]
        if any(connection.execute(each).first() for each in named):
            continue
        connection.execute(update(vehicle).where(vehicle.c.customer_id == number).values(customer_id=None))
        _erase_mentions(connection, number)
        gone += _erase_row(connection, customer, "customer", number, who=who, why=why)
    return gone


def _erase_mentions(connection: Connection, number: int) -> None:
    """Erase what events of others' orders said of a customer: an order may have been theirs before it was corrected."""
    row = connection.execute(select(customer).where(customer.c.id == number)).first()
    for value in (row.name, row.phone, row.email) if row else ():
        if value:
            told = json.dumps(value, ensure_ascii=False)
            named = set(connection.scalars(select(visit.c.id).where(visit.c.record.contains(told, autoescape=True))))
            said = content.c.body.contains(told, autoescape=True)
            of_orders = select(event.c.stream).join(content).where(event.c.stream.startswith("order/"), said).distinct()
            for stream in list(connection.scalars(of_orders)):
                # Somebody of the same name, whose order it is.
                if int(stream.removeprefix("order/")) not in named:
                    _erase_content(connection, stream, said)


def _live_estimate() -> ColumnElement[bool]:
    return select(estimate.c.id).where(estimate.c.walkaround_id == walkaround.c.id, is_live(estimate)).exists()


def _erase_row(connection: Connection, table: Table, kind: str, number: int, *, who: str, why: str) -> int:
    done = connection.execute(delete(table).where(table.c.id == number)).rowcount
    if done:
        _erase_content(connection, f"{kind}/{number}")
        body: dict[str, Any] = event_body(why=why, more={FORGOTTEN: [kind]})
        append(connection, stream=f"{kind}/{number}", who=who, what=FORGOTTEN, body=body)
    return done


def _erase_content(connection: Connection, stream: str, *which: ColumnElement[bool]) -> None:
    said = select(event.c.content).where(event.c.stream == stream)
    there = and_(content.c.digest.in_(said), content.c.body.is_not(None), *which)
    connection.execute(update(content).where(there).values(body=None, erased_at=now()))
