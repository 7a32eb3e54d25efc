"""A link shows one estimate, cannot be guessed, expires, and can be ended."""

import re

import pytest
from kept_estimates import kept
from sqlalchemy import select

from narrate.errors import MissingError, UsageError
from narrate.store import links
from narrate.store.engine import Store
from narrate.store.estimate_tables import estimate_link
from narrate.store.estimates import change_estimate, history, set_aside, undo
from narrate.store.links import LinkError, end_link, end_links, estimate_by_link, links_of, new_link


def test_a_link_shows_its_estimate_only(store: Store) -> None:
    """128 random bits lead to one estimate, and none of them is in the store."""
    ids = [kept(store), kept(store)]
    tokens = [new_link(store, id_, 7, "Dana") for id_ in ids]
    assert ids == [estimate_by_link(store, token).id for token in tokens]
    assert all(re.fullmatch(r"[\w-]{22}", token) for token in tokens)
    with store.reading() as connection:
        rows = str(connection.execute(select(estimate_link)).all()) + str(history(store, ids[0]))
    assert not any(token in rows for token in tokens)
    (link,) = links_of(store, ids[0])
    assert (1, True, "Dana") == (link.opened, link.open, link.made_by)


def test_a_link_expires_and_can_be_ended(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """Afterwards it says no more than one that never was."""
    id_ = kept(store)
    first, second, third = (new_link(store, id_, days, "Dana") for days in (1, 2, 3))
    end_link(store, links_of(store, id_)[-1].id, "Pat")
    with pytest.raises(LinkError, match="shows nothing"):
        estimate_by_link(store, first)
    assert ["made", "link", "link", "link", "link_ended"] == [event.what for event in history(store, id_)]
    real = links.now
    monkeypatch.setattr(links, "now", lambda: real().replace(real()[:4], "2999"))
    with pytest.raises(LinkError, match="shows nothing"):
        estimate_by_link(store, second)
    monkeypatch.setattr(links, "now", real)
    assert 2 == end_links(store, id_, "Pat")
    with pytest.raises(LinkError):
        estimate_by_link(store, third)
    end_link(store, links_of(store, id_)[0].id, "Pat")
    assert 0 == end_links(store, id_, "Pat")
    for missing in (lambda: end_link(store, 99, "Pat"), lambda: end_links(store, "e9", "Pat")):
        with pytest.raises(MissingError):
            missing()


def test_guessing_is_put_off(store: Store) -> None:
    """After ten wrong ones an address waits an hour, even with the right one; others do not."""
    token = new_link(store, kept(store), 7, "Dana")
    for _ in range(links.TRIES):
        with pytest.raises(LinkError, match="shows nothing"):
            estimate_by_link(store, "guessed", asker="10.0.0.9")
    with pytest.raises(LinkError, match="Too many links"):
        estimate_by_link(store, token, asker="10.0.0.9")
    assert "e1" == estimate_by_link(store, token, asker="10.0.0.8").id


def test_the_wait_ends(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """After the hour the count begins anew."""
    token = new_link(store, kept(store), 7, "Dana")
    for _ in range(links.TRIES):
        with pytest.raises(LinkError):
            estimate_by_link(store, "guessed", asker="10.0.0.9")
    monkeypatch.setattr(links, "PUT_OFF_FOR", -links.PUT_OFF_FOR)
    assert "e1" == estimate_by_link(store, token, asker="10.0.0.9").id
    with pytest.raises(LinkError, match="shows nothing"):
        estimate_by_link(store, "guessed", asker="10.0.0.9")


def test_links_are_refused(store: Store) -> None:
    """For what is not there, is a draft or set aside, and for too long."""
    with pytest.raises(MissingError):
        new_link(store, "e1", 7, "Dana")
    with pytest.raises(UsageError, match="still a draft"):
        new_link(store, kept(store, draft=True), 7, "Dana")
    id_ = kept(store)
    for days in (0, 91):
        with pytest.raises(UsageError, match="1 to 90 days"):
            new_link(store, id_, days, "Dana")
    token = new_link(store, id_, 7, "Dana")
    set_aside(store, id_, who="Dana", why="made anew")
    with pytest.raises(UsageError, match="set aside"):
        new_link(store, id_, 7, "Dana")
    with pytest.raises(LinkError):
        estimate_by_link(store, token)
    undo(store, id_, who="Dana")
    assert id_ == estimate_by_link(store, token).id


def test_undo_passes_over_links(store: Store) -> None:
    """A link is no change of the estimate."""
    id_ = kept(store)
    change_estimate(store, id_, who="Dana", what="wording", make=lambda e: e.model_copy(update={"place": "US-FL"}))
    new_link(store, id_, 7, "Dana")
    assert "unknown" == undo(store, id_, who="Dana").estimate.place
