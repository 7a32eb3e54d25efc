"""Estimates are kept, changed and taken back like walkarounds; what a customer said stays said."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from kept_estimates import ANY_ESTIMATE, DOCUMENT, answered, book, estimate, job, kept, priced
from made_walkarounds import walkaround
from sqlalchemy import text

from narrate.errors import ConflictError, MissingError, StoreError, UsageError
from narrate.records.estimate import Estimate
from narrate.store.books import keep_book
from narrate.store.engine import Store
from narrate.store.estimates import (
    add_estimate,
    change_estimate,
    documents_of,
    estimates_of,
    find_estimates,
    history,
    log_document,
    read_estimate,
    redo,
    revision_of,
    set_aside,
    undo,
    what_can_be_undone,
)
from narrate.store.folding import applied, difference, reversed_changes
from narrate.store.verifying import verify
from narrate.store.walkarounds import add_walkaround


def told(present: Estimate) -> dict:
    values = present.model_dump(mode="json", exclude={"ids_used"})
    return {key: value for key, value in values.items() if value is not None}


@settings(deadline=None)
@given(before=ANY_ESTIMATE, after=ANY_ESTIMATE)
def test_what_changed_leads_there_and_back(before: Estimate, after: Estimate) -> None:
    """The changes between any two estimates make each of the other, to the last digit."""
    changes = difference(before, after)
    assert told(after) == told(applied(before, changes))
    assert told(before) == told(applied(after, reversed_changes(changes)))


def test_jobs_change_one_by_one() -> None:
    """A price is one change, under its job."""
    (change,) = difference(estimate(), priced(estimate(), "j1", "80.00"))
    assert ("jobs", "j1") == (change.kind, change.id)


def test_an_estimate_comes_back_as_it_was_added(store: Store) -> None:
    """It gets an id of its own, and every amount stays exact."""
    about = add_walkaround(store, walkaround(), who="Dana")
    id_ = add_estimate(store, estimate(walkaround_id=about, discount=Decimal("5.10")), who="Dana")
    held = read_estimate(store, id_)
    assert ("e1", "offered", "5.10") == (id_, held.state, str(held.estimate.discount))
    assert estimate().jobs == held.estimate.jobs
    assert ["made"] == [event.what for event in history(store, id_)]
    assert history(store, id_)[-1].number == held.revision == revision_of(store, id_)


def test_an_estimate_needs_its_walkaround(store: Store) -> None:
    """One about nothing is refused, and nothing is kept."""
    with pytest.raises(MissingError, match="no walkaround 'w9'"):
        add_estimate(store, estimate(walkaround_id="w9"), who="Dana")
    assert [] == find_estimates(store)
    for id_ in ("e1", "w1", "e0x", "", "e99999999999"):
        with pytest.raises(MissingError, match="no estimate"):
            read_estimate(store, id_)


def test_changes_are_undone_and_made_again(store: Store) -> None:
    """Each change is an event with who made it; undo and redo go through them in turn."""
    id_ = kept(store)
    change_estimate(store, id_, who="Dana", what="price", make=lambda e: priced(e, "j1", "80.00"), about="j1")
    change_estimate(store, id_, who="Pat", what="price", make=lambda e: priced(e, "j1", "70.00"), about="j1")
    assert Decimal("80.00") == undo(store, id_, who="Dana").estimate.jobs[0].choices[0].subtotal
    assert Decimal("96.40") == undo(store, id_, who="Dana").estimate.jobs[0].choices[0].subtotal
    assert Decimal("80.00") == redo(store, id_, who="Dana").estimate.jobs[0].choices[0].subtotal
    undoable, undone = what_can_be_undone(store, id_)
    assert (undoable, undone) != (None, None)
    assert "Pat" == history(store, id_)[2].who
    with pytest.raises(UsageError, match="nothing to undo"):
        undo(store, kept(store), who="Dana")
    with pytest.raises(UsageError, match="nothing to do again"):
        redo(store, kept(store), who="Dana")


def test_nothing_changed_is_no_event(store: Store) -> None:
    """The history tells changes only."""
    id_ = kept(store)
    change_estimate(store, id_, who="Dana", what="price", make=lambda e: e)
    assert 1 == len(history(store, id_))


def test_a_refused_change_leaves_all_as_it_was(store: Store) -> None:
    """What `make` raises reaches who asked."""
    id_ = kept(store)

    def refuse(_: Estimate) -> Estimate:
        message = "The price was changed by Pat; look at it again."
        raise ConflictError(message)

    with pytest.raises(ConflictError, match="changed by Pat"):
        change_estimate(store, id_, who="Dana", what="price", make=refuse)
    with pytest.raises(StoreError, match="another estimate"):
        change_estimate(store, id_, who="Dana", what="price", make=lambda e: e.model_copy(update={"id": "e7"}))
    assert 1 == len(history(store, id_))


def test_an_answer_cannot_be_undone(store: Store) -> None:
    """Nor can what lies before it; what comes after it can."""
    id_ = kept(store)
    change_estimate(store, id_, who="Dana", what="price", make=lambda e: priced(e, "j1", "80.00"))
    states = {"j1": "authorized", "j2": "declined"}
    held = change_estimate(store, id_, who="Dana", what="authorize", make=lambda e: answered(e, states))
    assert "answered" == held.state
    with pytest.raises(UsageError, match="changed by a new answer"):
        undo(store, id_, who="Dana")
    change_estimate(store, id_, who="Dana", what="price", make=lambda e: priced(e, "j1", "75.00"))
    after = undo(store, id_, who="Dana").estimate
    assert ("authorized", 1) == (after.jobs[0].state, len(after.consents))


def test_documents_shown_are_logged(store: Store) -> None:
    """Each with its sha256 and what it showed; undo passes over them."""
    id_ = kept(store)
    change_estimate(store, id_, who="Dana", what="price", make=lambda e: priced(e, "j1", "80.00"))
    before = revision_of(store, id_)
    log_document(store, id_, sha256=DOCUMENT, kind="pdf", how="sent", who="Dana", to="robin@example.org")
    (shown,) = documents_of(store, id_)
    assert (DOCUMENT, "sent", "robin@example.org", before) == (shown.sha256, shown.how, shown.to, shown.revision)
    assert Decimal("96.40") == undo(store, id_, who="Dana").estimate.jobs[0].choices[0].subtotal
    with pytest.raises(UsageError, match="64 hexadecimal digits"):
        log_document(store, id_, sha256="AB", kind="pdf", how="sent", who="Dana")


def test_one_set_aside_is_left_out_until_it_is_brought_back(store: Store) -> None:
    """It is kept, cannot be changed, and undo brings it back."""
    id_ = kept(store)
    assert "set_aside" == set_aside(store, id_, who="Dana", why="made anew").state
    assert () == estimates_of(store, "w1")
    assert [id_] == [each.id for each in estimates_of(store, "w1", set_aside=True)]
    with pytest.raises(UsageError, match="was set aside"):
        change_estimate(store, id_, who="Dana", what="price", make=lambda e: priced(e, "j1", "1"))
    assert "offered" == undo(store, id_, who="Dana").state


def test_states_follow_the_jobs(store: Store) -> None:
    """A draft is one; an optional job need not be answered."""
    assert "draft" == read_estimate(store, kept(store, draft=True)).state
    jobs = (job("j1", state="declined"), job("j2", optional=True))
    assert "answered" == read_estimate(store, kept(store, jobs=jobs)).state
    assert "offered" == read_estimate(store, kept(store, jobs=(job("j1", state="decide_by"),))).state


def test_estimates_are_found(store: Store) -> None:
    """By plate, name, order, walkaround and day; the newest first, page by page."""
    ids = [kept(store, order_number=f"R-{number}") for number in (1, 2, 3)]
    assert ids[::-1] == [each.id for each in find_estimates(store)]
    assert [ids[1]] == [each.id for each in find_estimates(store, query="okafor r-2 7abc123 ford 2026-11-27")]
    assert ids[:2][::-1] == [each.id for each in find_estimates(store, before=ids[2])]
    listed = find_estimates(store, query=ids[0])[0]
    assert (Decimal("306.40"), 2, 1, "w1") == (listed.total, listed.jobs, listed.to_be_priced, listed.walkaround)
    assert [] == find_estimates(store, state="draft")
    with pytest.raises(MissingError):
        find_estimates(store, before="e99")


def test_a_changed_record_is_found(store: Store) -> None:
    """An estimate that is not what its events add up to is told, as is one that is gone, and a damaged book."""
    ids = [kept(store), kept(store)]
    for id_ in ids:
        change_estimate(store, id_, who="Dana", what="price", make=lambda e: priced(e, "j1", "80.00"))
        undo(store, id_, who="Dana")
    keep_book(store, book(), who="Pat")
    assert [] == verify(store)
    with store.writing() as connection:
        connection.execute(text("UPDATE estimate SET record = REPLACE(record, '96.40', '69.40') WHERE id = 1"))
        connection.execute(text("DELETE FROM offered_job WHERE estimate_id = 2"))
        connection.execute(text("DELETE FROM estimate WHERE id = 2"))
        connection.execute(text("UPDATE price_book SET packed = :bytes"), {"bytes": b"x"})
    problems = verify(store)
    assert 3 == len(problems)
    assert "The record of e1 is not what its events add up to." == problems[0]
    assert "There are events of e2, but its record is missing." == problems[1]
    assert problems[2].startswith("The price book is damaged")
