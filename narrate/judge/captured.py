"""What a capture tells beside its sound laid into the walkaround that was heard: gaps, commands, answers."""

from collections.abc import Sequence

from narrate.judge.answered import with_answer
from narrate.judge.carrying_out import UNDONE, Span, carry_out, undo
from narrate.records.capture import Captured, CommandSaid, Mark
from narrate.records.recording import Recording
from narrate.records.walkaround import Evidence, Walkaround

NEAR_S = 4.0
"""A command heard live and one heard in the whole recording are the same one if no more lies between them."""
SPILL_S = 0.5
"""Words this far outside a command still are its own: recognizers give times loosely."""
ANSWER = "answer"


def with_captured(walkaround: Walkaround, captured: Captured, *, recording: str | None = None) -> Walkaround:
    """The walkaround with the gaps of its recording, the commands of the capture and the answers to questions.

    recording: id of the recording that the capture's seconds count; None for the first. Commands heard live and not
    again are added, and those that were undone are undone. An answer fills what is unsettled; where something else
    was heard it holds if it was touched, and is shown as a doubt if it was spoken. Judge again after this: what was
    taken back no longer counts. Doing it twice gives the same.
    """
    known = recording or next((r.id for r in walkaround.recordings), None)
    if known is None:
        return walkaround
    marks = sorted((mark for mark in captured.marks if mark.what != ANSWER), key=lambda each: each.at_s)
    pairs = _paired(marks, [c for c in walkaround.commands if c.recording == known])
    changed = walkaround.model_copy(
        update={
            "recordings": tuple(_with_gaps(r, captured) if r.id == known else r for r in walkaround.recordings),
            "commands": (*walkaround.commands, *_unheard(marks, pairs, known)),
        }
    )
    changed = _without_told(changed, [m for m in marks if m.id not in pairs and not m.undone], known)
    undone = {pairs[mark.id] for mark in marks if mark.undone and mark.id in pairs}
    about = _about(marks, pairs)
    changed = undo(changed, {c.id for c in changed.commands if c.id in undone or _otherwise(changed, c, about)})
    changed = carry_out(_with_undone(changed, undone), about)
    for mark in sorted(captured.marks, key=lambda each: each.at_s):
        if mark.what == ANSWER and not mark.undone:
            changed = with_answer(changed, mark, known)
    return changed


def _with_gaps(recording: Recording, captured: Captured) -> Recording:
    gaps = {gap.at_s: gap for gap in (*recording.gaps, *captured.gaps)}
    return recording.model_copy(update={"gaps": tuple(gaps[at_s] for at_s in sorted(gaps))})


def _paired(marks: Sequence[Mark], commands: Sequence[CommandSaid]) -> dict[str, str]:
    """Mark -> the command of the recording that it is, the nearest in time first; each one once."""
    known = {command.id for command in commands}
    pairs = {mark.id: mark.id for mark in marks if mark.id in known}
    near = sorted(
        (_apart_s(mark, command), number, mark.id, command.id)
        for number, mark in enumerate(marks)
        for command in commands
        if mark.what == command.command and mark.id not in pairs and mark.said
    )
    for apart_s, _, mark_id, command_id in near:
        if apart_s <= NEAR_S and mark_id not in pairs and command_id not in pairs.values():
            pairs[mark_id] = command_id
    return pairs


def _apart_s(mark: Mark, command: CommandSaid) -> float:
    """Seconds between a mark and a command; nothing where they overlap."""
    if command.start_s is None:
        return float("inf")
    end_s = command.end_s if command.end_s is not None else command.start_s
    mark_end_s = mark.end_s if mark.end_s is not None else mark.at_s
    return max(0.0, command.start_s - mark_end_s, mark.at_s - end_s)


def _unheard(marks: Sequence[Mark], pairs: dict[str, str], recording: str) -> list[CommandSaid]:
    """Commands that only the live hearing, or a touch, told; those undone again are none."""
    return [
        CommandSaid(
            id=mark.id,
            command=mark.what,
            recording=recording,
            start_s=mark.at_s,
            end_s=mark.end_s if mark.end_s is not None else mark.at_s,
            said=mark.said,
        )
        for mark in marks
        if mark.what != ANSWER and mark.id not in pairs and not mark.undone
    ]


def _without_told(walkaround: Walkaround, marks: Sequence[Mark], recording: str) -> Walkaround:
    """Words that fit nowhere and are nothing but a command that only the live hearing understood."""
    spans = [(m.at_s - SPILL_S, (m.end_s if m.end_s is not None else m.at_s) + SPILL_S) for m in marks if m.said]

    def told(evidence: Evidence) -> bool:
        if evidence.recording != recording or evidence.start_s is None or evidence.end_s is None:
            return False
        return any(start <= evidence.start_s and evidence.end_s <= end for start, end in spans)

    kept = tuple(u for u in walkaround.unplaced if not u.evidence or not all(map(told, u.evidence)))
    return walkaround.model_copy(update={"unplaced": kept})


def _about(marks: Sequence[Mark], pairs: dict[str, str]) -> dict[str, Span]:
    """Command -> when the finding was spoken that it is about."""
    return {
        pairs.get(mark.id, mark.id): (mark.about_start_s, mark.about_end_s)
        for mark in marks
        if mark.about_start_s is not None and mark.about_end_s is not None
    }


def _otherwise(walkaround: Walkaround, command: CommandSaid, about: dict[str, Span]) -> bool:
    """Whether a taking back did something else than what the technician saw it do."""
    if command.id not in about or command.command != "take_back" or not command.came_of_it:
        return False
    start_s, end_s = about[command.id]
    finding = next((f for f in walkaround.findings if f.id == command.about), None)
    return finding is None or not any(
        e.start_s is not None and e.end_s is not None and e.start_s < end_s and start_s < e.end_s
        for e in finding.evidence
    )


def _with_undone(walkaround: Walkaround, undone: set[str]) -> Walkaround:
    commands = tuple(c.model_copy(update={"came_of_it": UNDONE}) if c.id in undone else c for c in walkaround.commands)
    return walkaround.model_copy(update={"commands": commands})
