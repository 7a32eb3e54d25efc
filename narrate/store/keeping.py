"""Walkarounds in the tables, for use inside a transaction: read, added, changed with the event that says so."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NamedTuple

from sqlalchemy import Connection, Row, select

from narrate.errors import MissingError, StoreError
from narrate.records.estimate import Estimate
from narrate.records.event import Change, Event
from narrate.records.recording import Recording, Word
from narrate.records.walkaround import Walkaround
from narrate.store.chain import canonical, digest_of
from narrate.store.clock import now
from narrate.store.events import append
from narrate.store.folding import COUNTED, WITH_IDS, Folded, difference, highest, plain
from narrate.store.listed import columns
from narrate.store.tables import heard, recording, walkaround


@dataclass(frozen=True)
class Held:
    """A walkaround as the store holds it. `revision` is the number of its last event."""

    walkaround: Walkaround
    revision: int
    state: str
    """`to_check`, `signed` or `set_aside`."""
    visit_id: int | None
    vehicle_id: int | None
    added_at: str
    changed_at: str

    @property
    def id(self) -> str:
        """The walkaround's id, `w7`."""
        return self.walkaround.id

    @property
    def row(self) -> int:
        """The number in its id."""
        return row_of(self.walkaround.id)


class Changed(NamedTuple):
    """What a change came to, and its event: None where nothing changed."""

    held: Held
    event: Event | None


def row_of(id_: str) -> int:
    """Return 7 for `w7`. Raises MissingError for what cannot be a walkaround's id."""
    number = number_in(id_, "w")
    if number is None:
        raise MissingError(_missing(id_))
    return number


def number_in(id_: str, letter: str) -> int | None:
    """Return 7 for `w7` and the letter `w`; None for what no row can have as its id."""
    digits = id_[1:]
    # Tables hold 32 bits on PostgreSQL.
    if id_[:1] == letter and digits.isascii() and digits.isdigit() and len(digits) < 10:
        return int(digits)
    return None


def stream_of(id_: str) -> str:
    """Return the stream of a walkaround's events, `walkaround/7` for `w7`."""
    return f"walkaround/{row_of(id_)}"


def read_within(connection: Connection, id_: str) -> Held:
    """Return the walkaround `w7` with its words. Raises MissingError."""
    row = connection.execute(select(walkaround).where(walkaround.c.id == row_of(id_))).first()
    if row is None:
        raise MissingError(_missing(id_))
    return held_of(row, _records(connection, row.id))


def held_of(row: Row[Any], records: dict[str, str]) -> Held:
    """Return the walkaround in a row; `records` holds its recordings as heard, JSON, by their ids."""
    bare = Walkaround.model_validate_json(row.record)
    for each in bare.recordings:
        if each.id not in records:
            message = f"The words of recording {each.id} of w{row.id} are missing; run 'narrate doctor'."
            raise StoreError(message)
    filled = (each.model_copy(update={"words": _words_in(records[each.id])}) for each in bare.recordings)
    return Held(
        walkaround=bare.model_copy(update={"recordings": tuple(filled)}),
        revision=row.revision,
        state=row.state,
        visit_id=row.visit_id,
        vehicle_id=row.vehicle_id,
        added_at=row.added_at,
        changed_at=row.changed_at,
    )


def add_within(
    connection: Connection,
    given: Walkaround,
    *,
    who: str,
    visit_id: int | None = None,
    vehicle_id: int | None = None,
    more: dict[str, Any] | None = None,
) -> Held:
    """Add a walkaround inside `store.writing()`; it gets the next id, and `heard` is its first event."""
    at = now()
    blank = {"revision": 0, "findings": 0, "to_check": 0, "vehicle": "", "search": "", "record": "{}"}
    row = {"visit_id": visit_id, "vehicle_id": vehicle_id, "state": "to_check", "added_at": at, "changed_at": at}
    number = connection.scalar(walkaround.insert().values(**row, **blank).returning(walkaround.c.id))
    named = counted(given.model_copy(update={"id": f"w{number}"}), before=None)
    blank_held = Held(named.model_copy(update={"recordings": ()}), 0, "to_check", visit_id, vehicle_id, at, at)
    words = _keep_words(connection, blank_held, named)
    body = event_body(changes=difference(None, named), more={**(more or {}), **words})
    event = append(connection, stream=stream_of(named.id), who=who, what="heard", body=body)
    return write_row(connection, blank_held, named, event)


def change_within(
    connection: Connection,
    held: Held,
    after: Walkaround,
    *,
    who: str,
    what: str,
    why: str | None = None,
    about: str | None = None,
    reverses: int | None = None,
    more: dict[str, Any] | None = None,
    always: bool = False,
) -> Changed:
    """Keep what a walkaround became, with the event that says so; neither where nothing changed, unless `always`.

    `more` that says `set_aside` sets it aside, or brings it back. Raises StoreError for a change of words heard.
    """
    if after.id != held.id:
        message = f"A change may not rename {held.id} to {after.id}."
        raise StoreError(message)
    after = counted(after, before=held.walkaround)
    changes = difference(held.walkaround, after)
    if not (changes or more or always):
        return Changed(held, None)
    words = _keep_words(connection, held, after)
    body = event_body(why=why, about=about, changes=changes, reverses=reverses, more={**(more or {}), **words})
    event = append(connection, stream=stream_of(held.id), who=who, what=what, body=body)
    return Changed(write_row(connection, held, after, event), event)


def with_words(connection: Connection, bare: Walkaround) -> Walkaround:
    """Return a walkaround with the words of recordings that have none, as they were heard."""
    records = _records(connection, row_of(bare.id))
    heard_in = {
        each.id: _words_in(records[each.id]) for each in bare.recordings if not each.words and each.id in records
    }
    filled = (each.model_copy(update={"words": heard_in.get(each.id, each.words)}) for each in bare.recordings)
    return bare.model_copy(update={"recordings": tuple(filled)})


def write_row(connection: Connection, held: Held, after: Walkaround, event: Event) -> Held:
    """Write what a walkaround became by an event into its row."""
    state = state_after(held.state, signed=after.signed is not None, event=event)
    values = {"state": state, "revision": event.number, "changed_at": event.at, "record": canonical(plain(after))}
    values |= columns(after, added_at=held.added_at)
    connection.execute(walkaround.update().where(walkaround.c.id == row_of(after.id)).values(**values))
    kept = (held.visit_id, held.vehicle_id, held.added_at, event.at)
    return Held(after, event.number, state, *kept)


def state_after(before: str, *, signed: bool, event: Event) -> str:
    """Return the state that an event leaves a walkaround in; `signed` tells of the walkaround after it."""
    if event.more.get("set_aside", before == "set_aside"):
        return "set_aside"
    return "signed" if signed else "to_check"


def counted(after: Folded, *, before: Folded | None) -> Folded:
    """Return it with `ids_used` no lower than before, nor than any id in it."""
    used = highest(before.ids_used if before else None, after.ids_used, _numbers(after))
    return after if used == after.ids_used else after.model_copy(update={COUNTED: used})


def event_body(
    *,
    changes: Iterable[Change] = (),
    why: str | None = None,
    about: str | None = None,
    reverses: int | None = None,
    more: dict[str, Any] | None = None,
) -> dict[str, Any]:
    """Return the body of an event, without what is empty."""
    told = [{key: value for key, value in dict(change).items() if value is not None} for change in changes]
    body = {"changes": told, "why": why, "about": about, "reverses": reverses, "more": more}
    return {key: value for key, value in body.items() if value not in (None, [], {})}


def _keep_words(connection: Connection, held: Held, after: Walkaround) -> dict[str, Any]:
    """Keep the words of recordings that were not there before; return their digests, for the event.

    Raises StoreError where the words of one that was there are other than they were.
    """
    before = {each.id: each for each in held.walkaround.recordings}
    new: dict[str, str] = {}
    for each in after.recordings:
        if each.id in before:
            if each.words != before[each.id].words:
                message = f"The words heard in recording {each.id} of {held.id} may not change."
                raise StoreError(message)
        elif record := _add_words(connection, row_of(held.id), each):
            new[each.id] = digest_of(record)
    return {"heard": new} if new else {}


def _add_words(connection: Connection, row: int, given: Recording) -> str | None:
    """Write a recording as heard and return its JSON; None where it is there from an earlier time."""
    asked = select(heard.c.record).where(heard.c.walkaround_id == row, heard.c.recording_id == given.id)
    kept = connection.scalar(asked)
    if kept is not None:
        if _words_in(kept) != given.words:
            message = f"The words heard in recording {given.id} of w{row} may not change."
            raise StoreError(message)
        return None
    record = canonical(given.model_dump(mode="json"))
    known = connection.scalar(select(recording.c.sha256).where(recording.c.sha256 == given.sha256))
    values = {"walkaround_id": row, "recording_id": given.id, "sha256": known, "record": record}
    connection.execute(heard.insert().values(**values))
    return record


@lru_cache(maxsize=16)
def _words_in(record: str) -> tuple[Word, ...]:
    """The words of a recording as heard. Kept, for half an hour of them takes longer to read than all else to do."""
    return Recording.model_validate_json(record).words


def _numbers(given: Walkaround | Estimate) -> dict[str, int]:
    """The highest number in use of each letter of ids."""
    used: dict[str, int] = {}
    for kind in WITH_IDS[type(given)]:
        for thing in getattr(given, kind):
            letter, digits = thing.id[:1], thing.id[1:]
            if letter.isalpha() and digits.isascii() and digits.isdigit():
                used[letter] = max(int(digits), used.get(letter, 0))
    return used


def _records(connection: Connection, row: int) -> dict[str, str]:
    asked = select(heard.c.recording_id, heard.c.record).where(heard.c.walkaround_id == row)
    return {each.recording_id: each.record for each in connection.execute(asked)}


def _missing(id_: str) -> str:
    return f"There is no walkaround {id_!r} in the store; look for it on the page of all walkarounds."
