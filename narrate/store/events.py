"""Events: who changed what and when; written once, never changed."""

import json
import secrets
from collections.abc import Iterator
from typing import Any

from sqlalchemy import Connection, Row, Select, select

from narrate.errors import StoreError
from narrate.records.event import Event
from narrate.store.chain import GENESIS, canonical, digest_of, link
from narrate.store.clock import now
from narrate.store.engine import Store
from narrate.store.tables import content, event

GIVEN_BY_THE_CHAIN = frozenset({"number", "stream", "at", "who", "what", "salt", "erased"})


def append(connection: Connection, *, stream: str, who: str, what: str, body: dict[str, Any]) -> Event:
    """Write one event at the end of the chain and return it; only inside `store.writing()`.

    `body` holds fields of `records.Event` (`why`, `about`, `changes`, `reverses`, `more`) as JSON values. A random
    salt goes in, so that an erased body cannot be guessed from its digest.
    """
    if taken := GIVEN_BY_THE_CHAIN & body.keys():
        message = f"An event's body may not hold {', '.join(sorted(taken))}."
        raise StoreError(message)
    last = connection.execute(select(event.c.number, event.c.digest).order_by(event.c.number.desc()).limit(1)).first()
    number, previous = (last.number + 1, last.digest) if last else (1, GENESIS)
    text = canonical({**body, "salt": secrets.token_hex(16)})
    said, at = digest_of(text), now()
    digest = link(previous=previous, number=number, stream=stream, at=at, who=who, what=what, content=said)
    told = {"number": number, "stream": stream, "at": at, "who": who, "what": what}
    connection.execute(content.insert().values(digest=said, body=text))
    connection.execute(event.insert().values(**told, content=said, previous=previous, digest=digest))
    return Event.model_validate({**told, **body})


def events_of(connection: Connection, stream: str) -> tuple[Event, ...]:
    """Return a stream's events, the oldest first; an erased one has no changes and `erased` set."""
    return tuple(event_of(row) for row in connection.execute(with_bodies().where(event.c.stream == stream)))


def latest_events(connection: Connection, stream: str) -> Iterator[Event]:
    """Yield a stream's events, the latest first, read as they are asked for."""
    chosen = with_bodies().where(event.c.stream == stream).order_by(None).order_by(event.c.number.desc())
    with connection.execute(chosen, execution_options={"yield_per": 4}) as rows:
        for row in rows:
            yield event_of(row)


def read_events(store: Store, stream: str) -> tuple[Event, ...]:
    """Return a stream's events, the oldest first."""
    with store.reading() as connection:
        return events_of(connection, stream)


def every_event(connection: Connection, *, streams: str) -> Iterator[Event]:
    """Yield the events of all streams that begin with `streams` ("walkaround/"), the oldest first."""
    chosen = with_bodies().where(event.c.stream.startswith(streams, autoescape=True))
    with connection.execute(chosen, execution_options={"yield_per": 500}) as rows:
        for row in rows:
            yield event_of(row)


def head(store: Store) -> tuple[int, str]:
    """Return number and digest of the chain's last event: whoever keeps them can tell later if it was rewritten."""
    with store.reading() as connection:
        chosen = select(event.c.number, event.c.digest).order_by(event.c.number.desc()).limit(1)
        last = connection.execute(chosen).first()
    return (last.number, last.digest) if last else (0, GENESIS)


def with_bodies() -> Select[Any]:
    """Return the question for events and their bodies, by number."""
    return select(event, content.c.body).join(content, isouter=True).order_by(event.c.number)


def event_of(row: Row[Any]) -> Event:
    """Return the event in a row of `with_bodies`."""
    body = {"erased": True} if row.body is None else json.loads(row.body)
    body.pop("salt", None)
    return Event(number=row.number, stream=row.stream, at=row.at, who=row.who, what=row.what, **body)
