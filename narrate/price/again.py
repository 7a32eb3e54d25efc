"""An estimate made again: what people answered and edited before stays, what was found since is added."""

from narrate.records.estimate import Estimate, Job

_KEPT = (
    "id",
    "expires_on",
    "tax_exempt",
    "discount",
    "discount_why",
    "deposit",
    "old_parts",
    "consents",
    "outcomes",
)


def laid_over(made: Estimate, previous: Estimate) -> Estimate:
    """The new estimate with the jobs of the previous one that still stand, answered ones and those made by hand.

    What is new after a consent is marked `added_later`.
    """
    names: dict[str, str] = {}
    known = {_key(job): job for job in previous.jobs}
    jobs: list[Job] = []
    for job in made.jobs:
        before = known.pop(_key(job), None)
        if before is None:
            jobs.append(job.model_copy(update={"added_later": bool(previous.consents)}))
        else:
            names[job.id] = before.id
            jobs.append(before.model_copy(update={"finding_ids": job.finding_ids, "doubts": job.doubts}))
    left = [job for job in known.values() if job.state != "offered" or job.operation is None]
    by_hand = {finding for job in left for finding in job.finding_ids if job.operation is None}
    kept = {name: getattr(previous, name) for name in _KEPT}
    present = {job.id for job in (*jobs, *left)}
    return made.model_copy(
        update={
            **kept,
            "jobs": tuple(_renamed(job, names, present) for job in (*jobs, *left)),
            "to_be_priced": tuple(e for e in made.to_be_priced if not e.finding_ids or not {*e.finding_ids} <= by_hand),
            "customer": {**previous.customer, **made.customer},
            "shop": {**previous.shop, **made.shop},
            "promised": made.promised or previous.promised,
        }
    )


def _key(job: Job) -> tuple[object, ...]:
    by_hand = job.id if job.operation is None else None
    return job.operation, job.action, job.locations, by_hand


def _renamed(job: Job, names: dict[str, str], present: set[str]) -> Job:
    """The job with other jobs under the names they have now."""
    requires = (names.get(each, each) for each in job.requires)
    choices = tuple(
        choice.model_copy(
            update={
                "lines": tuple(
                    line.model_copy(update={"together_with": tuple(names.get(j, j) for j in line.together_with)})
                    for line in choice.lines
                )
            }
        )
        for choice in job.choices
    )
    kept = tuple(dict.fromkeys(each for each in requires if each in present))
    return job.model_copy(update={"requires": kept, "choices": choices})
