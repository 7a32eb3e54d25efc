"""What is found from corrected words, laid into a list that people have worked on.

What a person decided on stays as it is and covers what is found of the same part in the same words. What nobody
decided on gives way: what comes out the same keeps its id, what is new gets a new one, what is gone goes.
"""

from collections.abc import Iterator, Sequence
from itertools import product
from typing import Any, Protocol, TypeVar

from narrate.find.heading_values import FIELDS, OF_THE_VISIT
from narrate.judge.numbering import new_ids, with_ids_used
from narrate.records.walkaround import (
    Concern,
    Evidence,
    Finding,
    HeadingValue,
    Odometer,
    Suggestion,
    Unplaced,
    Walkaround,
)

Words = frozenset[tuple[str, int]]
"""(recording, word as heard) each."""


class Evidenced(Protocol):
    """Anything that says where it was said."""

    @property
    def evidence(self) -> tuple[Evidence, ...]: ...


Thing = TypeVar("Thing", bound=Any)


def taken_over(present: Walkaround, found: Walkaround) -> Walkaround:
    """The present walkaround with what was found anew; both count words as heard."""
    concerns, renamed = _concerns(present, found)
    findings = _findings(present, found, renamed)
    unplaced = _unplaced(present, found, findings)
    visit, vehicle = _head(present, found)
    changed = {
        **visit,
        "vehicle": present.vehicle.model_copy(update=vehicle),
        "heading": found.heading,
        "concerns": concerns,
        "findings": findings,
        "unplaced": unplaced,
        "suggestions": _suggestions(present, found),
    }
    return with_ids_used(present.model_copy(update=changed), present)


def words_of(thing: Evidenced) -> Words:
    """The words in which it was said."""
    return frozenset((e.recording, n) for e in thing.evidence for n in range(e.first_word, e.last_word + 1))


def _findings(present: Walkaround, found: Walkaround, concerns: dict[str, str]) -> tuple[Finding, ...]:
    known = {concern.id for concern in present.concerns} | set(concerns.values())
    pairs = _paired(present.findings, found.findings)
    ids = new_ids(present, "f")
    new: list[Finding] = []
    same: dict[str, Finding] = {}
    for number, each in enumerate(found.findings):
        answers = tuple(a.model_copy(update={"concern": concerns.get(a.concern, a.concern)}) for a in each.answers)
        answers = tuple(a for a in answers if a.concern in known)
        before = present.findings[pairs[number]] if number in pairs else None
        id_ = before.id if before else next(ids)
        made = each.model_copy(update={"id": id_, "answers": answers})
        if before is None:
            new.append(made)
        elif before.review.state == "unreviewed":
            same[id_] = made
    kept = [same.get(f.id, f) for f in present.findings if f.review.state != "unreviewed" or f.id in same]
    return _put_in(kept, new, present)


def _paired(present: Sequence[Finding], found: Sequence[Finding]) -> dict[int, int]:
    """Which present finding each found one is, by number: of one part, in the same words, best at the same place."""
    here, there = [words_of(f) for f in present], [words_of(f) for f in found]
    alike = []
    for (n, new), (m, old) in product(enumerate(found), enumerate(present)):
        common = len(there[n] & here[m])
        one_part = new.component.id == old.component.id
        if common and (one_part or _plain(new.component.heard) == _plain(old.component.heard)):
            share = common / len(there[n] | here[m])
            alike.append(((one_part, new.locations == old.locations, new.status == old.status, share), n, m))
    pairs: dict[int, int] = {}
    for _, n, m in sorted(alike, key=lambda each: each[0], reverse=True):
        if n not in pairs and m not in pairs.values():
            pairs[n] = m
    return pairs


def _plain(heard: str) -> str:
    return " ".join("".join(c if c.isalnum() else " " for c in heard.casefold()).split())


def _put_in(kept: Sequence[Finding], new: Sequence[Finding], walkaround: Walkaround) -> tuple[Finding, ...]:
    """New ones before the first that was said later; the others keep their order."""
    order = {recording.id: number for number, recording in enumerate(walkaround.recordings)}

    def start(finding: Finding) -> tuple[int, int]:
        return min((order.get(e.recording, 0), e.first_word) for e in finding.evidence)

    findings = list(kept)
    for each in new:
        later = (n for n, f in enumerate(findings) if f.evidence and start(f) > start(each))
        findings.insert(next(later, len(findings)), each)
    return tuple(findings)


def _concerns(present: Walkaround, found: Walkaround) -> tuple[tuple[Concern, ...], dict[str, str]]:
    """The concerns, and what those found are called now. One that was written or decided on stays."""
    held = {decision.about for decision in present.decisions}
    held |= {a.concern for f in present.findings if f.review.state != "unreviewed" for a in f.answers}
    renamed: dict[str, str] = {}
    new: list[Concern] = []
    same: dict[str, Concern] = {}
    ids = new_ids(present, "c")
    for each in found.concerns:
        before = next((c for c in present.concerns if c.id not in same and _one_concern(c, each)), None)
        if before is None and each.origin == "order":
            # The order's concerns were listed when the walkaround was made, and may have been changed since.
            continue
        id_ = before.id if before else next(ids)
        renamed[each.id] = id_
        made = each.model_copy(update={"id": id_})
        if before is None:
            new.append(made)
        elif before.origin == "spoken" and id_ not in held:
            same[id_] = made
        else:
            same[id_] = before
    kept = [same.get(c.id, c) for c in present.concerns if c.origin == "order" or c.id in same or c.id in held]
    return (*kept, *new), renamed


def _one_concern(one: Concern, other: Concern) -> bool:
    if one.origin != other.origin:
        return False
    return one.text.casefold() == other.text.casefold() or bool(words_of(one) & words_of(other))


def _unplaced(present: Walkaround, found: Walkaround, findings: Sequence[Finding]) -> tuple[Unplaced, ...]:
    decided = {decision.about for decision in present.decisions}
    kept = [each for each in present.unplaced if each.id in decided]
    settled = [f for f in findings if f.review.state not in ("unreviewed", "dropped")]
    covered = {word for words in (*map(words_of, kept), *map(words_of, settled)) for word in words}
    free = [each for each in present.unplaced if each.id not in decided]
    ids = new_ids(present, "u")
    for each in found.unplaced:
        if words_of(each) <= covered:
            continue
        before = next((u for u in free if words_of(u) & words_of(each)), None)
        if before:
            free.remove(before)
        kept.append(each.model_copy(update={"id": before.id if before else next(ids)}))
    return tuple(kept)


def _suggestions(present: Walkaround, found: Walkaround) -> tuple[Suggestion, ...]:
    """Those of the words, under their ids; those that judging makes are made anew behind this, under theirs."""
    decided = {decision.about for decision in present.decisions}
    of_words = {"heading", "split"}
    known = {(s.kind, s.text): s.id for s in present.suggestions if s.kind in of_words}
    ids = new_ids(present, "s")
    new = [
        each.model_copy(update={"id": known.get((each.kind, each.text)) or next(ids)})
        for each in found.suggestions
        if each.kind in of_words
    ]
    again = {each.id for each in new}
    kept = [s for s in present.suggestions if s.id not in again and (s.kind not in of_words or s.id in decided)]
    return (*new, *kept)


def _head(present: Walkaround, found: Walkaround) -> tuple[dict[str, Any], dict[str, Any]]:
    """The visit's and the vehicle's lines that changed: only those that held what was heard, or nothing."""
    visit: dict[str, Any] = {}
    vehicle: dict[str, Any] = {}
    for field in FIELDS:
        of_visit = field in OF_THE_VISIT
        now = getattr(present if of_visit else present.vehicle, field)
        new = getattr(found if of_visit else found.vehicle, field)
        heard = list(_values(present.heading, field))
        if now != new and (now is None or _told(now) in heard):
            (visit if of_visit else vehicle)[field] = new
    return visit, vehicle


def _values(heading: Sequence[HeadingValue], field: str) -> Iterator[str]:
    return (each.value for each in heading if each.field == field)


def _told(value: object) -> str:
    return f"{value.value:f} {value.unit}" if isinstance(value, Odometer) else str(value)
