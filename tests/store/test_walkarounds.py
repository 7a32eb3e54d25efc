"""Walkarounds are added, read and changed, one event at a time."""

import itertools
import json

import pytest
from made_walkarounds import heard, walkaround, with_concern
from sqlalchemy import select

from narrate.errors import ConflictError, MissingError, StoreError, UsageError
from narrate.records.reviewed import Signed
from narrate.records.walkaround import Walkaround
from narrate.store import tables
from narrate.store.engine import Store
from narrate.store.walkarounds import (
    add_walkaround,
    change_walkaround,
    history,
    read_walkaround,
    revision_of,
    set_aside,
    undo,
)


def add_concern(store: Store, id_: str, text: str, who: str = "Pat") -> Walkaround:
    held = change_walkaround(
        store, id_, who=who, what="concern", about="c2", why="told by phone", make=lambda w: with_concern(w, text)
    )
    return held.walkaround


def test_a_walkaround_is_read_as_it_was_added(store: Store) -> None:
    """With every word, under the id of its row, and with the ids in it counted."""
    given = walkaround(of_a_later_program={"kept": [1, None]})
    assert "w1" == add_walkaround(store, given, who="Dana")
    assert "w2" == add_walkaround(store, given, who="Dana")
    held = read_walkaround(store, "w2")
    counts = {"r": 1, "c": 1, "f": 2, "u": 1}
    assert given.model_copy(update={"id": "w2", "ids_used": counts}) == held.walkaround
    assert "w2" == held.id
    assert ("to_check", None, None) == (held.state, held.visit_id, held.vehicle_id)
    (event,) = history(store, "w2")
    assert ("heard", "Dana", held.revision) == (event.what, event.who, event.number)


def test_one_that_is_not_there_is_told(store: Store) -> None:
    """Whatever is asked for, it is a sentence and no crash."""
    add_walkaround(store, walkaround(), who="Dana")
    asks = (read_walkaround, history, revision_of)
    for ask, id_ in itertools.product(asks, ("w9", "w", "", "9", "w1x", "w-1", "w²", "x1", "w99999999999999999999")):
        with pytest.raises(MissingError, match="There is no walkaround"):
            ask(store, id_)


def test_a_change_is_an_event_with_what_it_was_and_became(store: Store) -> None:
    """The record is read back changed, the history says by whom and why."""
    id_ = add_walkaround(store, walkaround(), who="Dana")
    after = add_concern(store, id_, "squeals when cold")
    held = read_walkaround(store, id_)
    assert after == held.walkaround
    assert ["c1", "c2"] == [concern.id for concern in after.concerns]
    assert 2 == after.ids_used["c"]
    event = history(store, id_)[-1]
    assert ("Pat", "concern", "c2", "told by phone") == (event.who, event.what, event.about, event.why)
    changes = {change.kind: (change.before, change.after) for change in event.changes}
    assert (None, "squeals when cold") == (changes["concerns"][0], changes["concerns"][1]["text"])
    assert held.revision == event.number == revision_of(store, id_)
    assert held.changed_at == event.at


def test_what_changes_nothing_is_no_event(store: Store) -> None:
    """The history holds changes only."""
    id_ = add_walkaround(store, walkaround(), who="Dana")
    held = change_walkaround(store, id_, who="Pat", what="confirm", make=lambda present: present)
    assert 1 == held.revision == len(history(store, id_))


@pytest.mark.parametrize("error", [ConflictError("changed meanwhile"), UsageError("no such part"), ZeroDivisionError()])
def test_a_change_that_fails_leaves_all_as_it_was(store: Store, error: Exception) -> None:
    """Nothing of it is written, and the lock is let go."""
    id_ = add_walkaround(store, walkaround(), who="Dana")
    before = read_walkaround(store, id_)

    def make(present: Walkaround) -> Walkaround:
        raise error

    with pytest.raises(type(error)):
        change_walkaround(store, id_, who="Pat", what="component", make=make)
    assert before == read_walkaround(store, id_)
    assert 1 == len(history(store, id_))
    assert add_concern(store, id_, "still works").concerns


def test_ids_stay_used_when_things_go(store: Store) -> None:
    """A count that `make` forgets or lowers stays as high as it was."""
    id_ = add_walkaround(store, walkaround(), who="Dana")
    add_concern(store, id_, "squeals")
    fewer = {"concerns": (), "ids_used": {"c": 1}}
    held = change_walkaround(store, id_, who="Pat", what="drop", make=lambda w: w.model_copy(update=fewer))
    assert 2 == held.walkaround.ids_used["c"]
    assert "c3" == add_concern(store, id_, "rattles").concerns[-1].id


def test_words_are_kept_once_and_never_change(store: Store) -> None:
    """They lie beside the record, not in it, not in events; other words for one recording are refused."""
    id_ = add_walkaround(store, walkaround(), who="Dana")
    add_concern(store, id_, "squeals")
    with store.reading() as connection:
        (kept,) = connection.scalars(select(tables.heard.c.record))
        record = connection.scalar(select(tables.walkaround.c.record))
        bodies = connection.scalars(select(tables.content.c.body)).all()
    assert "millimeters" in kept
    assert not [text for text in (record, *bodies) if "millimeters" in text]
    other = {"recordings": (heard("r1", "rear pads are fine"),)}
    with pytest.raises(StoreError, match="words heard in recording r1 of w1 may not change"):
        change_walkaround(store, id_, who="Pat", what="words", make=lambda w: w.model_copy(update=other))


def test_a_recording_taken_out_comes_back_with_its_words(store: Store) -> None:
    """By undo, though events hold no words; it cannot come back with other ones."""
    id_ = add_walkaround(store, walkaround(recordings=(heard("r1"), heard("r2", "left rear tire is bald"))), who="Dana")
    whole = read_walkaround(store, id_).walkaround
    only = {"recordings": whole.recordings[:1]}
    held = change_walkaround(store, id_, who="Pat", what="split", make=lambda w: w.model_copy(update=only))
    assert 1 == len(held.walkaround.recordings) == len(read_walkaround(store, id_).walkaround.recordings)
    false = {"recordings": (heard("r1"), heard("r2", "right rear tire is bald"))}
    with pytest.raises(StoreError, match="words heard in recording r2 of w1 may not change"):
        change_walkaround(store, id_, who="Pat", what="words", make=lambda w: w.model_copy(update=false))
    assert whole == undo(store, id_, who="Pat").walkaround == read_walkaround(store, id_).walkaround


def test_a_change_may_not_rename(store: Store) -> None:
    """An id is the row's."""
    id_ = add_walkaround(store, walkaround(), who="Dana")
    with pytest.raises(StoreError, match="may not rename w1 to w9"):
        change_walkaround(store, id_, who="Pat", what="x", make=lambda w: w.model_copy(update={"id": "w9"}))


def test_signing_changes_the_state(store: Store) -> None:
    """And taking it back changes it again."""
    id_ = add_walkaround(store, walkaround(), who="Dana")
    signed = {"signed": Signed(by="Pat", at="2026-11-27T10:00:00.000Z")}
    held = change_walkaround(store, id_, who="Pat", what="sign", make=lambda w: w.model_copy(update=signed))
    assert "signed" == held.state == read_walkaround(store, id_).state
    assert "to_check" == undo(store, id_, who="Pat").state == read_walkaround(store, id_).state


def test_what_is_set_aside_cannot_be_changed_until_it_is_back(store: Store) -> None:
    """It is kept, and undo brings it back."""
    id_ = add_walkaround(store, walkaround(), who="Dana")
    held = set_aside(store, id_, who="Pat", why="recorded twice")
    assert "set_aside" == held.state == read_walkaround(store, id_).state
    assert "recorded twice" == history(store, id_)[-1].why
    with pytest.raises(UsageError, match="w1 was set aside"):
        add_concern(store, id_, "squeals")
    with pytest.raises(UsageError, match="w1 was set aside"):
        set_aside(store, id_, who="Pat", why="again")
    assert "to_check" == undo(store, id_, who="Pat").state
    assert add_concern(store, id_, "squeals").concerns


def test_the_recording_is_linked_where_it_is_kept(store: Store) -> None:
    """A walkaround of text, or of a recording that lies elsewhere, is kept all the same."""
    id_ = add_walkaround(store, walkaround(recordings=(heard("r1", sha256="ab" * 32),)), who="Dana")
    assert "ab" * 32 == read_walkaround(store, id_).walkaround.recordings[0].sha256
    with store.reading() as connection:
        row = connection.execute(select(tables.heard)).one()
    assert row.sha256 is None
    assert "ab" * 32 == json.loads(row.record)["sha256"]
