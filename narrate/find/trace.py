"""Explaining a finding: what each stage recorded while it ran, followed back from the finding, and replayed.

There is no second implementation: the stages themselves run, and their difference is written down.
"""

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from narrate.errors import RecordError, ReplayError
from narrate.find.draft import FAMILIES, Draft, Group, Item
from narrate.find.edited import as_heard, edited_recording
from narrate.find.findings import Context
from narrate.find.mining import cuts, mine, moved_by
from narrate.find.stages import NEXT_VEHICLE, READING, STAGES, Stages, run_stages
from narrate.find.vocabulary import Vocabulary, vocabulary
from narrate.find.weights import models_digest
from narrate.records.recording import Word
from narrate.records.walkaround import Finding, Walkaround
from narrate.words.lexicon import Lexicon


@dataclass(frozen=True, slots=True)
class Step:
    """What one stage changed: items added and ids removed, between two states told by their digests."""

    stage: str
    before: str
    after: str
    added: tuple[tuple[str, Item], ...]
    """(family of the draft, item)."""
    removed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Trace:
    """All steps over the words of one recording."""

    words: tuple[Word, ...]
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Explanation:
    """A finding, the steps it rests on, and the whole trace to replay."""

    finding: Finding
    group: Group
    items: tuple[tuple[str, Item], ...]
    """(stage, item) in the order recorded: everything the finding rests on."""
    trace: Trace
    same_lexicon: bool
    """Whether the lexicon is still the one the walkaround was made with."""
    same_weights: bool
    """Whether the trained weights are."""


def record_stages(words: Iterable[Word], ready: Vocabulary, stages: Stages = STAGES) -> tuple[Draft, Trace]:
    """Run all stages and write down what each changed."""
    draft = Draft(words=tuple(words))
    kept = tuple(draft.words)
    state = _state(draft)
    steps = []
    for name, stage in stages:
        draft = stage(draft, ready)
        after = _state(draft)
        steps.append(
            Step(
                stage=name,
                before=_digest(state),
                after=_digest(after),
                added=tuple(after[i] for i in after if state.get(i) != after[i]),
                removed=tuple(i for i in state if state[i] != after.get(i)),
            )
        )
        state = after
    return draft, Trace(kept, tuple(steps))


def replay(trace: Trace) -> Draft:
    """Apply the recorded steps to the words and nothing else.

    Raises ReplayError when a step does not begin where the one before it ended, removes what is not there, or adds
    something that rests on what is not there.
    """
    state: dict[str, tuple[str, Item]] = {}
    given = {f"w{number}" for number in range(len(trace.words))}
    for step in trace.steps:
        if _digest(state) != step.before:
            message = f"The step '{step.stage}' does not begin where the steps before it end; a step is missing."
            raise ReplayError(message)
        for gone in step.removed:
            if state.pop(gone, None) is None:
                message = f"The step '{step.stage}' removes '{gone}', which no step before it made."
                raise ReplayError(message)
        for family, item in step.added:
            state[item.id] = (family, item)
        for _, item in step.added:
            missing = [i for i in item.because if i not in state and i not in given and i not in step.removed]
            if missing:
                message = f"'{item.id}' of step '{step.stage}' rests on '{missing[0]}', which no step made."
                raise ReplayError(message)
    made: dict[str, Any] = {name: tuple(item for family, item in state.values() if family == name) for name in FAMILIES}
    draft = replace(Draft(words=trace.words), **made)
    names = tuple(step.stage for step in trace.steps)
    if all(names != tuple(name for name, _ in stages) for stages in (STAGES, NEXT_VEHICLE)):
        message = "The recorded steps are not the stages of this program; a step is missing or was added."
        raise ReplayError(message)
    return draft


def explain_finding(walkaround: Walkaround, finding_id: str, lexicon: Lexicon) -> Explanation:
    """Find the same finding again by the same stages, with what each of them recorded for it.

    Raises RecordError if the walkaround has no such finding, or the words no longer lead to it.
    """
    finding = next((f for f in walkaround.findings if f.id == finding_id), None)
    if finding is None:
        known = ", ".join(f.id for f in walkaround.findings) or "none"
        message = f"There is no finding '{finding_id}' in this walkaround; it has: {known}."
        raise RecordError(message)
    if not finding.evidence:
        message = (
            f"Finding '{finding_id}' was added by {finding.review.by or 'a person'}; nothing was said to explain it."
        )
        raise RecordError(message)
    recording = next(r for r in walkaround.recordings if r.id == finding.evidence[0].recording)
    spoken, heard = edited_recording(recording, walkaround.edits)
    ready = vocabulary(lexicon)
    context = Context(walkaround.market, walkaround.vehicle.drive_side, recording.id)
    for first, end, stages in cuts(run_stages(spoken.words, ready, READING), ready):
        _, trace = record_stages(spoken.words[first:end], ready, stages)
        mined = moved_by(mine(replay(trace), ready, context), first)
        for group, again in zip(mined.groups, mined.findings, strict=True):
            under = tuple(as_heard(piece, heard, recording) for piece in again.evidence)
            same = again.component.id == finding.component.id or finding.review.state == "corrected"
            if same and under == finding.evidence:
                return Explanation(
                    finding=finding,
                    group=group,
                    items=tuple(_rests_on(trace, group)),
                    trace=trace,
                    same_lexicon=same_lexicon(walkaround, lexicon),
                    same_weights=same_weights(walkaround),
                )
    if finding.review.state not in ("unreviewed", "confirmed"):
        by = finding.review.by or "a person"
        message = f"Finding '{finding_id}' is as {by} made it; the words alone do not lead to it."
        raise RecordError(message)
    message = (
        f"The words no longer lead to finding '{finding_id}': the lexicon or the program has changed since "
        "it was made; process the recording again."
    )
    raise RecordError(message)


def same_lexicon(walkaround: Walkaround, lexicon: Lexicon) -> bool:
    """Whether the lexicon is still the one the walkaround was made with."""
    return walkaround.made_by.lexicon == lexicon.digest


def same_weights(walkaround: Walkaround) -> bool:
    """Whether the trained weights are."""
    return walkaround.made_by.joining == models_digest()


def _rests_on(trace: Trace, group: Group) -> Sequence[tuple[str, Item]]:
    """Everything reached by following `because` back from the group, and the scopes and voids over it."""
    made: dict[str, tuple[str, Item]] = {i.id: (step.stage, i) for step in trace.steps for _, i in step.added}
    wanted: set[str] = set()
    stack = [group.id, *group.dependents]
    while stack:
        current = stack.pop()
        if current in wanted or current not in made:
            continue
        wanted.add(current)
        stack += made[current][1].because
    return [(stage, item) for stage, item in made.values() if item.id in wanted or _touches(item, wanted, made)]


def _touches(item: Item, wanted: set[str], made: Mapping[str, tuple[str, Item]]) -> bool:
    """Whether a scope covers, or a void takes back, something next to what is wanted."""
    kind = item.id[0]
    if kind == "v":
        return bool(set(item.because) & wanted)
    if kind != "s":
        return False
    first, last = item.first, item.last  # type: ignore[union-attr]
    return any(f"t{number}" in wanted for number in range(first, last + 1))


def _state(draft: Draft) -> dict[str, tuple[str, Item]]:
    return {item.id: (name, item) for name in FAMILIES for item in getattr(draft, name)}


def _digest(state: Mapping[str, tuple[str, Item]]) -> str:
    whole = hashlib.sha256()
    for name in sorted(state):
        whole.update(repr((name, state[name][0], asdict(state[name][1]))).encode())
    return whole.hexdigest()
