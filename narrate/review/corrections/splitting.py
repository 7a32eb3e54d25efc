"""One walkaround that tells of two vehicles made two, by where each thing was said."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from narrate.errors import UsageError
from narrate.judge.numbering import with_ids_used
from narrate.judge.review_order import order_for_review
from narrate.records.recording import Recording
from narrate.records.reviewed import Decision, Edit
from narrate.records.walkaround import Evidence, Finding, Suggestion, Vehicle, Walkaround
from narrate.review.corrections.found_again import Evidenced, words_of
from narrate.review.corrections.joining import Again, not_signed
from narrate.review.corrections.words import Find, found_in_edited

Thing = TypeVar("Thing", bound=Any)
ABOUT = 6
"""How many words from where it was suggested a person may split."""


@dataclass(frozen=True, slots=True)
class Cut:
    """Where the second vehicle begins."""

    recording: Recording
    first_word: int

    def behind(self, thing: Evidenced) -> bool:
        """Whether most of the words in which it was said are about the second vehicle."""
        words = words_of(thing)
        return 2 * sum(r == self.recording.id and n >= self.first_word for r, n in words) > len(words)


def split_at(
    walkaround: Walkaround,
    recording_id: str,
    first_word: int,
    *,
    by: str,
    at: str,
    again: Again,
    again_second: Again | None = None,
    find: Find | None = None,
) -> tuple[Walkaround, Walkaround]:
    """The walkaround without what was said from a word of a recording on, and one of its own with just that.

    Both keep the recording; each leaves the other's words out by an edit, so that they are never searched again.
    Other recordings, the order's concerns and what was said nowhere stay with the first. `again_second` judges the
    second (without the first's order and earlier visit); `find` reads its head from its words; neither is needed.
    Raises UsageError where that cannot be.
    """
    not_signed(walkaround)
    recording = next((r for r in walkaround.recordings if r.id == recording_id), None)
    if recording is None or not 0 < first_word < len(recording.words):
        message = f"Recording {recording_id} cannot be split at word {first_word}; mark a word within it."
        raise UsageError(message)
    if any(e.recording == recording_id and e.first_word < first_word <= e.last_word for e in walkaround.edits):
        message = "Words there were corrected together; split before or behind that correction."
        raise UsageError(message)
    cut = Cut(recording, first_word)
    taken = [s.id for s in walkaround.suggestions if _told_of(s, cut)]
    first = _part(walkaround, cut, second=False, by=by, at=at)
    noted = tuple(Decision(about=each, decided="taken_up", by=by, at=at) for each in taken)
    told = tuple(s for s in walkaround.suggestions if s.id in taken)
    first = first.model_copy(
        update={"decisions": (*first.decisions, *noted), "suggestions": (*told, *first.suggestions)}
    )
    second = _second(_part(walkaround, cut, second=True, by=by, at=at), cut, taken, find)
    return order_for_review(again(first)), order_for_review((again_second or again)(second))


def _told_of(suggestion: Suggestion, cut: Cut) -> bool:
    """Whether it was suggested to split about there."""
    return suggestion.kind == "split" and any(
        piece.recording == cut.recording.id and abs(piece.first_word - cut.first_word) <= ABOUT
        for piece in suggestion.evidence
    )


def _part(walkaround: Walkaround, cut: Cut, *, second: bool, by: str, at: str) -> Walkaround:
    """What was said on one side of the cut."""

    def here(things: Sequence[Thing]) -> tuple[Thing, ...]:
        return tuple(each for each in things if cut.behind(each) == second)

    concerns = here(walkaround.concerns)
    findings = tuple(_answering(f, {c.id for c in concerns}) for f in here(walkaround.findings))
    unplaced, suggestions = here(walkaround.unplaced), here(walkaround.suggestions)
    ids = {c.id for c in concerns} | {f.id for f in findings} | {u.id for u in unplaced} | {s.id for s in suggestions}
    part = walkaround.model_copy(
        update={
            "concerns": concerns,
            "findings": findings,
            "unplaced": unplaced,
            "suggestions": suggestions,
            "heading": tuple(h for h in walkaround.heading if _begins_behind(h.evidence, cut) == second),
            "edits": _edits(walkaround, cut, second=second, by=by, at=at),
            "decisions": tuple(d for d in walkaround.decisions if ids.issuperset(d.about.split("+"))),
        }
    )
    return with_ids_used(part, walkaround)


def _begins_behind(piece: Evidence | Edit, cut: Cut) -> bool:
    return piece.recording == cut.recording.id and piece.first_word >= cut.first_word


def _answering(finding: Finding, concerns: set[str]) -> Finding:
    answers = tuple(a for a in finding.answers if a.concern in concerns)
    return finding.model_copy(update={"answers": answers})


def _edits(walkaround: Walkaround, cut: Cut, *, second: bool, by: str, at: str) -> tuple[Edit, ...]:
    """The edits on this side, and one that takes out the other."""
    id_, last = cut.recording.id, len(cut.recording.words) - 1
    first_out, last_out = (0, cut.first_word - 1) if second else (cut.first_word, last)
    kept = [e for e in walkaround.edits if e.recording != id_ or _begins_behind(e, cut) == second]
    out = Edit(recording=id_, first_word=first_out, last_word=last_out, text="", by=by, at=at)
    return tuple(sorted((*kept, out), key=lambda edit: (edit.recording, edit.first_word)))


def _second(part: Walkaround, cut: Cut, taken: Sequence[str], find: Find | None) -> Walkaround:
    """The part as a walkaround of its own: only the recordings that it needs, and its own head."""
    things: tuple[Evidenced, ...] = (*part.findings, *part.concerns, *part.unplaced)
    needed = {cut.recording.id} | {piece.recording for each in things for piece in each.evidence}
    changed: dict[str, Any] = {
        "recordings": tuple(r for r in part.recordings if r.id in needed),
        "edits": tuple(e for e in part.edits if e.recording in needed),
        "poor_stretches": tuple(p for p in part.poor_stretches if p.recording in needed),
        "suggestions": tuple(s for s in part.suggestions if s.id not in taken),
        "order_number": None,
        "vehicle": Vehicle(drive_side=part.vehicle.drive_side),
    }
    second = part.model_copy(update=changed)
    if find is None:
        return second
    found = found_in_edited(second, find)
    head = {"order_number": found.order_number, "heading": found.heading, "vehicle": found.vehicle}
    return second.model_copy(update=head | {"technician": found.technician or second.technician})
