"""A finding is explained by what the stages recorded, and the record alone leads to the same draft."""

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import pytest

from narrate.errors import RecordError, ReplayError
from narrate.find.draft import Draft
from narrate.find.edited import as_heard, edited_recording
from narrate.find.mining import find_findings, text_recording
from narrate.find.stages import STAGES, run_stages
from narrate.find.trace import Trace, explain_finding, record_stages, replay
from narrate.find.vocabulary import Vocabulary
from narrate.find.weights import models_digest
from narrate.records.reviewed import Edit
from narrate.records.walkaround import MadeBy, Walkaround
from narrate.words.lexicon import Lexicon

PLAIN = (
    "the front brake pads are worn out at two millimeters, replace them",
    "left front strut is leaking, no sorry the right front strut is leaking, it needs replacing",
    "battery tests fine at twelve point four volts. the air filter is dirty",
    "customer says it grinds when braking. the rear rotors are scored",
    "the left rear shock is leaking, replace it, one hundred and ten dollars",
)
NOTHING = ("", "hello there")


@pytest.fixture(params=PLAIN)
def traced(request: pytest.FixtureRequest, ready: Vocabulary) -> tuple[Draft, Trace]:
    """The draft and the trace of one plain sentence."""
    return record_stages(text_recording(request.param).words, ready)


def without(trace: Trace, number: int) -> Trace:
    """The trace without one step."""
    return replace(trace, steps=trace.steps[:number] + trace.steps[number + 1 :])


def test_recording_changes_nothing_about_the_result(traced: tuple[Draft, Trace], ready: Vocabulary) -> None:
    draft, trace = traced
    assert draft == run_stages(trace.words, ready)


def test_each_stage_is_one_step_and_each_step_begins_where_the_last_ended(traced: tuple[Draft, Trace]) -> None:
    steps = traced[1].steps
    assert [step.stage for step in steps] == [name for name, _ in STAGES]
    assert all(before.after == after.before for before, after in pairwise(steps))


def test_replay_gives_the_same_draft(traced: tuple[Draft, Trace]) -> None:
    draft, trace = traced
    again = replay(trace)
    assert {item.id: item for item in again.items()} == {item.id: item for item in draft.items()}
    assert again.words == draft.words


@pytest.mark.parametrize("text", NOTHING)
def test_a_text_with_nothing_in_it_replays_too(text: str, ready: Vocabulary) -> None:
    draft, trace = record_stages(text_recording(text).words, ready)
    assert replay(trace) == draft


def test_a_trace_without_a_step_that_changed_something_does_not_replay(traced: tuple[Draft, Trace]) -> None:
    _, trace = traced
    changed = [number for number, step in enumerate(trace.steps) if step.added or step.removed]
    assert len(changed) >= 4
    for number in changed:
        with pytest.raises(ReplayError):
            replay(without(trace, number))


def test_a_trace_without_any_step_does_not_replay(traced: tuple[Draft, Trace]) -> None:
    with pytest.raises(ReplayError):
        replay(replace(traced[1], steps=()))


def test_a_step_whose_item_was_taken_out_does_not_replay(traced: tuple[Draft, Trace]) -> None:
    """Items rest on one another: a token that was never made leaves the mention over it in the air."""
    _, trace = traced
    at = next(n for n, step in enumerate(trace.steps) if step.added)
    poorer = replace(trace.steps[at], added=trace.steps[at].added[1:])
    with pytest.raises(ReplayError):
        replay(replace(trace, steps=(*trace.steps[:at], poorer, *trace.steps[at + 1 :])))


def test_everything_rests_on_words_or_on_earlier_items(traced: tuple[Draft, Trace]) -> None:
    draft, trace = traced
    words = {f"w{number}" for number in range(len(trace.words))}
    items = list(draft.items())
    known = words | {item.id for item in items}
    removed = {gone for step in trace.steps for gone in step.removed}
    assert items
    assert all(set(item.because) <= known | removed for item in items)


def test_ids_within_a_draft_are_unique(traced: tuple[Draft, Trace]) -> None:
    ids = [item.id for item in traced[0].items()]
    assert len(ids) == len(set(ids)) > 0


@pytest.mark.parametrize("text", PLAIN)
def test_explaining_a_finding_shows_what_several_stages_recorded_for_it(
    text: str, found: Callable[[str], Walkaround], lexicon: Lexicon
) -> None:
    walkaround = found(text)
    assert walkaround.findings
    for finding in walkaround.findings:
        told = explain_finding(walkaround, finding.id, lexicon)
        stages = {stage for stage, _ in told.items}
        assert stages >= {"tokens", "mentions", "grouping"}
        assert told.finding == finding
        assert told.group.id in {item.id for _, item in told.items}


def test_an_explanation_says_whether_the_lexicon_is_still_the_same(
    found: Callable[[str], Walkaround], lexicon: Lexicon
) -> None:
    walkaround = found(PLAIN[0])
    made_by = MadeBy(program="narrate 0.0.0", lexicon="sha256:another", settings="sha256:0")
    older = walkaround.model_copy(update={"made_by": made_by})
    assert explain_finding(walkaround, "f1", lexicon).same_lexicon
    assert not explain_finding(older, "f1", lexicon).same_lexicon


def test_an_explanation_says_whether_the_weights_are_still_the_same(
    found: Callable[[str], Walkaround], lexicon: Lexicon
) -> None:
    walkaround = found(PLAIN[0])
    now = walkaround.made_by.model_copy(update={"joining": models_digest()})
    other = now.model_copy(update={"joining": "sha256:other"})
    assert explain_finding(walkaround.model_copy(update={"made_by": now}), "f1", lexicon).same_weights
    assert not explain_finding(walkaround.model_copy(update={"made_by": other}), "f1", lexicon).same_weights


def test_a_finding_that_is_not_there_cannot_be_explained(found: Callable[[str], Walkaround], lexicon: Lexicon) -> None:
    with pytest.raises(RecordError, match="no finding 'f99'"):
        explain_finding(found(PLAIN[0]), "f99", lexicon)


def test_a_finding_the_words_no_longer_lead_to_cannot_be_explained(
    found: Callable[[str], Walkaround], lexicon: Lexicon
) -> None:
    walkaround = found(PLAIN[0])
    silent = walkaround.recordings[0].model_copy(update={"words": text_recording("hello there").words})
    with pytest.raises(RecordError, match="no longer lead"):
        explain_finding(walkaround.model_copy(update={"recordings": (silent,)}), "f1", lexicon)


def test_a_finding_in_corrected_words_is_explained_from_them(lexicon: Lexicon) -> None:
    """Edited words lead to the finding, whose evidence counts the words as heard."""
    made_by = MadeBy(program="p", lexicon=lexicon.digest, settings="s")
    heard = text_recording("the will bearing at the front left is loose")
    walkaround = Walkaround(
        made_by=made_by,
        recordings=(heard,),
        edits=(Edit(recording="r1", first_word=1, last_word=1, text="wheel"),),
    )
    spoken, under = edited_recording(heard, walkaround.edits)
    found = find_findings([spoken], lexicon=lexicon, made_by=made_by).findings
    pieces = tuple(as_heard(piece, under, heard) for piece in found[0].evidence)
    assert "will bearing" in pieces[0].said
    walkaround = walkaround.model_copy(update={"findings": (found[0].model_copy(update={"evidence": pieces}),)})
    explanation = explain_finding(walkaround, found[0].id, lexicon)
    assert explanation.finding.component.id == "wheel_bearing"
    assert "wheel" in [word.text for word in explanation.trace.words]
