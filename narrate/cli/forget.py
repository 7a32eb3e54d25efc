"""`narrate forget`: erases what the shop no longer keeps, and tells first what that is."""

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from narrate.cli.options import data_option
from narrate.cli.printing import count, say
from narrate.errors import UsageError

if TYPE_CHECKING:
    from narrate.store.engine import Store
    from narrate.store.forget_plan import Plan, What

KINDS = ("audio", "words", "estimates", "all")


@click.command("forget", short_help="Erase a customer, a vehicle, a walk-round, or what is old.")
@data_option
@click.option("--customer", metavar="ID|NAME", help="Everything of this customer, by number or by the whole name.")
@click.option("--vehicle", metavar="VIN|PLATE", help="Everything of this vehicle.")
@click.option("--walkaround", metavar="W", help="One walk-round, as w7, and its estimates.")
@click.option("--older-than", type=click.IntRange(1, 36_500), metavar="DAYS", help="What came in before that.")
@click.option("--due", is_flag=True, help="What is past the days of the shop's rule (see --rule).")
@click.option(
    "--what",
    type=click.Choice(KINDS),
    multiple=True,
    help="Only this: recordings and what was cut from them, words and findings, or estimates; else all.",
)
@click.option(
    "--rule",
    "rules",
    metavar="KIND=DAYS",
    multiple=True,
    help="Set how long the shop keeps audio, words or estimates: audio=90; audio=always sets no end.",
)
@click.option("--by", default="narrate forget", metavar="NAME", help="Who does it, for the history.")
@click.option("--yes", is_flag=True, help="Do it without asking.")
def forget_command(
    data: Path | None,
    customer: str | None,
    vehicle: str | None,
    walkaround: str | None,
    older_than: int | None,
    due: bool,
    what: tuple[str, ...],
    rules: tuple[str, ...],
    by: str,
    yes: bool,
) -> None:
    """Show what would be erased, ask, and erase it for good.

    The history keeps that there was something, when, and who erased it; 'narrate doctor' finds the store whole. There
    is no way back but a backup, and backups made before still hold what was erased. See docs/keeping.md.
    """
    from narrate.settings import data_folder
    from narrate.store.engine import open_store
    from narrate.store.forgetting import finish_forgetting

    named = {"--customer": customer, "--vehicle": vehicle, "--walkaround": walkaround, "--older-than": older_than}
    given = [option for option, value in {**named, "--due": due or None}.items() if value is not None]
    if len(given) > 1 or not (given or rules):
        message = "Say once what to forget: --customer, --vehicle, --walkaround, --older-than or --due."
        raise UsageError(message)
    store = open_store(data_folder(data))
    try:
        if finish_forgetting(store):
            say("Files that an interrupted forgetting had left were deleted.")
        if rules:
            _set_rules(store, rules, by)
        if due:
            _forget_due(store, by=by, yes=yes)
        elif given:
            plans = _plans(store, customer, vehicle, walkaround, older_than, _kinds(what))
            _forget(store, plans, by=by, yes=yes)
    finally:
        store.close()


def _kinds(what: Sequence[str]) -> "tuple[What, ...]":
    from narrate.store.forget_plan import ALL

    return tuple(kind for kind in ALL if kind in what) if what and "all" not in what else ALL


def _plans(
    store: "Store",
    customer: str | None,
    vehicle: str | None,
    walkaround: str | None,
    older_than: int | None,
    what: "Sequence[What]",
) -> "list[Plan]":
    from narrate.store.forgetting import plan_customer, plan_vehicle, plan_walkaround
    from narrate.store.retention import plan_before

    if customer is not None:
        return [plan_customer(store, customer, what)]
    if vehicle is not None:
        return [plan_vehicle(store, vehicle, what)]
    if walkaround is not None:
        return [plan_walkaround(store, walkaround, what)]
    return [plan_before(store, kind, older_than or 0) for kind in what]


def _forget(store: "Store", plans: "Sequence[Plan]", *, by: str, yes: bool) -> None:
    from narrate.store.forgetting import forget

    if not _agreed(plans, yes=yes):
        return
    for plan in plans:
        forget(store, plan, who=by)
    click.echo("Erased. Backups made before still hold it.")


def _forget_due(store: "Store", *, by: str, yes: bool) -> None:
    from narrate.store.retention import forget_due, plans_due, read_retention

    if not any(read_retention(store).model_dump().values()):
        click.echo("The shop has no rule how long things are kept; set one with --rule audio=90, or on the Shop page.")
        return
    if _agreed(plans_due(store), yes=yes):
        for _ in forget_due(store, who=by):
            pass
        click.echo("Erased. Backups made before still hold it.")


def _agreed(plans: "Sequence[Plan]", *, yes: bool) -> bool:
    """Tell what would go, and ask; False where there is nothing or the answer is no."""
    plans = [plan for plan in plans if not plan.is_empty]
    if not plans:
        click.echo("There is nothing to erase.")
        return False
    for line in (line for plan in plans for line in _told(plan)):
        click.echo(line)
    if yes:
        return True
    if not sys.stdin.isatty():
        message = "Nothing was erased: add --yes to erase this."
        raise UsageError(message)
    return click.confirm("Erase this for good?", default=False)


def _told(plan: "Plan") -> list[str]:
    """What a plan comes to, a line each kind."""
    told: list[str] = [f"To be erased ({plan.why}):"]
    if plan.recordings:
        size = f"{plan.sound_s / 60:,.1f} minutes, {plan.sound_bytes / 1e6:,.1f} MB"
        told.append(f"  {count(len(plan.recordings), 'recording')} ({size})")
    if plan.captures:
        told.append(f"  what {count(len(plan.captures), 'phone recording')} sent beside, or never ended")
    for numbers, thing in ((plan.cuts, "clips and stills"), (plan.photos, "photos")):
        if numbers:
            told.append(f"  {thing}: {len(numbers)}")
    if plan.walkarounds:
        unsigned = f", {plan.unsigned} of them not signed" if plan.unsigned else ""
        told.append(f"  words and findings of {count(len(plan.walkarounds), 'walk-round')}{unsigned}")
    if plan.estimates:
        answered = f", {plan.answered} of them answered by customers" if plan.answered else ""
        told.append(f"  {count(len(plan.estimates), 'estimate')}{answered}")
    for numbers, thing in ((plan.visits, "order"), (plan.vehicles, "vehicle"), (plan.customers, "customer")):
        if numbers:
            told.append(f"  {count(len(numbers), thing)}")
    if plan.shared:
        told.append(f"Kept: {count(len(plan.shared), 'recording')} that other walk-rounds need too.")
    return told


def _set_rules(store: "Store", rules: Sequence[str], by: str) -> None:
    from narrate.store.forget_plan import ALL
    from narrate.store.retention import set_retention

    days: dict[What, int | None] = {}
    for rule in rules:
        kind, _, number = rule.partition("=")
        counted = number.isascii() and number.isdigit() and len(number) < 6
        chosen = next((each for each in ALL if each == kind), None)
        if chosen is None or not (number == "always" or counted):
            message = f"{rule!r} is no rule; write audio=90, words=730, estimates=3650 or audio=always."
            raise UsageError(message)
        days[chosen] = None if number == "always" else int(number)
    kept = set_retention(store, days, who=by).model_dump()
    for kind in ALL:
        told = f"kept for {count(kept[kind], 'day')}" if kept[kind] else "kept until forgotten"
        click.echo(f"{kind}: {told}")
