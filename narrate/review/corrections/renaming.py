"""The ids of a walkaround changed, everywhere they are named."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeVar

from narrate.judge.numbering import new_ids
from narrate.records.walkaround import Answer, Evidence, Finding, Walkaround

Evidenced = TypeVar("Evidenced", bound=Any)


def new_names(first: Walkaround, second: Walkaround) -> dict[str, str]:
    """Ids of the second -> ids that the first never used; a recording the first holds too has its id there."""
    held = {r.sha256: r.id for r in first.recordings if r.sha256}
    names = {r.id: held[r.sha256] for r in second.recordings if r.sha256 in held}
    ids = {
        "r": [r.id for r in second.recordings if r.id not in names],
        "c": [each.id for each in second.concerns],
        "f": [each.id for each in second.findings],
        "u": [each.id for each in second.unplaced],
        "s": [each.id for each in second.suggestions],
    }
    for letter, old in ids.items():
        names |= dict(zip(old, new_ids(first, letter), strict=False))
    return names


def renamed(walkaround: Walkaround, names: Mapping[str, str]) -> Walkaround:
    """The walkaround with new ids; one that `names` lacks stays."""

    def name(id_: str) -> str:
        return "+".join(names.get(part, part) for part in id_.split("+"))

    def moved(pieces: Sequence[Evidence]) -> tuple[Evidence, ...]:
        return tuple(piece.model_copy(update={"recording": name(piece.recording)}) for piece in pieces)

    def with_name(things: Sequence[Evidenced], **more: Callable[[Any], Any]) -> tuple[Evidenced, ...]:
        made = []
        for each in things:
            changed: dict[str, Any] = {"id": name(each.id), "evidence": moved(each.evidence)}
            made.append(each.model_copy(update=changed | {key: make(each) for key, make in more.items()}))
        return tuple(made)

    def answers(finding: Finding) -> tuple[Answer, ...]:
        return tuple(a.model_copy(update={"concern": name(a.concern)}) for a in finding.answers)

    heading = (h.model_copy(update={"evidence": moved((h.evidence,))[0]}) for h in walkaround.heading)
    return walkaround.model_copy(
        update={
            "recordings": tuple(r.model_copy(update={"id": name(r.id)}) for r in walkaround.recordings),
            "concerns": with_name(walkaround.concerns),
            "findings": with_name(walkaround.findings, answers=answers),
            "unplaced": with_name(walkaround.unplaced),
            "suggestions": with_name(walkaround.suggestions, for_=lambda s: s.for_ and name(s.for_)),
            "heading": tuple(heading),
            "poor_stretches": tuple(
                p.model_copy(update={"recording": name(p.recording)}) for p in walkaround.poor_stretches
            ),
            "edits": tuple(e.model_copy(update={"recording": name(e.recording)}) for e in walkaround.edits),
            "decisions": tuple(d.model_copy(update={"about": name(d.about)}) for d in walkaround.decisions),
        }
    )
