"""What was offered, authorized and declined over a period, in sums; what comes back of it: `store/left_over.py`."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any, Literal

from sqlalchemy import Row, select

from narrate.store.clock import as_text
from narrate.store.engine import Store
from narrate.store.estimate_rows import NOT_OFFERED
from narrate.store.estimate_tables import estimate, offered_job
from narrate.store.left_over import LeftOver, declined_of
from narrate.words.lexicon import Lexicon

__all__ = ["LeftOver", "OfferedSum", "declined_of", "offers", "summed_by"]

UNKNOWN_SYSTEM = "other"


@dataclass(frozen=True, kw_only=True)
class OfferedSum:
    """What a month's estimates offered of one system, before tax: `offered` = authorized + declined + waiting."""

    month: str
    """`2026-11`, on the shop's own clock, of the day the estimate was made."""
    system: str
    """As the lexicon has it; `other` for work at no part it knows."""
    currency: str
    offered: Decimal = Decimal(0)
    authorized: Decimal = Decimal(0)
    declined: Decimal = Decimal(0)
    waiting: Decimal = Decimal(0)
    """Not answered yet, or put off to a day."""
    jobs: int = 0
    jobs_authorized: int = 0
    jobs_declined: int = 0


def offers(store: Store, *, since: date, until: date, lexicon: Lexicon) -> tuple[OfferedSum, ...]:
    """Return sums of estimates made from `since` to `until`, both included, by month, system and currency.

    Drafts and estimates set aside count for nothing; nor does an optional job that nobody has answered.
    """
    begin, end = (as_text(datetime.combine(day, time.min).astimezone()) for day in (since, until + timedelta(days=1)))
    asked = select(offered_job, estimate.c.added_at, estimate.c.currency).join(estimate)
    asked = asked.where(estimate.c.added_at >= begin, estimate.c.added_at < end, estimate.c.state.not_in(NOT_OFFERED))
    sums: dict[tuple[str, str, str], OfferedSum] = {}
    with store.reading() as connection:
        for row in connection.execute(asked):
            if row.optional and row.state == "offered":
                continue
            month = datetime.fromisoformat(row.added_at).astimezone().strftime("%Y-%m")
            key = (month, lexicon.system_of.get(row.component or "", UNKNOWN_SYSTEM), row.currency)
            sums[key] = _with_job(sums.get(key) or OfferedSum(month=key[0], system=key[1], currency=key[2]), row)
    return tuple(sums[key] for key in sorted(sums))


def summed_by(sums: Iterable[OfferedSum], what: Literal["month", "system"]) -> tuple[OfferedSum, ...]:
    """Return sums of each month, all systems together (`system` is then ``), or of each system over all months."""
    together: dict[tuple[str, str], OfferedSum] = {}
    for each in sums:
        blank = replace(each, month="") if what == "system" else replace(each, system="")
        key = (getattr(each, what), each.currency)
        before = together.get(key)
        together[key] = blank if before is None else _added(before, each)
    return tuple(together[key] for key in sorted(together))


def _with_job(before: OfferedSum, row: Row[Any]) -> OfferedSum:
    amount = Decimal(row.amount)
    state = row.state if row.state in ("authorized", "declined") else "waiting"
    return replace(
        before,
        offered=before.offered + amount,
        jobs=before.jobs + 1,
        jobs_authorized=before.jobs_authorized + (state == "authorized"),
        jobs_declined=before.jobs_declined + (state == "declined"),
        **{state: getattr(before, state) + amount},
    )


def _added(one: OfferedSum, other: OfferedSum) -> OfferedSum:
    names = ("offered", "authorized", "declined", "waiting", "jobs", "jobs_authorized", "jobs_declined")
    return replace(one, **{name: getattr(one, name) + getattr(other, name) for name in names})
