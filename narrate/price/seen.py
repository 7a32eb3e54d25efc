"""What every edit asks first: is there such a thing, is it still what was seen, is that a number."""

from decimal import Decimal, InvalidOperation

from narrate.errors import ConflictError, UsageError
from narrate.records.estimate import Choice, Estimate, Job, Line

MOST = Decimal(10) ** 9
"""No price and no quantity is more."""


def job_named(estimate: Estimate, id_: str) -> Job:
    """The job with an id. Raises UsageError where there is none."""
    for job in estimate.jobs:
        if job.id == id_:
            return job
    message = f"There is no job {id_} in this estimate; load the page again."
    raise UsageError(message)


def choice_named(job: Job, id_: str) -> Choice:
    """The way with an id. Raises UsageError where the job has none such."""
    for choice in job.choices:
        if choice.id == id_:
            return choice
    raise UsageError(no_choice(id_, job))


def line_of(estimate: Estimate, id_: str) -> tuple[Job, Choice, Line]:
    """The line with an id, and where it stands. Raises UsageError where there is none."""
    for job in estimate.jobs:
        for choice in job.choices:
            for line in choice.lines:
                if line.id == id_:
                    return job, choice, line
    message = f"There is no line {id_} in this estimate; load the page again."
    raise UsageError(message)


def number_of(text: object, what: str) -> Decimal:
    """A number that someone wrote. Raises UsageError for what is none, or below zero."""
    try:
        value = Decimal(str(text).strip())
    except InvalidOperation as error:
        message = f"The {what} must be a number like 1.5; '{text}' is none."
        raise UsageError(message) from error
    if not value.is_finite() or value < 0 or value > MOST:
        message = f"The {what} must be a number from 0 to {MOST:f}; '{text}' is not."
        raise UsageError(message)
    return value


def differs(present: object, seen: object, to: object, what: str) -> bool:
    """Whether there is something to change. Raises ConflictError where someone has changed it since it was seen."""
    if to is not None and _same(present, to):
        return False
    if not _same(present, seen):
        message = f"The {what} was changed to {present} since you saw {seen}; look at it again."
        raise ConflictError(message)
    return not _same(present, to)


def _same(one: object, other: object) -> bool:
    if isinstance(one, Decimal):
        try:
            return one == Decimal(str(other))
        except InvalidOperation:
            return False
    return one == other


def asked_again(job: Job) -> dict[str, object]:
    """What changes of a job when its price does: an authorized one is offered again."""
    return {"state": "offered"} if job.state == "authorized" else {}


def no_choice(choice: str | None, job: Job) -> str:
    """The sentence for a way that a job has not."""
    return f"“{job.title}” has no way {choice}; load the page again."
