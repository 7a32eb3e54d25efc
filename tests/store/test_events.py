"""Events are chained, written once, and can only be erased."""

import hashlib
import json

import pytest
from sqlalchemy import Connection, select, text
from sqlalchemy.exc import DatabaseError

from narrate.errors import StoreError
from narrate.store import events
from narrate.store.engine import Store
from narrate.store.tables import content, event


def write(store: Store, count: int = 3) -> None:
    with store.writing() as connection:
        for number in range(count):
            body = {"why": f"reason {number}", "more": {"rate": "135.00"}}
            events.append(connection, stream="shop", who="Pat", what="rate", body=body)


def test_an_event_is_read_as_it_was_written(store: Store) -> None:
    """Streams keep apart, numbers count through the store."""
    with store.writing() as connection:
        first = events.append(connection, stream="shop", who="Pat", what="rate", body={"why": "Zoë’s café \0"})
        other = events.append(connection, stream="order/1", who="Dana", what="added", body={})
    assert (1, 2) == (first.number, other.number)
    assert (first,) == events.read_events(store, "shop")
    assert "Zoë’s café \0" == first.why
    assert () == events.read_events(store, "order/2")


def test_the_chain_is_what_the_tables_say(store: Store) -> None:
    """Each digest can be made again from the row and the one before, with nothing but SHA-256."""
    write(store)
    previous = "0" * 64
    with store.reading() as connection:
        rows = connection.execute(select(event, content.c.body).join(content).order_by(event.c.number)).all()
    for number, row in enumerate(rows, 1):
        assert previous == row.previous
        assert hashlib.sha256(row.body.encode()).hexdigest() == row.content
        parts = [previous, number, "shop", row.at, "Pat", "rate", row.content]
        assert hashlib.sha256(json.dumps(parts, ensure_ascii=False).encode()).hexdigest() == row.digest
        previous = row.digest
    assert (3, previous) == events.head(store)


def test_the_same_said_twice_has_two_digests(store: Store) -> None:
    """A salt keeps an erased body from being guessed."""
    with store.writing() as connection:
        for _ in range(2):
            events.append(connection, stream="shop", who="Pat", what="rate", body={"why": "same"})
    with store.reading() as connection:
        assert 2 == len(set(connection.scalars(select(event.c.content))))


def test_a_body_cannot_pass_for_the_chain(store: Store) -> None:
    """Who and when are the store's to say."""
    with pytest.raises(StoreError, match="may not hold who"), store.writing() as connection:
        events.append(connection, stream="shop", who="Pat", what="rate", body={"who": "Dana"})


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE event SET who = 'Dana'",
        "UPDATE event SET digest = 'x' WHERE number = 2",
        "DELETE FROM event WHERE number = 3",
        "UPDATE content SET body = '{}'",
        "UPDATE content SET body = NULL",
        "UPDATE content SET digest = 'x', body = NULL, erased_at = 'now'",
        "DELETE FROM content",
    ],
)
def test_what_is_written_cannot_be_changed(store: Store, statement: str) -> None:
    """The database itself refuses."""
    write(store)
    with pytest.raises(DatabaseError, match="written once is never changed"), store.writing() as connection:
        connection.execute(text(statement))
    assert ["reason 0", "reason 1", "reason 2"] == [each.why for each in events.read_events(store, "shop")]


def test_a_body_can_be_erased_once(store: Store) -> None:
    """The digest stays, and nobody can put another body in its place."""
    write(store)
    erase(store, 2)
    told = events.read_events(store, "shop")
    assert ["reason 0", None, "reason 2"] == [each.why for each in told]
    assert told[1].erased
    refill = "UPDATE content SET body = '{}', erased_at = NULL WHERE body IS NULL"
    with pytest.raises(DatabaseError, match="written once is never changed"), store.writing() as connection:
        connection.execute(text(refill))


def test_two_events_cannot_follow_one(store: Store) -> None:
    """Even without the writer's lock the chain cannot fork."""
    write(store, 1)

    def fork(connection: Connection) -> None:
        row = connection.execute(select(event)).mappings().one()
        connection.execute(event.insert().values({**row, "number": 2, "digest": "x"}))

    with pytest.raises(DatabaseError, match=r"(?i)unique"), store.writing() as connection:
        fork(connection)


def erase(store: Store, number: int) -> None:
    chosen = select(event.c.content).where(event.c.number == number).scalar_subquery()
    with store.writing() as connection:
        connection.execute(content.update().where(content.c.digest == chosen).values(body=None, erased_at="now"))
