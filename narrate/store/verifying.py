"""Whether the store holds together: the chain of events, what they say, the records they add up to, the files."""

import json
from collections.abc import Generator, Iterable, Iterator, Sequence
from contextlib import closing
from pathlib import Path
from typing import Any, Literal

from sqlalchemy import Connection, Row, Table, select

from narrate.errors import MissingError, StoreError
from narrate.hear.digests import sha256_of
from narrate.records.estimate import Estimate
from narrate.records.walkaround import Walkaround
from narrate.store.attachments import attachment_file, read_attachment
from narrate.store.books import book_problem
from narrate.store.capture_ends import capture_problems
from narrate.store.chain import GENESIS, digest_of, link
from narrate.store.engine import Store
from narrate.store.estimate_rows import estimate_state_after
from narrate.store.estimate_tables import estimate
from narrate.store.events import event_of, with_bodies
from narrate.store.folding import Plain, plain, plain_applied
from narrate.store.keeping import state_after
from narrate.store.recordings import KeptRecording, file_of
from narrate.store.tables import attachment, content, event, heard, recording, walkaround
from narrate.store.undoing import FORGOTTEN

MOST = 100
"""Problems told; a store with more is beyond telling them one by one."""


def verify(store: Store, *, deep: bool = False) -> list[str]:
    """Return what is wrong with the store, a sentence each; nothing where all holds together.

    Finds events changed, missing or put in, bodies that are not what their digest says (erased ones are allowed),
    walkarounds that are not what their events add up to, words other than those heard, and recordings gone or of
    another size; with `deep` every recording is read again whole.
    """
    problems: list[str] = []
    with closing(_problems(store, deep)) as found:
        for problem in found:
            if len(problems) == MOST:
                return [*problems, f"There is more wrong than these {MOST}; restore the store from a backup."]
            problems.append(problem)
    return problems


def _problems(store: Store, deep: bool) -> Generator[str, None, None]:
    with store.reading() as connection:
        yield from _chain(connection)
        for row in connection.execute(select(walkaround.c.id).order_by(walkaround.c.id)).all():
            yield from _walkaround(connection, row.id)
        for row in connection.execute(select(estimate.c.id).order_by(estimate.c.id)).all():
            yield from _estimate(connection, row.id)
        yield from _without_record(connection, "walkaround", _numbers(connection, walkaround))
        yield from _without_record(connection, "estimate", _numbers(connection, estimate))
        yield from book_problem(connection)
        kept = [KeptRecording(**row) for row in connection.execute(select(recording)).mappings()]
        attached = connection.scalars(select(attachment.c.id).order_by(attachment.c.id)).all()
    for each in kept:
        path = file_of(store, each.sha256, each.suffix)
        yield from _file(f"The recording {each.name} ({each.sha256[:12]})", path, each.bytes, deep and each.sha256)
    yield from capture_problems(store, deep=deep)
    for number in attached:
        yield from _attachment(store, f"a{number}", deep)


def _chain(connection: Connection) -> Iterator[str]:
    asked = with_bodies().add_columns(content.c.erased_at)
    with connection.execute(asked, execution_options={"yield_per": 500}) as rows:
        yield from _links(rows)


def _links(rows: Iterable[Row[*tuple[Any, ...]]]) -> Iterator[str]:
    number, previous = 0, GENESIS
    for row in rows:
        number += 1
        if row.number != number:
            gone = f"event {number}" if row.number == number + 1 else f"events {number} to {row.number - 1}"
            yield f"The chain lacks {gone}."
            number = row.number
        elif row.previous != previous:
            yield f"Event {row.number} does not follow the event before it; one of them was put in or changed."
        parts = {key: getattr(row, key) for key in ("previous", "number", "stream", "at", "who", "what", "content")}
        if row.digest != link(**parts):
            yield f"Event {row.number} is not what was written."
        if row.body is None:
            if row.erased_at is None:
                yield f"What event {row.number} says is missing."
        elif digest_of(row.body) != row.content:
            yield f"What event {row.number} says is not what was written."
        previous = row.digest


def _walkaround(connection: Connection, number: int) -> Iterator[str]:
    row = connection.execute(select(walkaround).where(walkaround.c.id == number)).one()
    rows = connection.execute(with_bodies().where(event.c.stream == f"walkaround/{number}")).all()
    if not rows or rows[-1].number != row.revision:
        yield f"The last event of w{number} is missing, or its record was changed without one."
        return
    rows = _since_forgotten(rows)
    if any(each.body is None for each in rows):
        return
    try:
        folded, state, words = _fold(rows)
        same = _same(folded, json.loads(row.record), Walkaround)
    except (ValueError, StoreError):
        yield f"The record or the events of w{number} cannot be read."
        return
    if not same or state != row.state:
        yield f"The record of w{number} is not what its events add up to."
    yield from _words(connection, number, words)


def _estimate(connection: Connection, number: int) -> Iterator[str]:
    row = connection.execute(select(estimate).where(estimate.c.id == number)).one()
    rows = connection.execute(with_bodies().where(event.c.stream == f"estimate/{number}")).all()
    if not rows or rows[-1].number != row.revision:
        yield f"The last event of e{number} is missing, or its record was changed without one."
        return
    rows = _since_forgotten(rows)
    if any(each.body is None for each in rows):
        return
    folded: Plain = {}
    state = "draft"
    try:
        for each in rows:
            told = event_of(each)
            folded = plain_applied(folded, told.changes, Estimate)
            state = estimate_state_after(state, Estimate.model_validate(folded), told)
        same = _same(folded, json.loads(row.record), Estimate)
    except (ValueError, StoreError):
        yield f"The record or the events of e{number} cannot be read."
        return
    if not same or state != row.state:
        yield f"The record of e{number} is not what its events add up to."


def _since_forgotten(rows: Sequence[Row[*tuple[Any, ...]]]) -> Sequence[Row[*tuple[Any, ...]]]:
    """Return the events from the last one that emptied the record: it tells the record anew, from nothing."""
    for place in range(len(rows) - 1, -1, -1):
        told = rows[place]
        if told.what == FORGOTTEN and told.body is not None and event_of(told).changes:
            return rows[place:]
    return rows


def _fold(rows: Sequence[Row[*tuple[Any, ...]]]) -> tuple[Plain, str, dict[str, str]]:
    """Return the record and the state that events add up to, and the digests of the words they brought."""
    folded: Plain = {}
    state = "to_check"
    words: dict[str, str] = {}
    for row in rows:
        told = event_of(row)
        folded = plain_applied(folded, told.changes)
        words |= told.more.get("heard", {})
        state = state_after(state, signed=folded.get("signed") is not None, event=told)
    return folded, state, words


def _same(folded: Plain, kept: Plain, model: type[Walkaround | Estimate]) -> bool:
    """Whether two records are one. A field that a later program brought may be missing in one of them."""
    told = [{kind: value for kind, value in each.items() if value is not None} for each in (folded, kept)]
    return told[0] == told[1] or plain(model.model_validate(folded)) == plain(model.model_validate(kept))


def _words(connection: Connection, number: int, written: dict[str, str]) -> Iterator[str]:
    asked = select(heard.c.recording_id, heard.c.record).where(heard.c.walkaround_id == number)
    there = {row.recording_id: digest_of(row.record) for row in connection.execute(asked)}
    for id_ in sorted(written.keys() | there.keys()):
        if id_ not in there:
            yield f"The words of recording {id_} of w{number} are missing."
        elif there[id_] != written.get(id_):
            yield f"The words of recording {id_} of w{number} are not those that were heard."


def _numbers(connection: Connection, table: Table) -> set[str]:
    return {str(number) for number in connection.scalars(select(table.c.id))}


def _without_record(connection: Connection, kind: str, present: set[str]) -> Iterator[str]:
    streams = select(event.c.stream).join(content).where(content.c.body.is_not(None)).distinct()
    streams = streams.where(event.c.stream.startswith(f"{kind}/"))
    told = {stream.removeprefix(f"{kind}/") for stream in connection.scalars(streams)}
    for number in sorted(told - present):
        yield f"There are events of {kind[0]}{number}, but its record is missing."


def _attachment(store: Store, id_: str, deep: bool) -> Iterator[str]:
    known = read_attachment(store, id_)
    try:
        path = attachment_file(store, known)
    except MissingError as error:
        yield str(error)
        return
    yield from _file(f"The file of {id_}", path, None, deep and known.sha256)


def _file(name: str, path: Path, size: int | None, sha256: str | Literal[False]) -> Iterator[str]:
    """Look whether a file is there, of that size where it is known, and with that digest where one is given."""
    try:
        found = path.stat().st_size
        if size is not None and found != size:
            yield f"{name} has {found:,} bytes instead of {size:,}; restore it from a backup."
        elif sha256 and sha256_of(path) != sha256:
            yield f"{name} is not what was kept; restore it from a backup."
    except FileNotFoundError:
        yield f"{name} is missing from the data folder; restore it from a backup."
    except OSError as error:
        yield f"{name} cannot be read ({error.strerror})."
