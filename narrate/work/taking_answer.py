"""A customer's answer taken down by who asked: which jobs, on which document, and what was agreed."""

import hashlib
import re
from collections.abc import Sequence
from decimal import Decimal
from functools import partial
from typing import Any, Literal

from narrate.errors import ConflictError, UsageError
from narrate.price.authorizing import Answers, authorize, total_with
from narrate.records.estimate import Consent, Estimate
from narrate.store.clock import now
from narrate.store.engine import Store
from narrate.store.estimates import HeldEstimate, change_estimate, documents_of, history, log_document, read_estimate
from narrate.store.undoing import BESIDE

How = Literal["telephone", "in_person", "paper"]
_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")


def answers_from(estimate: Estimate, told: Sequence[str]) -> dict[str, dict[str, Any]]:
    """Return the answers in texts like `j1=authorized`, `j1=k2` (that way), `j1=declined`, `j1=2027-01-10`.

    Raises UsageError for a text that is none of these, and a job or way that the estimate does not have.
    """
    jobs = {job.id: job for job in estimate.jobs}
    answers: dict[str, dict[str, Any]] = {}
    for text in told:
        id_, _, answer = (part.strip() for part in text.partition("="))
        if id_ not in jobs:
            message = f"{estimate.id} has no job {id_!r}; it has {', '.join(jobs) or 'none'}."
            raise UsageError(message)
        if id_ in answers:
            message = f"Job {id_} is answered twice; give one answer."
            raise UsageError(message)
        ways = [choice.id for choice in jobs[id_].choices]
        if answer in ("authorized", "declined"):
            answers[id_] = {"state": answer}
        elif answer in ways:
            answers[id_] = {"state": "authorized", "choice": answer}
        elif _DAY.fullmatch(answer):
            answers[id_] = {"state": "decide_by", "decide_by_date": answer}
        else:
            ways_told = f"one of its ways ({', '.join(ways)})" if ways else "one of its ways"
            message = f"Job {id_}: answer with authorized, declined, {ways_told}, or a day as 2027-01-10."
            raise UsageError(message)
    return answers


def answers_to_all(estimate: Estimate) -> dict[str, dict[str, Any]]:
    """Return answers that authorize all needed jobs that wait for one, each the way it is chosen."""
    waiting = [job for job in estimate.jobs if job.state in ("offered", "decide_by") and not job.optional]
    return {job.id: {"state": "authorized"} for job in waiting}


def take_answer(
    store: Store,
    id_: str,
    answers: Answers,
    *,
    by: str,
    who: str,
    how: How,
    number: str | None = None,
    words: str | None = None,
    read_back: bool = False,
    total: Decimal | None = None,
    document: str | None = None,
    seen: Estimate | None = None,
) -> HeldEstimate:
    """Keep a customer's answer with the document it is about, and return the estimate after it.

    `by` took it down, `who` gave it. `total`: what was agreed, else what the answers come to. `document`: sha256 of
    what was shown or read out; else the last one logged that shows the estimate as it is, else its record, which is
    logged as read out. `seen`: the estimate that the answers were made from. Raises as `authorize` does, and
    ConflictError where the estimate was changed meanwhile.
    """
    held = read_estimate(store, id_)
    before = seen or held.estimate
    agreed = total_with(before, answers) if total is None else total
    consent = Consent(
        at=now(), by=by, who=who, how=how, number=number, words=words, read_back=read_back,
        answers={job: dict(answer) for job, answer in answers.items()}, total=agreed,
        document=document or _shown(store, held) or _record_digest(held.estimate),
    )  # fmt: skip
    authorize(before, consent)
    if document is None and _shown(store, held) is None:
        log_document(store, id_, sha256=consent.document, kind="json", how="read out", who=by)
    make = partial(_authorized, before=before, consent=consent)
    return change_estimate(store, id_, who=by, what="answer", make=make)


def _authorized(present: Estimate, *, before: Estimate, consent: Consent) -> Estimate:
    if present != before:
        message = f"{present.id} was changed meanwhile; look at it and ask the customer again."
        raise ConflictError(message)
    return authorize(present, consent)


def _shown(store: Store, held: HeldEstimate) -> str | None:
    """The last document that shows the estimate as it is."""
    documents = documents_of(store, held.id)
    if not documents:
        return None
    changed = [event.number for event in history(store, held.id) if event.what not in BESIDE]
    # A document tells the estimate's last event, of whatever kind, before it.
    return documents[-1].sha256 if documents[-1].revision >= changed[-1] else None


def _record_digest(estimate: Estimate) -> str:
    return hashlib.sha256(estimate.model_dump_json(by_alias=True).encode()).hexdigest()
