"""`narrate backup`: the shop's store as one file, while others work on; or all about one customer or vehicle."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from narrate.cli.options import data_option
from narrate.cli.printing import count, say
from narrate.errors import UsageError

if TYPE_CHECKING:
    from narrate.store.engine import Store


@click.command("backup", short_help="Copy the shop's store, or all about one customer, into a file.")
@click.argument("file", type=click.Path(path_type=Path))
@data_option
@click.option("--only-customer", metavar="ID|NAME", help="All about this customer instead, as a zip people can read.")
@click.option("--only-vehicle", metavar="VIN|PLATE", help="All about this vehicle instead, as a zip people can read.")
@click.option(
    "--by", default="narrate backup", metavar="NAME", help="Who exports a customer or vehicle, for the history."
)
def backup_command(file: Path, data: Path | None, only_customer: str | None, only_vehicle: str | None, by: str) -> None:
    """Write FILE: everything in the shop's store as it is at one moment, with recordings, photos and own words.

    Nobody has to stop working for it. 'narrate restore' puts it back. A PostgreSQL store needs pg_dump. Whoever has
    the file has all that customers said: keep it like the store itself.
    """
    from narrate.settings import data_folder, store_url
    from narrate.store.engine import FILE, open_store

    if only_customer and only_vehicle:
        message = "Export a customer or a vehicle, one at a time."
        raise UsageError(message)
    folder = data_folder(data)
    if store_url() is None and not (folder / FILE).is_file():
        message = f"There is no store in {folder} to back up; name its folder with --data."
        raise UsageError(message)
    store = open_store(folder)
    try:
        if only_customer or only_vehicle:
            _export(store, file, only_customer, only_vehicle, by)
        else:
            _back_up(store, file)
    finally:
        store.close()


def _back_up(store: "Store", file: Path) -> None:
    from narrate.store.backing_up import back_up

    made = back_up(store, file)
    for problem in made.problems:
        say(problem)
    size = f"{made.bytes / 1e6:,.1f} MB"
    files = count(made.files, "file")
    click.echo(f"{made.file}: {size}, {files}, up to event {made.events}, whose digest begins {made.head[:12]}.")


def _export(store: "Store", file: Path, customer: str | None, vehicle: str | None, by: str) -> None:
    from narrate.store.exporting import export_customer, export_vehicle

    made = (
        export_customer(store, customer, file, who=by)
        if customer
        else export_vehicle(store, vehicle or "", file, who=by)
    )
    orders, walkarounds = count(made.orders, "order"), count(made.walkarounds, "walk-round")
    estimates, recordings = count(made.estimates, "estimate"), count(made.recordings, "recording")
    click.echo(f"{file}: {orders}, {walkarounds}, {estimates}, {recordings}.")
