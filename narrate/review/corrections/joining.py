"""Two walkarounds of one vehicle made one, and one that tells of two vehicles made two."""

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from narrate.errors import UsageError
from narrate.find.heading_values import FIELDS, OF_THE_VISIT
from narrate.judge.numbering import new_ids, with_ids_used
from narrate.judge.review_order import order_for_review
from narrate.records.reviewed import Edit
from narrate.records.walkaround import Finding, Suggestion, Walkaround
from narrate.review.corrections.found_again import Evidenced, words_of
from narrate.review.corrections.renaming import new_names, renamed

Again = Callable[[Walkaround], Walkaround]
SOURCE = "the walkaround that was joined to this one"


def joined(first: Walkaround, second: Walkaround, *, again: Again) -> Walkaround:
    """The first walkaround with all that the second holds, under new ids, judged again.

    A recording that both hold (they were one before) stays once. Where the heads differ the first's stands, and the
    second's is suggested. Raises UsageError where one is signed.
    """
    for each in (first, second):
        not_signed(each)
    second = renamed(second, new_names(first, second))
    known = {recording.id for recording in first.recordings}
    texts = {c.text.casefold(): c.id for c in first.concerns if c.origin == "order"}
    twice = {c.id: texts[key] for c in second.concerns if c.origin == "order" and (key := c.text.casefold()) in texts}
    changed = {
        **_head(first, second),
        "heading": (*first.heading, *(h for h in second.heading if h not in first.heading)),
        "recordings": (*first.recordings, *(r for r in second.recordings if r.id not in known)),
        "concerns": (*first.concerns, *(c for c in second.concerns if c.id not in twice)),
        "findings": (*first.findings, *(_answering(f, twice) for f in second.findings)),
        "unplaced": (*first.unplaced, *second.unplaced),
        "suggestions": (*first.suggestions, *second.suggestions),
        "poor_stretches": (*first.poor_stretches, *(p for p in second.poor_stretches if p.recording not in known)),
        "edits": tuple(_edits(first, second)),
        "decisions": (*first.decisions, *(d for d in second.decisions if d.about not in twice)),
    }
    both = first.model_copy(update=changed)
    both = both.model_copy(update={"suggestions": (*both.suggestions, *_differing_heads(first, second, both))})
    return order_for_review(again(with_ids_used(both, first)))


def not_signed(walkaround: Walkaround) -> None:
    """Raise UsageError for a signed list."""
    if walkaround.signed:
        message = f"The list of {walkaround.id} was signed by {walkaround.signed.by}; reopen it first."
        raise UsageError(message)


def _answering(finding: Finding, twice: Mapping[str, str]) -> Finding:
    """The finding with the one concern in place of the other of the same words."""
    answers = tuple(a.model_copy(update={"concern": twice.get(a.concern, a.concern)}) for a in finding.answers)
    return finding.model_copy(update={"answers": answers})


def _head(first: Walkaround, second: Walkaround) -> dict[str, Any]:
    """What the first does not know of the visit and the vehicle."""
    visit = {f: getattr(first, f) or getattr(second, f) for f in OF_THE_VISIT}
    vehicle = {f: getattr(first.vehicle, f) or getattr(second.vehicle, f) for f in FIELDS if f not in OF_THE_VISIT}
    return {**visit, "vehicle": first.vehicle.model_copy(update=vehicle)}


def _differing_heads(first: Walkaround, second: Walkaround, both: Walkaround) -> Iterator[Suggestion]:
    ids = new_ids(both, "s")
    for field, name in FIELDS.items():
        one, other = (getattr(w if field in OF_THE_VISIT else w.vehicle, field) for w in (first, second))
        if one and other and one != other:
            mine, theirs = (f"{v.value:f} {v.unit}" if field == "odometer" else v for v in (one, other))
            text = f"The {name} is {mine}, but the other walkaround has {theirs}; check which is right."
            yield Suggestion(id=next(ids), kind="heading", text=text, source=SOURCE)


def _edits(first: Walkaround, second: Walkaround) -> Iterator[Edit]:
    """The edits of both, without those by which each left out the part of a recording that was the other's."""
    kept: list[Edit] = []
    for walkaround, other in ((first, second), (second, first)):
        things: tuple[Evidenced, ...] = (*other.findings, *other.concerns, *other.unplaced)
        told = {word for each in things for word in words_of(each)}
        for edit in walkaround.edits:
            words = {(edit.recording, n) for n in range(edit.first_word, edit.last_word + 1)}
            left_out = not edit.text and words & told
            if not left_out and not any(_overlap(edit, each) for each in kept):
                kept.append(edit)
    yield from sorted(kept, key=lambda edit: (edit.recording, edit.first_word))


def _overlap(one: Edit, other: Edit) -> bool:
    apart = one.last_word < other.first_word or other.last_word < one.first_word
    return one.recording == other.recording and not apart
