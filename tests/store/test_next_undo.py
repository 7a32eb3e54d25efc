"""What comes next to undo and to redo, read from the end, is what all the events tell."""

from hypothesis import given
from hypothesis import strategies as st

from narrate.records.event import Change, Event
from narrate.store.undoing import next_ones, stacks

KINDS = ("change", "undo", "redo", "beside", "because", "erased", "final")


def history(kinds: list[str]) -> list[Event]:
    """Events of these kinds, but for undoing and redoing where there is nothing to."""
    events = [Event(number=1, stream="walkaround/1", at="", who="Ana", what="heard")]
    for number, kind in enumerate(kinds, 2):
        undoable, undone = stacks(events)
        if (kind == "undo" and not undoable) or (kind == "redo" and not undone):
            continue
        told = {"number": number, "stream": "walkaround/1", "at": "", "who": "Ana"}
        more = {
            "beside": {"what": "document"},
            "because": {"what": "set_aside", "more": {"because_of": "w2"}},
            "erased": {"what": "confirm", "erased": True},
            "final": {"what": "answer", "changes": (Change(kind="consents", after=[]),)},
        }
        events.append(Event.model_validate({**told, "what": kind, **more.get(kind, {})}))
    return events


@given(st.lists(st.sampled_from(KINDS[:3]), max_size=30) | st.lists(st.sampled_from(KINDS), max_size=30))
def test_both_ways_to_tell_agree(kinds: list[str]) -> None:
    events = history(kinds)
    undoable, undone = stacks(events)
    assert next_ones(reversed(events)) == ((undoable or [None])[-1], (undone or [None])[-1])


def test_it_reads_no_further_than_it_needs() -> None:
    events = history(["change"] * 50)
    read = reversed(events)
    next_ones(read)
    assert len(list(read)) == len(events) - 2


def test_nothing_can_be_undone_of_nothing() -> None:
    assert next_ones([]) == (None, None)
    assert next_ones(history([])) == (None, None)
