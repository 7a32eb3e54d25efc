"""One field of one finding, corrected. What was heard stays beside what it means."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from narrate.errors import UsageError
from narrate.find.findings import cautions_of
from narrate.records.reviewed import Review
from narrate.records.walkaround import Answer, Finding, QuotedPrice, Recommendation, Status, Urgency, Walkaround
from narrate.review.corrections.asked_fields import (
    AskAnswers,
    AskComponent,
    AskConditions,
    AskLists,
    AskLocations,
    AskMeasurements,
    AskPartOptions,
    AskPrices,
    AskRecommendation,
    AskStatus,
    AskUrgency,
    AskWords,
    FieldAsked,
)
from narrate.review.corrections.checks import (
    NOTHING_WRONG,
    action_of,
    component_of,
    conditions_of,
    legal_places,
    same_as_seen,
    standing,
    with_finding,
)
from narrate.review.corrections.numbers import measurements_of, moved
from narrate.words.lexicon import Lexicon

SURE_OF = {
    "component": "component",
    "locations": "location",
    "status": "condition",
    "conditions": "condition",
    "recommendation": "recommendation",
}
"""Which confidence a field has; the others have none."""
DOUBTED = {
    "locations": ("location", "locations"),
    "conditions": ("condition", "conditions"),
    "measurements": ("measurement", "measurements"),
    "prices": ("price", "quoted_prices"),
}
"""Under which names a field is doubted, where it is not its own."""
CONTRADICTS = ("component", "locations", "status", "measurements", "position")
"""Fields by which findings contradict each other: a contradiction is looked at again when one changes."""


@dataclass(frozen=True, slots=True)
class Made:
    """What a correction makes of a finding: the fields that change, and what was shown before."""

    present: object
    seen: object
    to: object
    changed: dict[str, Any]


def correct_field(walkaround: Walkaround, asked: FieldAsked, lexicon: Lexicon, by: str, at: str) -> Walkaround:
    """The walkaround with one field of one finding as a person says it is.

    Raises UsageError for what cannot be, ConflictError where the field is no longer what the page showed.
    """
    finding = standing(walkaround, asked.finding)
    made = _MAKERS[type(asked)](finding, asked, walkaround, lexicon)
    field = str(getattr(asked, "field", asked.do))
    what = f"{field.replace('_', ' ')} of the {finding.component.name}"
    if same_as_seen(made.present, made.seen, made.to, what, finding.review.by):
        return walkaround
    changed = finding.model_copy(update=made.changed)
    changed = reviewed(settled(changed, field), by, at)
    walkaround = with_finding(walkaround, changed)
    return _ask_again(walkaround, finding.id) if field in CONTRADICTS else walkaround


def reviewed(finding: Finding, by: str, at: str) -> Finding:
    """The finding, corrected by someone; one that a person added stays an added one."""
    state = "added" if finding.review.state == "added" else "corrected"
    return finding.model_copy(update={"review": Review(state=state, by=by, at=at)})


def settled(finding: Finding, *fields: str) -> Finding:
    """The finding without doubts about these fields, and sure of them."""
    gone = {name for field in fields for name in (field, *DOUBTED.get(field, ()))}
    confidence = finding.confidence.model_copy(update={SURE_OF[f]: 1.0 for f in fields if f in SURE_OF})
    least = min(confidence.component, confidence.location, confidence.condition, confidence.recommendation)
    if not finding.conditions:
        gone.update(DOUBTED["conditions"])
    doubts = tuple(doubt for doubt in finding.doubts if doubt.field not in gone)
    confidence = confidence.model_copy(update={"overall": least})
    return finding.model_copy(update={"doubts": doubts, "confidence": confidence})


def _ask_again(walkaround: Walkaround, id_: str) -> Walkaround:
    """Without decisions about contradictions of this finding: it is not what they were about any more."""
    kept = tuple(d for d in walkaround.decisions if "+" not in d.about or id_ not in d.about.split("+"))
    return walkaround if kept == walkaround.decisions else walkaround.model_copy(update={"decisions": kept})


def _component(finding: Finding, asked: AskComponent, walkaround: Walkaround, lexicon: Lexicon) -> Made:
    part = component_of(lexicon, asked.to, walkaround.market, finding.component.heard)
    cautions = cautions_of(lexicon, part.id, finding.status)
    return Made(finding.component.id, asked.seen, asked.to, {"component": part, "cautions": cautions})


def _locations(finding: Finding, asked: AskLocations, walkaround: Walkaround, lexicon: Lexicon) -> Made:
    to = legal_places(asked.to)
    numbers = moved(finding.measurements, finding.locations, to)
    return Made(finding.locations, asked.seen, to, {"locations": to, "measurements": numbers})


def _status(finding: Finding, asked: AskStatus, walkaround: Walkaround, lexicon: Lexicon) -> Made:
    known = finding.component.id in lexicon.components
    cautions = cautions_of(lexicon, finding.component.id, asked.to) if known else finding.cautions
    changed: dict[str, Any] = {"status": asked.to, "cautions": cautions}
    if asked.to in NOTHING_WRONG:
        # What is fine, or was not looked at, has nothing wrong with it, and nothing is to be done.
        changed |= {"conditions": (), "recommendation": Recommendation()}
    return Made(finding.status, asked.seen, asked.to, changed)


def _conditions(finding: Finding, asked: AskConditions, walkaround: Walkaround, lexicon: Lexicon) -> Made:
    # With something wrong it is a fault, whatever it was taken for.
    status: Status = "fault" if asked.to and finding.status in (*NOTHING_WRONG, "work") else finding.status
    to = conditions_of(lexicon, asked.to, status, finding.conditions)
    present = tuple(each.id for each in finding.conditions)
    changed: dict[str, Any] = {"conditions": to}
    if status != finding.status:
        known = finding.component.id in lexicon.components
        cautions = cautions_of(lexicon, finding.component.id, status) if known else finding.cautions
        changed |= {"status": status, "cautions": cautions}
    # Only how surely it was said may have changed, which `seen` does not tell.
    same = to == finding.conditions
    return Made(present, asked.seen, present if same else to, changed)


def _recommendation(finding: Finding, asked: AskRecommendation, walkaround: Walkaround, lexicon: Lexicon) -> Made:
    action_of(lexicon, asked.to.action)
    for other in asked.to.otherwise:
        action_of(lexicon, other)
    to = Recommendation(**asked.to.model_dump())
    present = finding.recommendation.action
    same = to == finding.recommendation
    return Made(present, asked.seen, present if same else to, {"recommendation": to})


def _measurements(finding: Finding, asked: AskMeasurements, walkaround: Walkaround, lexicon: Lexicon) -> Made:
    to = measurements_of(finding, asked.to, lexicon)
    present = tuple(each.value for each in finding.measurements)
    same = to == finding.measurements
    return Made(present, asked.seen, present if same else to, {"measurements": to})


def _words(finding: Finding, asked: AskWords, walkaround: Walkaround, lexicon: Lexicon) -> Made:
    return Made(getattr(finding, asked.field), asked.seen, asked.to, {asked.field: asked.to})


def _lists(finding: Finding, asked: AskLists | AskPartOptions, walkaround: Walkaround, lexicon: Lexicon) -> Made:
    given = (each.upper() for each in asked.to) if asked.field == "codes" else asked.to
    to = tuple(dict.fromkeys(given))
    return Made(getattr(finding, asked.field), asked.seen, to, {asked.field: to})


def _prices(finding: Finding, asked: AskPrices, walkaround: Walkaround, lexicon: Lexicon) -> Made:
    said = {(each.amount, each.for_): each.said for each in finding.quoted_prices}
    to = tuple(
        QuotedPrice(amount=p.amount, currency=p.currency, for_=p.for_, said=said.get((p.amount, p.for_), ""))
        for p in asked.to
    )
    present = tuple(each.amount for each in finding.quoted_prices)
    same = to == finding.quoted_prices
    return Made(present, asked.seen, present if same else to, {"quoted_prices": to})


def _urgency(finding: Finding, asked: AskUrgency, walkaround: Walkaround, lexicon: Lexicon) -> Made:
    before = finding.urgency
    said = before if before is None or before.origin == "said" else before.said
    to = Urgency(**asked.to.model_dump(), origin="person", said=said) if asked.to else None
    same = to == before
    present = before.when if before else None
    return Made(present, asked.seen, present if same else to, {"urgency": to})


def _answers(finding: Finding, asked: AskAnswers, walkaround: Walkaround, lexicon: Lexicon) -> Made:
    known = [concern.id for concern in walkaround.concerns]
    for each in (*asked.to, *asked.suggested):
        if each not in known:
            message = f"There is no concern {each} in this list; load the page again."
            raise UsageError(message)
    named = dict.fromkeys(asked.to)
    left = (each for each in dict.fromkeys(asked.suggested) if each not in named)
    to = (*(Answer(concern=each) for each in named), *(Answer(concern=each, link="suggested") for each in left))
    present = tuple(each.concern for each in finding.answers)
    same = to == finding.answers
    return Made(present, asked.seen, present if same else to, {"answers": to})


_MAKERS: dict[type, Callable[[Finding, Any, Walkaround, Lexicon], Made]] = {
    AskComponent: _component,
    AskLocations: _locations,
    AskStatus: _status,
    AskConditions: _conditions,
    AskRecommendation: _recommendation,
    AskMeasurements: _measurements,
    AskWords: _words,
    AskLists: _lists,
    AskPartOptions: _lists,
    AskPrices: _prices,
    AskUrgency: _urgency,
    AskAnswers: _answers,
}
