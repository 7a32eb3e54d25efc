"""What changed, and back again."""

import pytest
from hypothesis import given
from made_walkarounds import ANY, bare, finding, walkaround, with_concern

from narrate.errors import StoreError
from narrate.records.event import Change
from narrate.records.walkaround import Walkaround
from narrate.store.folding import applied, difference, highest, plain_applied, reversed_changes


def same(one: Walkaround, other: Walkaround) -> bool:
    """Whether two are the same to the last digit, but for words, counts of ids and empty fields of later programs."""

    def told(each: Walkaround) -> dict:
        values = bare(each).model_dump(mode="json", exclude={"ids_used"})
        return {key: value for key, value in values.items() if value is not None}

    return told(one) == told(other)


@given(before=ANY, after=ANY)
def test_what_changed_leads_there(before: Walkaround, after: Walkaround) -> None:
    """The changes between any two make the second of the first, and counts of ids only rise."""
    made = applied(before, difference(before, after))
    assert same(after, made)
    assert highest(before.ids_used, after.ids_used) == made.ids_used


@given(before=ANY, after=ANY)
def test_what_changed_leads_back(before: Walkaround, after: Walkaround) -> None:
    """The same changes reversed make the first of the second, to the order of every list."""
    back = applied(after, reversed_changes(difference(before, after)))
    assert same(before, back)
    assert highest(before.ids_used, after.ids_used) == back.ids_used


@given(before=ANY, after=ANY)
def test_changes_survive_being_written(before: Walkaround, after: Walkaround) -> None:
    """Changes read back from JSON do the same."""
    read = tuple(Change.model_validate_json(change.model_dump_json()) for change in difference(before, after))
    assert same(after, applied(before, read))


@given(only=ANY)
def test_the_first_difference_makes_all_of_it(only: Walkaround) -> None:
    """From nothing, the changes make the whole record; from itself there are none."""
    assert same(only, Walkaround.model_validate(plain_applied({}, difference(None, only))))
    assert () == difference(only, only)


def test_things_change_one_by_one_and_words_stay_out() -> None:
    """One finding changed is one change, and no change holds a word that was heard."""
    before = walkaround()
    after = before.model_copy(update={"findings": (before.findings[0], finding("f2", value="1.7"))})
    (change,) = difference(before, after)
    assert ("findings", "f2", None) == (change.kind, change.id, change.place)
    assert "1.60" == change.before["measurements"][0]["value"]
    assert "1.7" == change.after["measurements"][0]["value"]
    recordings = [change for change in difference(None, before) if change.kind == "recordings"]
    assert ["r1"] == [change.id for change in recordings]
    assert "words" not in recordings[0].after


def test_a_changed_digit_is_a_change() -> None:
    """1.6 and 1.60 are two records: numbers stay exact as said."""
    before = walkaround(findings=(finding("f1", value="1.6"),))
    assert difference(before, walkaround(findings=(finding("f1", value="1.60"),)))


def test_a_new_order_is_one_change() -> None:
    """Things in another order change as ids alone."""
    before = walkaround()
    (change,) = difference(before, before.model_copy(update={"findings": before.findings[::-1]}))
    assert (None, ["f1", "f2"], ["f2", "f1"]) == (change.id, change.before, change.after)


def test_two_things_with_one_id_are_refused() -> None:
    """Neither of the two could be told from the other."""
    with pytest.raises(StoreError, match="Two findings bear one id"):
        difference(None, walkaround(findings=(finding("f1"), finding("f1"))))


def test_a_change_that_does_not_fit_is_refused() -> None:
    """What is taken out must be there, and what is put in must not."""
    before = walkaround(ids_used={"c": 1})
    changes = difference(before, with_concern(before, "squeals"))
    with pytest.raises(StoreError, match="does not fit"):
        applied(applied(before, changes), changes)
    with pytest.raises(StoreError, match="does not fit"):
        applied(before, reversed_changes(changes))
