"""What holds for the whole estimate as a person says it is: discount, deposit, expiry, exemption, old parts."""

from datetime import date
from decimal import Decimal
from typing import Literal

from narrate.errors import UsageError
from narrate.price.rounding import rounded
from narrate.price.seen import differs, number_of
from narrate.price.sums import lines_total, summed, totals_of
from narrate.records.estimate import Estimate


def set_discount(estimate: Estimate, *, to: str, why: str | None, seen: str) -> Estimate:
    """A discount on the whole, with its reason; 0 takes it back."""
    value = rounded(number_of(to, "discount"), estimate.currency)
    reason = (why or "").strip() or None
    if value and reason is None:
        message = "A discount needs a reason; write why it is given."
        raise UsageError(message)
    if value > lines_total(estimate.jobs):
        message = f"The discount is more than the work comes to; give at most {lines_total(estimate.jobs)}."
        raise UsageError(message)
    if not differs(estimate.discount, seen, value, "discount") and reason == estimate.discount_why:
        return estimate
    changed = {"discount": value, "discount_why": reason if value else None}
    return asked_again_if_dearer(estimate, summed(estimate.model_copy(update=changed)))


def set_deposit(estimate: Estimate, *, to: str, seen: str) -> Estimate:
    """What was paid already."""
    value = rounded(number_of(to, "deposit"), estimate.currency)
    if not differs(estimate.deposit, seen, value, "deposit"):
        return estimate
    return summed(estimate.model_copy(update={"deposit": value}))


def set_expiry(estimate: Estimate, *, to: str | None, seen: str | None) -> Estimate:
    """The last day on which the prices hold, as YYYY-MM-DD; None: no such day."""
    if to is not None:
        day_of(to)
    if estimate.expires_on != to:
        differs(estimate.expires_on, seen, to, "last day of this estimate")
    return estimate.model_copy(update={"expires_on": to})


def set_tax_exempt(estimate: Estimate, *, to: str | None, seen: str | None) -> Estimate:
    """Why no tax is due: the number of the certificate; None: tax is due."""
    value = (to or "").strip() or None
    if estimate.tax_exempt != value:
        differs(estimate.tax_exempt, seen, value, "tax exemption")
    return asked_again_if_dearer(estimate, summed(estimate.model_copy(update={"tax_exempt": value})))


def set_old_parts(
    estimate: Estimate,
    *,
    to: Literal["asked_back", "not_asked_back", "not_stated"],
    seen: Literal["asked_back", "not_asked_back", "not_stated"],
) -> Estimate:
    """Whether the customer wants the replaced parts back."""
    if not differs(estimate.old_parts, seen, to, "choice about old parts"):
        return estimate
    return estimate.model_copy(update={"old_parts": to})


def set_promised(estimate: Estimate, *, to: str | None, seen: str | None) -> Estimate:
    """When the customer is told it will be done."""
    if estimate.promised != to:
        differs(estimate.promised, seen, to, "promised date")
    return estimate.model_copy(update={"promised": to})


def asked_again_if_dearer(before: Estimate, after: Estimate) -> Estimate:
    """The changed estimate; what was authorized is asked again where it has come to more."""
    old = _authorized_total(before)
    if _authorized_total(after) <= old:
        return after
    jobs = tuple(
        job.model_copy(update={"state": "offered"}) if job.state == "authorized" else job for job in after.jobs
    )
    return summed(after.model_copy(update={"jobs": jobs}))


def day_of(text: str) -> date:
    """A day someone wrote. Raises UsageError for what is none."""
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        message = f"'{text}' is no day; write it like 2027-01-10."
        raise UsageError(message) from error


def _authorized_total(estimate: Estimate) -> Decimal:
    return totals_of(estimate, [job for job in estimate.jobs if job.state == "authorized"]).total
