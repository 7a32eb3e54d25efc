"""Whole jobs as a person says they are: made, removed, named, put in order, who pays, and which way is chosen.

As in editing.py, each with what the person saw; an authorized job whose price changes is asked again.
"""

from collections.abc import Sequence

from narrate.errors import ConflictError, UsageError
from narrate.price.job_making import Ids
from narrate.price.seen import asked_again, choice_named, differs, job_named
from narrate.price.sums import chosen_of, summed, with_job
from narrate.records.estimate import Choice, Estimate, Job, Line, Payer


def remove_choice(estimate: Estimate, *, job: str, choice: str) -> Estimate:
    """A way that is not to be offered; the last one stays."""
    found = job_named(estimate, job)
    choice_named(found, choice)
    if len(found.choices) == 1:
        message = f"“{found.title}” has this one way only; remove the job instead."
        raise UsageError(message)
    left = tuple(each for each in found.choices if each.id != choice)
    update: dict[str, object] = {"choices": left}
    if chosen_of(found).id == choice:
        update |= {"chosen": None, **asked_again(found)}
    return summed(with_job(estimate, job, lambda each: each.model_copy(update=update)))


def choose(estimate: Estimate, *, job: str, choice: str, seen: str | None) -> Estimate:
    """The way that is counted; an authorized job done another way is asked again."""
    found = job_named(estimate, job)
    choice_named(found, choice)
    if not differs(found.chosen, seen, choice, f"choice for “{found.title}”"):
        return estimate
    update = {"chosen": choice, **(asked_again(found) if chosen_of(found).id != choice else {})}
    return summed(with_job(estimate, job, lambda each: each.model_copy(update=update)))


def add_job(estimate: Estimate, *, title: str, finding_ids: Sequence[str] = (), optional: bool = False) -> Estimate:
    """A job made by hand, one way, still without lines; its id is the last in `jobs`."""
    if not title.strip():
        message = "A job needs a title; write what is to be done."
        raise UsageError(message)
    ids = Ids(dict(estimate.ids_used))
    job = Job(
        id=ids.new("j"),
        title=title.strip(),
        finding_ids=tuple(finding_ids),
        optional=optional,
        choices=(Choice(id=ids.new("k"), label="by hand", lines=()),),
        added_later=bool(estimate.consents),
        why="Made by hand.",
    )
    return summed(estimate.model_copy(update={"jobs": (*estimate.jobs, job), "ids_used": ids.used}))


def remove_job(estimate: Estimate, *, job: str, seen: str) -> Estimate:
    """A job taken out; `seen` is its state. What was authorized or is required by another job cannot go."""
    found = job_named(estimate, job)
    differs(found.state, seen, None, f"answer to “{found.title}”")
    if found.state == "authorized":
        message = f"“{found.title}” is authorized; it can be declined by the customer, not removed."
        raise UsageError(message)
    by = next((each for each in estimate.jobs if job in each.requires and each.id != job), None)
    if by is not None:
        message = f"“{by.title}” needs “{found.title}”; remove that one first."
        raise UsageError(message)
    return summed(estimate.model_copy(update={"jobs": tuple(each for each in estimate.jobs if each.id != job)}))


def rename_job(estimate: Estimate, *, job: str, to: str, seen: str) -> Estimate:
    """A job's title in other words."""
    found = job_named(estimate, job)
    if not to.strip():
        message = "A job needs a title; write what is to be done."
        raise UsageError(message)
    if not differs(found.title, seen, to.strip(), f"title of “{found.title}”"):
        return estimate
    return with_job(estimate, job, lambda each: each.model_copy(update={"title": to.strip()}))


def order_jobs(estimate: Estimate, *, to: Sequence[str], seen: Sequence[str]) -> Estimate:
    """The jobs in another order; both lists name every job once."""
    present = [job.id for job in estimate.jobs]
    if present != list(seen) and present != list(to):
        message = "The jobs were changed by someone else; look at them again."
        raise ConflictError(message)
    if sorted(to) != sorted(present):
        message = "The new order must name every job once."
        raise UsageError(message)
    return estimate.model_copy(update={"jobs": tuple(job_named(estimate, each) for each in to)})


def set_payer(estimate: Estimate, *, job: str, to: Payer, order_number: str | None = None, seen: Payer) -> Estimate:
    """Who pays a job; a fleet needs the number of its order."""
    found = job_named(estimate, job)
    number = (order_number or "").strip() or None
    if to == "fleet" and number is None:
        message = "A fleet pays under its order number; write that number."
        raise UsageError(message)
    same_number = found.payer_order == number
    if not differs(found.payer, seen, to, f"payer of “{found.title}”") and same_number:
        return estimate
    update = {"payer": to, "payer_order": number, **(asked_again(found) if found.payer != to else {})}
    return summed(with_job(estimate, job, lambda each: each.model_copy(update=update)))


def price_alone(estimate: Estimate, *, job: str) -> Estimate:
    """The hours that were taken off for other work put back: what the job costs by itself."""
    found = job_named(estimate, job)
    if not any(line.alone is not None for choice in found.choices for line in choice.lines):
        return estimate
    alone = [
        choice.model_copy(update={"lines": tuple(_alone(line) for line in choice.lines)}) for choice in found.choices
    ]
    update = {"choices": tuple(alone), **asked_again(found)}
    return summed(with_job(estimate, job, lambda each: each.model_copy(update=update)))


def _alone(line: Line) -> Line:
    if line.alone is None:
        return line
    return line.model_copy(update={"quantity": line.alone, "alone": None, "together_with": (), "note": None})
