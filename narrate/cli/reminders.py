"""`narrate reminders`: whom to remind of what."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from narrate.cli.options import data_option, json_option
from narrate.cli.printing import print_table, write_record

if TYPE_CHECKING:
    from narrate.work.reminders import Reminder

HEADINGS = ("due", "vehicle", "plate", "customer", "phone", "what", "why", "measured then", "offered at")
KINDS = {"decide_by": "to decide", "declined": "declined", "watched": "to be watched"}


@click.command("reminders", short_help="Whom to remind: days to decide, declined work, parts to watch.")
@data_option
@click.option(
    "--until", type=click.DateTime(("%Y-%m-%d",)), metavar="DATE", help="The last day; else 30 days from now."
)
@click.option(
    "--within",
    type=click.IntRange(0),
    default=1000,
    show_default=True,
    metavar="DISTANCE",
    help="So near to an odometer that was said, in miles or kilometers as the vehicle shows them.",
)
@click.option(
    "--months",
    type=click.IntRange(1, 120),
    default=6,
    show_default=True,
    help="After how many months to come back to declined work, and to parts to be watched without a time.",
)
@json_option
def reminders_command(data: Path | None, until: datetime | None, within: int, months: int, json_to: str | None) -> None:
    """List what is due: days that customers named, work declined months ago, and parts to be watched.

    Parts to be watched come by the day or the distance that was said; how far a vehicle is driven is told by two
    visits with their odometers. What was done or found fine since is left out. Nothing is sent to anyone.
    """
    from decimal import Decimal

    from narrate.settings import data_folder
    from narrate.store.engine import open_store
    from narrate.work.reminders import reminders

    store = open_store(data_folder(data))
    try:
        found = reminders(
            store,
            today=datetime.now().astimezone().date(),
            until=until.date() if until else None,
            within=Decimal(within),
            months=months,
        )
    finally:
        store.close()
    if json_to:
        write_record(_as_json(found), json_to)
    if json_to == "-":
        return
    if found:
        print_table(HEADINGS, [_row(reminder) for reminder in found])
    else:
        click.echo("Nobody is to be reminded of anything until then.")


def _row(reminder: "Reminder") -> tuple[str, ...]:
    from narrate.export.phrases import say_measurement

    left = reminder.left
    due = reminder.due_on.isoformat() if reminder.due_on else ""
    if reminder.due_at:
        due = f"{due}, at {reminder.due_at.value:,f} {reminder.due_at.unit}"
    return (
        due,
        reminder.vehicle,
        reminder.plate or "",
        reminder.customer or "",
        reminder.phone or "",
        f"{left.title} ({KINDS[left.kind]})",
        reminder.why,
        ", ".join(say_measurement(number) for number in left.measurements),
        f"{left.amount} {left.currency}" if left.amount is not None else "",
    )


def _as_json(found: "tuple[Reminder, ...]") -> str:
    """The reminders as a JSON list, amounts as text."""
    from pydantic import TypeAdapter

    from narrate.work.reminders import Reminder

    return TypeAdapter(tuple[Reminder, ...]).dump_json(found, indent=2).decode()
