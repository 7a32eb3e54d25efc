"""The customer's answer as the advisor takes it down: what it would come to, and that it was given."""

from decimal import Decimal, InvalidOperation
from functools import partial
from typing import Annotated, Any

from fastapi import APIRouter, Body, Request

from narrate.errors import ConflictError
from narrate.export.sums_said import say_sum
from narrate.price.authorizing import agreed_total, answered_estimate, authorize
from narrate.records.estimate import Consent, Estimate
from narrate.review.desk import Desk, desk_of
from narrate.review.estimate_asked import AskAnswer, parse_answer
from narrate.review.estimate_page import answer
from narrate.review.estimate_papers import document_of, log_once
from narrate.review.estimate_view import Json
from narrate.review.signin import Person, needs
from narrate.store.clock import now
from narrate.store.estimates import HeldEstimate, change_estimate, read_estimate

router = APIRouter()
Advisor = Annotated[Person, needs("advisor")]
Told = Annotated[dict[str, Any], Body()]


@router.post("/api/estimates/{estimate_id}/would")
def would(request: Request, estimate_id: str, person: Advisor, told: Told) -> Json:
    """What would be agreed with these answers: the total that is read back. Nothing is kept."""
    asked = parse_answer(told)
    held = read_estimate(desk_of(request).store, estimate_id)
    after = answered_estimate(held.estimate, answers_of(asked))
    total = agreed_total(after)
    return {"total": say_sum(total, after.currency), "plain": str(total), "text": _in_words(after)}


@router.post("/api/estimates/{estimate_id}/answers")
def keep(request: Request, estimate_id: str, person: Advisor, told: Told) -> Json:
    """Keep an answer with the digest of the very document it is about."""
    desk = desk_of(request)
    held = keep_answer(desk, estimate_id, parse_answer(told), who=person.name)
    return answer(desk, held)


def keep_answer(
    desk: Desk, estimate_id: str, asked: AskAnswer, *, who: str, by_link: bool = False, document: str | None = None
) -> HeldEstimate:
    """Keep what a customer answered. Raises UsageError and ConflictError as `authorize` does.

    by_link: the customer gave it themselves, by a link. document: sha256 of what was shown, else what is shown now.
    """
    before = read_estimate(desk.store, estimate_id)
    if document is None:
        shown = document_of(desk, before)
        log_once(desk, estimate_id, shown, kind="words", how="read out", who=who)
        document = shown.sha256
    answers = answers_of(asked)
    total = _told_total(asked) or agreed_total(answered_estimate(before.estimate, answers))
    consent = Consent(
        at=now(),
        by=who,
        who=asked.who,
        how="link" if by_link else asked.how,
        number=asked.number,
        words=asked.words,
        read_back=asked.read_back,
        answers=answers,
        total=total,
        document=document,
        attachment=asked.attachment,
    )
    make = partial(_authorized, before=before.estimate, consent=consent)
    return change_estimate(desk.store, estimate_id, who=who, what="answer", make=make)


def answers_of(asked: AskAnswer) -> dict[str, dict[str, Any]]:
    """The answers as the record has them."""
    return {job: each.model_dump(exclude_none=True) for job, each in asked.answers.items()}


def _authorized(present: Estimate, *, before: Estimate, consent: Consent) -> Estimate:
    if present != before:
        # The document that was read out is that of the estimate before.
        message = "The estimate was changed while the answer was taken down; look at it and ask the customer again."
        raise ConflictError(message)
    return authorize(present, consent)


def _told_total(asked: AskAnswer) -> Decimal | None:
    try:
        return Decimal(asked.total) if asked.total is not None else None
    except InvalidOperation:
        return None


def _in_words(after: Estimate) -> str:
    counts = {
        "to be done": sum(job.state == "authorized" for job in after.jobs),
        "not to be done": sum(job.state == "declined" for job in after.jobs),
        "to be decided later": sum(job.state == "decide_by" for job in after.jobs),
        "without an answer": sum(job.state == "offered" for job in after.jobs),
    }
    return ", ".join(f"{number} {what}" for what, number in counts.items() if number)
