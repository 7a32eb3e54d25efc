"""Findings as wholes: confirmed, dropped, restored, added, made two, made one."""

from collections.abc import Iterable
from typing import Any, TypeVar

from narrate.errors import UsageError
from narrate.find.findings import cautions_of
from narrate.judge.numbering import new_ids
from narrate.records.reviewed import Decision, Review
from narrate.records.walkaround import Confidence, Evidence, Finding, Recommendation, Walkaround
from narrate.review.corrections.asked import AskAdd, AskConfirm, AskDrop, AskMerge, AskRestore, AskSplit, EvidenceTo
from narrate.review.corrections.checks import (
    action_of,
    component_of,
    conditions_of,
    finding_of,
    legal_places,
    standing,
    with_finding,
)
from narrate.review.corrections.fields import reviewed
from narrate.review.corrections.numbers import measurements_of
from narrate.words.lexicon import Lexicon

SURE = Confidence(overall=1.0, component=1.0, location=1.0, condition=1.0, recommendation=1.0)
Thing = TypeVar("Thing")


def confirm(walkaround: Walkaround, asked: AskConfirm, lexicon: Lexicon, by: str, at: str) -> Walkaround:
    """These findings are right; what someone corrected or added has been decided on already."""
    for id_ in dict.fromkeys(asked.findings):
        finding = standing(walkaround, id_)
        if finding.review.state == "unreviewed":
            review = Review(state="confirmed", by=by, at=at)
            walkaround = with_finding(walkaround, finding.model_copy(update={"review": review}))
    return walkaround


def drop(walkaround: Walkaround, asked: AskDrop, lexicon: Lexicon, by: str, at: str) -> Walkaround:
    """The finding counts for nothing any more; it is kept, with why."""
    finding = finding_of(walkaround, asked.finding)
    if finding.review.state == "dropped":
        return walkaround
    return with_finding(walkaround, _dropped(finding, asked.why, by, at))


def _dropped(finding: Finding, why: str, by: str, at: str) -> Finding:
    review = Review(state="dropped", by=by, at=at, why=why, was=finding.review.state)
    return finding.model_copy(update={"review": review})


def restore(walkaround: Walkaround, asked: AskRestore, lexicon: Lexicon, by: str, at: str) -> Walkaround:
    """The finding counts again, in the state it had before it was dropped."""
    finding = finding_of(walkaround, asked.finding)
    if finding.review.state != "dropped":
        return walkaround
    state = finding.review.was or "unreviewed"
    review = Review() if state == "unreviewed" else Review(state=state, by=by, at=at)
    return with_finding(walkaround, finding.model_copy(update={"review": review}))


def add(walkaround: Walkaround, asked: AskAdd, lexicon: Lexicon, by: str, at: str) -> Walkaround:
    """A finding that a person saw or heard; the words or the suggestion it is made from are taken up."""
    evidence = _evidence(walkaround, asked.evidence) if asked.evidence else ()
    if asked.unplaced:
        stretch = next((u for u in walkaround.unplaced if u.id == asked.unplaced), None)
        if stretch is None:
            message = f"There are no words {asked.unplaced} among those that fit nowhere any more; load the page again."
            raise UsageError(message)
        evidence = evidence or stretch.evidence
    if asked.suggestion and asked.suggestion not in {s.id for s in walkaround.suggestions}:
        message = f"The suggestion {asked.suggestion} is not made any more; load the page again."
        raise UsageError(message)
    part = component_of(lexicon, asked.component, walkaround.market, heard="")
    finding = Finding(
        id=next(new_ids(walkaround, "f")),
        component=part,
        locations=legal_places(asked.locations),
        status=asked.status,
        conditions=conditions_of(lexicon, asked.conditions, asked.status),
        recommendation=Recommendation(action=action_of(lexicon, asked.action)),
        cautions=cautions_of(lexicon, part.id, asked.status),
        evidence=evidence,
        confidence=SURE,
        review=Review(state="added", by=by, at=at),
    )
    finding = finding.model_copy(update={"measurements": measurements_of(finding, asked.measurements, lexicon)})
    taken = tuple(
        Decision(about=about, decided="taken_up", why=f"added as {finding.id}", by=by, at=at)
        for about in (asked.unplaced, asked.suggestion)
        if about
    )
    old = tuple(d for d in walkaround.decisions if d.about not in {each.about for each in taken})
    return walkaround.model_copy(update={"findings": (*walkaround.findings, finding), "decisions": (*old, *taken)})


def _evidence(walkaround: Walkaround, asked: EvidenceTo) -> tuple[Evidence, ...]:
    """The words named, as they were heard."""
    recording = next((r for r in walkaround.recordings if r.id == asked.recording), None)
    words = recording.words[asked.first_word : asked.last_word + 1] if recording else ()
    if not words or len(words) != asked.last_word - asked.first_word + 1:
        message = f"Recording {asked.recording} has no words {asked.first_word} to {asked.last_word}; mark them again."
        raise UsageError(message)
    piece = Evidence(
        **asked.model_dump(),
        start_s=words[0].start_s,
        end_s=words[-1].end_s,
        said=" ".join(word.text for word in words),
    )
    return (piece,)


def split(walkaround: Walkaround, asked: AskSplit, lexicon: Lexicon, by: str, at: str) -> Walkaround:
    """One finding becomes two; a number told of one place goes where the place goes, all else is in both."""
    finding = standing(walkaround, asked.finding)
    one, other = (legal_places(places) for places in asked.parts)
    if finding.locations or one or other:
        _whole(finding, one, other)
    second_id = next(new_ids(walkaround, "f"))
    first, second = (reviewed(_at(finding, here, there), by, at) for here, there in ((one, other), (other, one)))
    second = second.model_copy(update={"id": second_id})
    at_place = walkaround.findings.index(finding)
    findings = (*walkaround.findings[:at_place], first, second, *walkaround.findings[at_place + 1 :])
    return walkaround.model_copy(update={"findings": findings})


def _whole(finding: Finding, one: tuple[str, ...], other: tuple[str, ...]) -> None:
    """Raise UsageError where the parts are not two, or leave a place of the finding out."""
    if not one or not other or set(one) & set(other):
        message = "Give each of the two findings places of its own."
        raise UsageError(message)
    lost = [p for p in finding.locations if not any(set(p.split()) <= set(q.split()) for q in (*one, *other))]
    if lost:
        message = f"Neither of the two findings is at {', '.join(lost)}; give each place to one of them."
        raise UsageError(message)


def _at(finding: Finding, here: tuple[str, ...], there: tuple[str, ...]) -> Finding:
    numbers = tuple(n for n in finding.measurements if n.location not in there or n.location in here)
    return finding.model_copy(update={"locations": here, "measurements": numbers})


def merge(walkaround: Walkaround, asked: AskMerge, lexicon: Lexicon, by: str, at: str) -> Walkaround:
    """Two findings become one: the first takes what the second has beside it, and the second is dropped."""
    one, other = (standing(walkaround, id_) for id_ in asked.findings)
    if one.id == other.id:
        message = "Choose two findings to make one of."
        raise UsageError(message)
    lists = (
        "locations", "conditions", "measurements", "codes", "tests", "part_options", "quoted_prices", "answers",
        "cautions", "attachments", "evidence",
    )  # fmt: skip
    changed: dict[str, Any] = {name: _united(getattr(one, name), getattr(other, name)) for name in lists}
    for name in ("position", "reason", "consequence", "urgency"):
        changed[name] = getattr(one, name) or getattr(other, name)
    if one.recommendation.action is None:
        changed["recommendation"] = other.recommendation
    if one.status in ("ok", "unchecked"):
        changed["conditions"] = one.conditions
    merged = reviewed(one.model_copy(update=changed), by, at)
    walkaround = with_finding(walkaround, merged)
    return with_finding(walkaround, _dropped(other, f"merged into {one.id}", by, at))


def _united(some: Iterable[Thing], others: Iterable[Thing]) -> tuple[Thing, ...]:
    """The things of both, each once: of two with one id, or one concern, the first."""
    made: dict[object, Thing] = {}
    for each in (*some, *others):
        key = getattr(each, "id", None) or getattr(each, "concern", None) or each
        made.setdefault(key if isinstance(key, str) else repr(key), each)
    return tuple(made.values())
