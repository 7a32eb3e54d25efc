"""How far work may go beyond what the customer authorized before they must be asked again.

The numbers are data of the place (lexicon/rules/places.toml, each with its source); where nothing is told: nothing.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal

from narrate.errors import UsageError
from narrate.price.currencies import smallest_unit
from narrate.price.sums import totals_of
from narrate.records.estimate import Estimate
from narrate.words.place_rules import Overrun, place_rules


@dataclass(frozen=True, slots=True)
class Reach:
    """What was agreed, how much more is allowed, and what work would come to; all with tax."""

    agreed: Decimal
    allowed: Decimal
    total: Decimal
    place: str
    """The name of the place whose rule it is."""
    words: str
    source: str

    @property
    def beyond(self) -> Decimal:
        """How much of the total is more than may be done unasked; 0 where all may."""
        return max(self.total - self.agreed - self.allowed, Decimal(0))


def allowed_overrun(agreed: Decimal, rule: Overrun, currency: str) -> Decimal:
    """How much more than what was agreed may be charged unasked; a part of the smallest unit is not allowed.

    rule: percent, amount, or whichever is greater or less of both, up to at_most.
    """
    told = [agreed * rule.percent / 100] if rule.percent is not None else []
    told += [rule.amount] if rule.amount is not None else []
    if not told or agreed <= 0:
        return Decimal(0)
    more = max(told) if rule.whichever == "greater" else min(told)
    if rule.at_most is not None:
        more = min(more, rule.at_most)
    return more.quantize(smallest_unit(currency), rounding=ROUND_DOWN)


def reach_of(estimate: Estimate, also: Iterable[str] = ()) -> Reach:
    """What the customer's authorized jobs and some others, by id, come to, against what they agreed to last."""
    wanted = set(also)
    jobs = [job for job in estimate.jobs if job.payer == "customer" and (job.id in wanted or job.state == "authorized")]
    rules = place_rules(estimate.place)
    agreed = estimate.consents[-1].total if estimate.consents else Decimal(0)
    return Reach(
        agreed=agreed,
        allowed=allowed_overrun(agreed, rules.overrun, estimate.currency),
        total=totals_of(estimate, jobs).total,
        place=rules.name,
        words=rules.overrun.words,
        source=rules.overrun.source,
    )


def refuse_beyond(estimate: Estimate, job: str) -> None:
    """Raise UsageError where a job that nobody authorized may not be done, and say why."""
    found = next((each for each in estimate.jobs if each.id == job), None)
    if found is None:
        message = f"There is no job {job} in this estimate; load the page again."
        raise UsageError(message)
    if found.state == "authorized":
        return
    if found.state == "declined":
        message = f"“{found.title}” was declined; ask the customer before it is done."
        raise UsageError(message)
    if not estimate.consents:
        message = f"Nothing is authorized yet; ask the customer before “{found.title}” is done."
        raise UsageError(message)
    # Who else pays has allowed nothing at all unasked.
    done = {each.job for each in estimate.outcomes if each.what == "done"} | {job}
    reach = reach_of(estimate, done)
    if found.payer != "customer" or reach.beyond:
        message = (
            f"“{found.title}” is not authorized: with it the work comes to {reach.total} {estimate.currency}; "
            f"{reach.agreed} was agreed, and {reach.allowed} more is allowed unasked ({reach.place}). Ask the customer."
        )
        raise UsageError(message)
