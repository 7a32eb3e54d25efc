"""Estimates in the tables, for use inside a transaction: read, added, changed with the event that says so."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple

from sqlalchemy import Connection, Row, select

from narrate.errors import MissingError, StoreError
from narrate.records.estimate import Choice, Estimate, Job
from narrate.records.event import Event
from narrate.store.chain import canonical
from narrate.store.clock import now
from narrate.store.estimate_tables import estimate as table
from narrate.store.estimate_tables import offered_job
from narrate.store.events import append
from narrate.store.folding import difference, plain
from narrate.store.keeping import counted, event_body, number_in, row_of
from narrate.store.listed import letters_and_digits, storable
from narrate.store.tables import walkaround

OPEN = ("offered", "decide_by")
"""States of a job that somebody still has to answer."""
NOT_OFFERED = ("draft", "set_aside")
"""States of an estimate that counts for nothing: no customer can answer it."""


@dataclass(frozen=True)
class HeldEstimate:
    """An estimate as the store holds it. `revision` is the number of its last event; times are ISO, UTC."""

    estimate: Estimate
    revision: int
    state: str
    """`draft`, `offered`, `answered` (no needed job waits for an answer) or `set_aside`."""
    added_at: str
    changed_at: str

    @property
    def id(self) -> str:
        """The estimate's id, `e7`."""
        return self.estimate.id

    @property
    def row(self) -> int:
        """The number in its id."""
        return estimate_row(self.estimate.id)


class ChangedEstimate(NamedTuple):
    """What a change came to, and its event: None where nothing changed."""

    held: HeldEstimate
    event: Event | None


def estimate_row(id_: str) -> int:
    """Return 7 for `e7`. Raises MissingError for what cannot be an estimate's id."""
    number = number_in(id_, "e")
    if number is None:
        raise MissingError(missing_estimate(id_))
    return number


def estimate_stream(id_: str) -> str:
    """Return the stream of an estimate's events, `estimate/7` for `e7`."""
    return f"estimate/{estimate_row(id_)}"


def missing_estimate(id_: str) -> str:
    """Say that there is no such estimate."""
    return f"There is no estimate {id_!r} in the store; look for it beside its walk-round."


def read_estimate_within(connection: Connection, id_: str) -> HeldEstimate:
    """Return the estimate `e7`. Raises MissingError."""
    row = connection.execute(select(table).where(table.c.id == estimate_row(id_))).first()
    if row is None:
        raise MissingError(missing_estimate(id_))
    return held_estimate(row)


def held_estimate(row: Row[Any]) -> HeldEstimate:
    """Return the estimate in a row."""
    record = Estimate.model_validate_json(row.record)
    return HeldEstimate(record, row.revision, row.state, row.added_at, row.changed_at)


def add_estimate_within(connection: Connection, given: Estimate, *, who: str) -> HeldEstimate:
    """Add an estimate inside `store.writing()`; it gets the next id, and `made` is its first event.

    Raises MissingError where its walkaround is not in the store.
    """
    about = row_of(given.walkaround_id)
    if connection.scalar(select(walkaround.c.id).where(walkaround.c.id == about)) is None:
        message = f"There is no walkaround {given.walkaround_id!r} in the store to make an estimate of."
        raise MissingError(message)
    at = now()
    blank = {"revision": 0, "jobs": 0, "to_be_priced": 0, "vehicle": "", "search": "", "record": "{}", "total": "0"}
    row = {"walkaround_id": about, "state": "draft", "currency": given.currency, "added_at": at, "changed_at": at}
    number = connection.scalar(table.insert().values(**row, **blank).returning(table.c.id))
    named = counted(given.model_copy(update={"id": f"e{number}"}), before=None)
    body = event_body(changes=difference(None, named))
    event = append(connection, stream=estimate_stream(named.id), who=who, what="made", body=body)
    return write_estimate(connection, HeldEstimate(named, 0, "draft", at, at), named, event)


def change_estimate_within(
    connection: Connection,
    held: HeldEstimate,
    after: Estimate,
    *,
    who: str,
    what: str,
    why: str | None = None,
    about: str | None = None,
    reverses: int | None = None,
    more: dict[str, Any] | None = None,
    always: bool = False,
) -> ChangedEstimate:
    """Keep what an estimate became, with the event that says so; neither where nothing changed, unless `always`.

    `more` that says `set_aside` sets it aside, or brings it back. Raises StoreError where it would become another.
    """
    if (after.id, after.walkaround_id) != (held.id, held.estimate.walkaround_id):
        message = f"A change may not make {held.id} another estimate."
        raise StoreError(message)
    after = counted(after, before=held.estimate)
    changes = difference(held.estimate, after)
    if not (changes or more or always):
        return ChangedEstimate(held, None)
    body = event_body(why=why, about=about, changes=changes, reverses=reverses, more=more)
    event = append(connection, stream=estimate_stream(held.id), who=who, what=what, body=body)
    return ChangedEstimate(write_estimate(connection, held, after, event), event)


def estimate_state_after(before: str, after: Estimate, event: Event) -> str:
    """Return the state that an event leaves an estimate in; `after` is the estimate after it."""
    if event.more.get("set_aside", before == "set_aside"):
        return "set_aside"
    if after.draft:
        return "draft"
    waits = any(job.state in OPEN for job in after.jobs if not job.optional)
    return "offered" if waits or not after.jobs else "answered"


def way_of(job: Job) -> Choice | None:
    """Return the way a job is done: the one chosen, else the first."""
    chosen = next((choice for choice in job.choices if choice.id == job.chosen), None)
    return chosen or next(iter(job.choices), None)


def write_estimate(connection: Connection, held: HeldEstimate, after: Estimate, event: Event) -> HeldEstimate:
    """Write what an estimate became by an event into its rows."""
    state = estimate_state_after(held.state, after, event)
    values = {"state": state, "revision": event.number, "changed_at": event.at, "record": canonical(plain(after))}
    number = estimate_row(after.id)
    connection.execute(table.update().where(table.c.id == number).values(**values, **_columns(after)))
    connection.execute(offered_job.delete().where(offered_job.c.estimate_id == number))
    if rows := [{"estimate_id": number, **row} for row in _job_rows(after)]:
        connection.execute(offered_job.insert(), rows)
    return HeldEstimate(after, event.number, state, held.added_at, event.at)


def _columns(given: Estimate) -> dict[str, Any]:
    """Return the columns that repeat parts of the record, so that a list need not read it."""
    return {
        "jobs": len(given.jobs),
        "to_be_priced": len(given.to_be_priced),
        "currency": given.currency,
        "total": str(given.totals.total),
        "order_number": storable(given.order_number),
        "customer": storable(_told(given.customer, "name")),
        "vehicle": storable(_vehicle_text(given)) or "",
        "expires_on": given.expires_on,
        "search": storable("\n".join(_searched(given))),
    }


def _job_rows(given: Estimate) -> Iterator[dict[str, Any]]:
    for job in given.jobs:
        way = way_of(job)
        answered = [consent.at for consent in given.consents if job.id in consent.answers]
        yield {
            "job_id": job.id,
            "component": job.component,
            "state": job.state,
            "optional": job.optional,
            "amount": str(way.subtotal) if way else "0",
            "answered_at": answered[-1] if answered else None,
            "decide_by_date": job.decide_by_date if job.state == "decide_by" else None,
        }


def _searched(given: Estimate) -> Iterator[str]:
    texts = (given.id, given.walkaround_id, given.order_number, _told(given.customer, "name"), _vehicle_text(given))
    for text in (*texts, _told(given.vehicle, "plate"), _told(given.vehicle, "vin")):
        if text:
            yield text.lower()
    if plate := _told(given.vehicle, "plate"):
        yield letters_and_digits(plate)
    yield given.made_at[:10]


def _vehicle_text(given: Estimate) -> str:
    return " ".join(filter(None, (_told(given.vehicle, key) for key in ("year", "make", "model"))))


def _told(values: dict[str, Any], key: str) -> str | None:
    value = values.get(key)
    return None if value is None else str(value)
