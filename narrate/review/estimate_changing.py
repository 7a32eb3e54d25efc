"""What the page of an estimate asks is done here: the change made, summed, and kept as one event."""

from collections.abc import Callable
from functools import partial

from narrate.errors import ConflictError
from narrate.price import editing, job_edits, whole_edits
from narrate.price.authorizing import record_outcome
from narrate.records.estimate import Estimate, Outcome
from narrate.review import estimate_asked as ask
from narrate.review.desk import Desk
from narrate.review.estimate_making import keep_price, priced
from narrate.store.clock import now
from narrate.store.estimates import HeldEstimate, change_estimate

Make = Callable[[Estimate], Estimate]


def make_change(desk: Desk, id_: str, asked: ask.EstimateAsked, *, who: str) -> tuple[HeldEstimate, str]:
    """Do what was asked of an estimate and keep it; with it comes a sentence to be told, or an empty one.

    Raises UsageError for what cannot be, ConflictError for what someone else has changed, MissingError.
    """
    told = [getattr(asked, key, None) for key in ("job", "thing", "line")]
    about = next((value for value in told if isinstance(value, str)), None)
    keep = partial(change_estimate, desk.store, id_, who=who, what=asked.do, about=about)
    if isinstance(asked, ask.AskPrice):
        make, rows = priced(desk, asked)
        held = keep(make=make)
        if not (asked.keep and rows):
            return held, ""
        return held, keep_price(desk, rows[0], rate=asked.rate, currency=held.estimate.currency, who=who)
    return keep(make=edit_for(asked, who=who), why=getattr(asked, "why", None)), ""


def edit_for(asked: ask.EstimateAsked, *, who: str) -> Make:
    """The change as a function of the estimate as it is then."""
    if isinstance(asked, ask.LineAsked):
        return _line(asked)
    if isinstance(asked, ask.WholeAsked):
        return _whole(asked)
    return _job(asked, who)


def _line(asked: ask.LineAsked) -> Make:
    if isinstance(asked, ask.AskLine):
        return partial(editing.change_line, line=asked.line, field=asked.field, to=asked.to, seen=asked.seen)
    if isinstance(asked, ask.AskAddLine):
        return partial(editing.add_line, job=asked.job, choice=asked.choice, **asked.line.model_dump())
    return partial(editing.remove_line, line=asked.line, seen=asked.seen)


def _whole(asked: ask.WholeAsked) -> Make:
    if isinstance(asked, ask.AskDiscount):
        return partial(whole_edits.set_discount, to=asked.to, why=asked.why, seen=asked.seen)
    if isinstance(asked, ask.AskDeposit):
        return partial(whole_edits.set_deposit, to=asked.to, seen=asked.seen)
    if isinstance(asked, ask.AskExpires):
        return partial(whole_edits.set_expiry, to=asked.to, seen=asked.seen)
    if isinstance(asked, ask.AskTaxExempt):
        return partial(whole_edits.set_tax_exempt, to=asked.to, seen=asked.seen)
    if isinstance(asked, ask.AskPromised):
        return partial(whole_edits.set_promised, to=asked.to, seen=asked.seen)
    return partial(whole_edits.set_old_parts, to=asked.to, seen=asked.seen)


def _job(asked: object, who: str) -> Make:
    if isinstance(asked, ask.AskChoose):
        return partial(job_edits.choose, job=asked.job, choice=asked.to, seen=asked.seen)
    if isinstance(asked, ask.AskAddJob):
        return partial(_added_job, asked=asked)
    if isinstance(asked, ask.AskRemoveJob):
        return partial(job_edits.remove_job, job=asked.job, seen=asked.seen)
    if isinstance(asked, ask.AskRename):
        return partial(job_edits.rename_job, job=asked.job, to=asked.to, seen=asked.seen)
    if isinstance(asked, ask.AskOrder):
        return partial(job_edits.order_jobs, to=asked.to, seen=asked.seen)
    if isinstance(asked, ask.AskPayer):
        return partial(job_edits.set_payer, job=asked.job, to=asked.to, order_number=asked.order, seen=asked.seen)
    if isinstance(asked, ask.AskOutcome):
        told = Outcome(job=asked.job, at=now(), by=who, what=asked.what, note=asked.note, promised=asked.promised)
        return partial(record_outcome, outcome=told)
    message = f"{asked!r} is nothing that can be done to an estimate."
    raise ConflictError(message)


def _added_job(estimate: Estimate, *, asked: ask.AskAddJob) -> Estimate:
    with_job = job_edits.add_job(estimate, title=asked.title)
    return editing.add_line(with_job, job=with_job.jobs[-1].id, **asked.line.model_dump())
