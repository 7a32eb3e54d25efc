"""The shop's rule how long things are kept, applied: what is past its days is forgotten, and an event says so."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

from narrate.store.clock import as_text
from narrate.store.engine import Store
from narrate.store.forget_plan import ALL, Plan, What
from narrate.store.forgetting import finish_forgetting, forget
from narrate.store.outdated import plan_older
from narrate.store.shop import Retention, change_shop, read_shop

WHO = "the shop's rule"


def read_retention(store: Store) -> Retention:
    """Return the rule; nothing in it is set where the shop has none."""
    return read_shop(store).retention or Retention()


def set_retention(store: Store, days: dict[What, int | None], *, who: str) -> Retention:
    """Set how many days kinds are kept, None for ever; kinds not given stay as they are. Raises UsageError."""
    after = read_retention(store).model_dump() | dict(days)
    rule = after if any(each is not None for each in after.values()) else None
    return change_shop(store, {"retention": rule}, who=who).retention or Retention()


def plan_before(store: Store, what: What, days: int, *, at: datetime | None = None, why: str | None = None) -> Plan:
    """Plan to forget what came in more than so many days before `at` (now)."""
    moment = (at or datetime.now(UTC)) - timedelta(days=days)
    with store.reading() as connection:
        return plan_older(connection, what, as_text(moment), why=why or f"older than {days} days")


def plans_due(store: Store, *, at: datetime | None = None) -> tuple[Plan, ...]:
    """Return what the rule wants forgotten now, a plan for each kind; the oldest first where it is very much."""
    rule = read_retention(store).model_dump()
    why = "kept for {days} days by the shop's rule"
    plans = (plan_before(store, what, days, at=at, why=why.format(days=days)) for what in ALL if (days := rule[what]))
    return tuple(plan for plan in plans if not plan.is_empty)


def forget_due(store: Store, *, who: str = WHO, at: datetime | None = None) -> Iterator[Plan]:
    """Forget what the rule wants forgotten; yield each plan once it is done."""
    finish_forgetting(store)
    done: list[Plan] = []
    while plans := [plan for plan in plans_due(store, at=at) if plan not in done]:
        for plan in plans:
            forget(store, plan, who=who)
            done.append(plan)
            yield plan
