"""Undo and redo, over one walkaround and over two that were joined or split."""

import shutil
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_walkarounds import finding, heard, walkaround, with_concern

from narrate.errors import UsageError
from narrate.records.walkaround import Walkaround
from narrate.store.engine import Store, open_store
from narrate.store.verifying import verify
from narrate.store.walkarounds import (
    Held,
    add_walkaround,
    change_walkaround,
    history,
    join_walkarounds,
    read_walkaround,
    redo,
    split_walkaround,
    undo,
    what_can_be_undone,
)


def change(store: Store, id_: str, text: str, who: str = "Pat") -> Held:
    return change_walkaround(store, id_, who=who, what="concern", make=lambda w: with_concern(w, text))


def texts(held: Held) -> list[str]:
    return [concern.text for concern in held.walkaround.concerns]


def joined(first: Walkaround, second: Walkaround) -> Walkaround:
    """The first with the second's recording and finding, renamed."""
    renamed = second.recordings[0].model_copy(update={"id": "r2"})
    more = {"recordings": (*first.recordings, renamed), "findings": (*first.findings, finding("f9", value="2"))}
    return first.model_copy(update=more)


def split(whole: Walkaround) -> tuple[Walkaround, Walkaround]:
    """Its two findings, one each."""
    one, two = whole.findings
    return whole.model_copy(update={"findings": (one,)}), walkaround(findings=(two,), concerns=())


def both(store: Store) -> tuple[str, str]:
    second = walkaround(recordings=(heard("r1", "left rear tire is bald"),))
    return add_walkaround(store, walkaround(), who="Dana"), add_walkaround(store, second, who="Lee")


def test_changes_are_taken_back_and_made_again_whoever_made_them(store: Store) -> None:
    """Last first; the history says who and which."""
    id_ = add_walkaround(store, walkaround(concerns=()), who="Dana")
    one = change(store, id_, "one", who="Pat")
    two = change(store, id_, "two", who="Lee")
    assert ["one"] == texts(undo(store, id_, who="Sam"))
    assert [] == texts(undo(store, id_, who="Sam"))
    assert one.walkaround.concerns == redo(store, id_, who="Pat").walkaround.concerns
    assert two.walkaround == redo(store, id_, who="Pat").walkaround == read_walkaround(store, id_).walkaround
    told = [(event.what, event.who, event.reverses) for event in history(store, id_)[3:]]
    assert [("undo", "Sam", 3), ("undo", "Sam", 2), ("redo", "Pat", 2), ("redo", "Pat", 3)] == told
    assert ["one"] == texts(undo(store, id_, who="Sam"))
    assert 3 == history(store, id_)[-1].reverses


def test_there_is_an_end_to_undoing(store: Store) -> None:
    """How it was heard stays; a new change forgets what was undone."""
    id_ = add_walkaround(store, walkaround(), who="Dana")
    with pytest.raises(UsageError, match="nothing to undo"):
        undo(store, id_, who="Pat")
    with pytest.raises(UsageError, match="nothing to do again"):
        redo(store, id_, who="Pat")
    assert (None, None) == what_can_be_undone(store, id_)
    change(store, id_, "one")
    undo(store, id_, who="Pat")
    back, again = what_can_be_undone(store, id_)
    assert (None, "undo") == (back, again.what)
    change(store, id_, "two")
    back, again = what_can_be_undone(store, id_)
    assert ("concern", None) == (back.what, again)


def test_ids_are_not_used_again_after_undo(store: Store) -> None:
    """A concern that was taken back was called c2; the next one is c3."""
    id_ = add_walkaround(store, walkaround(), who="Dana")
    change(store, id_, "one")
    undo(store, id_, who="Pat")
    assert "c3" == change(store, id_, "two").walkaround.concerns[-1].id


def test_a_change_of_counts_alone_can_be_undone(store: Store) -> None:
    """Nothing is left to change back, and the history says all the same that it was undone."""
    id_ = add_walkaround(store, walkaround(), who="Dana")
    counts = {"ids_used": {"f": 40}}
    change_walkaround(store, id_, who="Pat", what="count", make=lambda w: w.model_copy(update=counts))
    assert 40 == undo(store, id_, who="Pat").walkaround.ids_used["f"]
    assert (None, "undo") == (what_can_be_undone(store, id_)[0], what_can_be_undone(store, id_)[1].what)
    assert [] == verify(store)


@settings(max_examples=40, deadline=None)
@given(moves=st.lists(st.sampled_from(["change", "change", "undo", "undo", "redo"]), max_size=14))
def test_any_row_of_moves_does_what_two_stacks_do(
    moves: list[str], sqlite_pattern: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Beside the store runs the plainest model of undoing: the states before, and the states after."""
    folder = tmp_path_factory.mktemp("moves") / "data"
    shutil.copytree(sqlite_pattern, folder)
    store = open_store(folder)
    id_ = add_walkaround(store, walkaround(concerns=()), who="Dana")
    present, before, after = [], [], []
    for number, move in enumerate(moves):
        if move == "change":
            before, after, present = [*before, present], [], [*present, str(number)]
            change(store, id_, str(number))
        elif move == "undo" and before:
            after, present, before = [*after, present], before[-1], before[:-1]
            undo(store, id_, who="Pat")
        elif move == "redo" and after:
            before, present, after = [*before, present], after[-1], after[:-1]
            redo(store, id_, who="Pat")
        assert present == texts(read_walkaround(store, id_))
    assert (bool(before), bool(after)) == tuple(map(bool, what_can_be_undone(store, id_)))
    assert [] == verify(store)
    store.close()
    shutil.rmtree(folder)


def test_two_become_one_and_two_again(store: Store) -> None:
    """The first holds both, the second is set aside; undo of the first takes both back, redo joins them again."""
    first, second = both(store)
    before = read_walkaround(store, first).walkaround
    held = join_walkarounds(store, first, second, who="Pat", make=joined)
    assert held == read_walkaround(store, first)
    assert ["front", "left"] == [each.words[0].text for each in held.walkaround.recordings]
    assert "set_aside" == read_walkaround(store, second).state
    assert ["heard", "join"] == [event.what for event in history(store, first)]
    assert f"joined with {first}" == history(store, second)[-1].why
    with pytest.raises(UsageError, match="nothing to undo"):
        undo(store, second, who="Pat")
    for _ in range(2):
        assert before.findings == undo(store, first, who="Pat").walkaround.findings
        assert "to_check" == read_walkaround(store, second).state
        assert held.walkaround == redo(store, first, who="Pat").walkaround
        assert "set_aside" == read_walkaround(store, second).state
    assert [] == verify(store)


def test_one_becomes_two_and_one_again(store: Store) -> None:
    """What was split off is added; undo sets it aside, redo brings it back."""
    id_ = add_walkaround(store, walkaround(), who="Dana")
    whole = read_walkaround(store, id_).walkaround
    first, second = split_walkaround(store, id_, who="Pat", make=split)
    assert (["f1"], ["f2"]) == tuple([f.id for f in held.walkaround.findings] for held in (first, second))
    assert id_ == history(store, second.id)[0].more["split_from"]
    for _ in range(2):
        assert whole.findings == undo(store, id_, who="Pat").walkaround.findings
        assert "set_aside" == read_walkaround(store, second.id).state
        assert first.walkaround == redo(store, id_, who="Pat").walkaround
        assert "to_check" == read_walkaround(store, second.id).state
    assert [] == verify(store)


def test_what_was_changed_since_is_not_taken_away(store: Store) -> None:
    """The other half has a correction that undoing would hide."""
    id_ = add_walkaround(store, walkaround(), who="Dana")
    _, second = split_walkaround(store, id_, who="Pat", make=split)
    change(store, second.id, "squeals")
    with pytest.raises(UsageError, match=f"{second.id} has been changed since; undo its changes first"):
        undo(store, id_, who="Pat")
    assert "to_check" == read_walkaround(store, second.id).state
    assert "split" == history(store, id_)[-1].what


def test_a_join_is_not_made_again_over_a_change(store: Store) -> None:
    """Joined again, the second's correction would be lost."""
    first, second = both(store)
    join_walkarounds(store, first, second, who="Pat", make=joined)
    undo(store, first, who="Pat")
    change(store, second, "squeals")
    with pytest.raises(UsageError, match=f"{second} has been changed since"):
        redo(store, first, who="Pat")
    undo(store, second, who="Pat")
    assert 2 == len(redo(store, first, who="Pat").walkaround.recordings)
    assert [] == verify(store)


def test_joining_is_all_or_nothing(store: Store) -> None:
    """What fails changes neither; nothing joins with itself, or with what is set aside."""
    first, second = both(store)

    def fail(*_: Walkaround) -> Walkaround:
        message = "These are two vehicles."
        raise UsageError(message)

    with pytest.raises(UsageError, match="two vehicles"):
        join_walkarounds(store, first, second, who="Pat", make=fail)
    with pytest.raises(UsageError, match="joined with itself"):
        join_walkarounds(store, first, first, who="Pat", make=joined)
    assert ["to_check", "to_check"] == [read_walkaround(store, id_).state for id_ in (first, second)]
    join_walkarounds(store, first, second, who="Pat", make=joined)
    with pytest.raises(UsageError, match=f"{second} was set aside"):
        join_walkarounds(store, first, second, who="Pat", make=joined)
