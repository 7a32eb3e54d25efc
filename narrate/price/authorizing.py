"""The customer's answer: each job and way authorized, declined, or put off to a day; kept as it was given."""

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

from narrate.errors import ConflictError, UsageError
from narrate.price.overrun import refuse_beyond
from narrate.price.seen import choice_named, job_named
from narrate.price.sums import chosen_of, summed, totals_of
from narrate.price.whole_edits import day_of
from narrate.records.estimate import Consent, Estimate, Job, Outcome

STATES = ("authorized", "declined", "decide_by")
Answers = Mapping[str, Mapping[str, Any]]
"""Job id -> {"state", "choice", "decide_by_date", "amount"}, as in Consent.answers."""


def authorize(estimate: Estimate, consent: Consent) -> Estimate:
    """The estimate with a customer's answers, and the consent at the end of the list.

    Raises UsageError for a draft, an expired estimate, an answer that cannot be, or a job authorized without what it
    requires; ConflictError where an amount or the total agreed is not what the estimate says.
    """
    if estimate.draft:
        message = "This estimate is a draft: review the findings and make it again before the customer is asked."
        raise UsageError(message)
    _refuse_incomplete(estimate, consent)
    answered = answered_estimate(estimate, consent.answers)
    total = agreed_total(answered)
    if consent.total != total:
        message = (
            f"The total agreed was given as {consent.total}; what is authorized comes to {total}. "
            "Tell the customer that total and take the answer down again."
        )
        raise ConflictError(message)
    kept = consent.model_copy(update={"answers": _as_agreed(answered, consent.answers)})
    return answered.model_copy(update={"consents": (*estimate.consents, kept)})


def answered_estimate(estimate: Estimate, answers: Answers) -> Estimate:
    """The estimate as it would be with these answers; nothing is agreed yet. Raises as `authorize` does."""
    for id_, answer in answers.items():
        job_named(estimate, id_)
        if answer.get("state") not in STATES:
            message = f"The answer to {id_} must be authorized, declined or decide_by."
            raise UsageError(message)
    jobs = tuple(_answered(job, answers[job.id]) if job.id in answers else job for job in estimate.jobs)
    jobs = _declined_along(jobs, answers)
    _refuse_halves(jobs)
    return summed(estimate.model_copy(update={"jobs": jobs}))


def agreed_total(estimate: Estimate) -> Decimal:
    """What the customer has authorized to be done and pays, tax included: the total that is read back."""
    jobs = [job for job in estimate.jobs if job.state == "authorized" and job.payer == "customer"]
    return totals_of(estimate, jobs).total


def total_with(estimate: Estimate, answers: Answers) -> Decimal:
    """The total that would be agreed with these answers: what `Consent.total` must say."""
    return agreed_total(answered_estimate(estimate, answers))


def record_outcome(estimate: Estimate, outcome: Outcome) -> Estimate:
    """The estimate with what came of a job.

    Raises UsageError for work done that nobody authorized, beyond what the place allows unasked.
    """
    job_named(estimate, outcome.job)
    if outcome.what == "done":
        refuse_beyond(estimate, outcome.job)
    return estimate.model_copy(update={"outcomes": (*estimate.outcomes, outcome)})


def _refuse_incomplete(estimate: Estimate, consent: Consent) -> None:
    if not consent.answers:
        message = "No job is answered; say for each what the customer wants."
        raise UsageError(message)
    for value, what in ((consent.who, "who answered"), (consent.by, "who took it down"), (consent.at, "when")):
        if not value.strip():
            message = f"Write down {what}."
            raise UsageError(message)
    if consent.how == "telephone" and not (consent.number or "").strip():
        message = "Write down the number that was called."
        raise UsageError(message)
    if not consent.document.strip():
        message = "The consent must name the very document that was read or shown, by its sha256."
        raise UsageError(message)
    if estimate.expires_on and day_of(consent.at[:10]) > date.fromisoformat(estimate.expires_on):
        message = f"This estimate held until {estimate.expires_on}; set another day, or make it again."
        raise UsageError(message)


def _answered(job: Job, answer: Mapping[str, Any]) -> Job:
    state = answer["state"]
    choice = choice_named(job, str(answer["choice"])) if answer.get("choice") else chosen_of(job)
    if not choice.lines and state == "authorized":
        message = f"“{job.title}” has no price yet; fill it in first."
        raise UsageError(message)
    _refuse_other_price(job, answer.get("amount"), choice.subtotal)
    told = answer.get("decide_by_date")
    if (state == "decide_by") != bool(told):
        message = f"“{job.title}”: a day to decide by goes with decide_by, and with nothing else."
        raise UsageError(message)
    day = day_of(str(told)).isoformat() if told else None
    chosen = choice.id if state == "authorized" or answer.get("choice") else job.chosen
    return job.model_copy(update={"state": state, "decide_by_date": day, "chosen": chosen})


def _refuse_other_price(job: Job, amount: object, subtotal: Decimal) -> None:
    """What was read out must be what stands there."""
    if amount is None:
        return
    try:
        same = Decimal(str(amount)) == subtotal
    except InvalidOperation:
        same = False
    if not same:
        message = f"“{job.title}” was told as {amount} and comes to {subtotal} now; ask the customer again."
        raise ConflictError(message)


def _declined_along(jobs: Iterable[Job], answers: Answers) -> tuple[Job, ...]:
    """With a job that is declined goes what was only there for it, unless it was answered by itself."""
    made = list(jobs)
    for number, job in enumerate(made):
        by = [each for each in made if job.id in each.requires]
        only_for_others = by and not job.finding_ids and not job.optional and job.operation is not None
        if only_for_others and job.id not in answers and all(each.state == "declined" for each in by):
            made[number] = job.model_copy(update={"state": "declined"})
    return tuple(made)


def _refuse_halves(jobs: Iterable[Job]) -> None:
    named = {job.id: job for job in jobs}
    for job in named.values():
        for id_ in job.requires if job.state == "authorized" else ():
            needed = named.get(id_)
            if needed is not None and needed.state != "authorized":
                message = f"“{job.title}” cannot be done without “{needed.title}” ({id_}); authorize both or neither."
                raise UsageError(message)


def _as_agreed(estimate: Estimate, answers: Answers) -> dict[str, dict[str, Any]]:
    """The answers with the choice and the amount that each was about."""
    kept: dict[str, dict[str, Any]] = {}
    for id_, answer in answers.items():
        job = job_named(estimate, id_)
        choice = chosen_of(job)
        kept[id_] = {**answer, "choice": choice.id, "amount": str(choice.subtotal)}
        if job.decide_by_date:
            kept[id_]["decide_by_date"] = job.decide_by_date
    return kept
