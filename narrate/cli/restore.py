"""`narrate restore`: a backup put back into a new data folder."""

from pathlib import Path

import click

from narrate.cli.failure import Failure
from narrate.cli.options import READABLE, data_option
from narrate.cli.printing import count, say


@click.command("restore", short_help="Put a backup back into a new data folder.")
@click.argument("file", type=READABLE)
@data_option
def restore_command(file: Path, data: Path | None) -> None:
    """Put a backup into a data folder that is new or empty, and check that it is whole.

    A store that is there is never overwritten. A backup of a PostgreSQL store goes into the empty database that
    NARRATE_STORE names, and needs pg_restore.
    """
    from narrate.settings import data_folder
    from narrate.store.restoring import restore

    restored = restore(file, data_folder(data))
    files, events = count(restored.files, "file"), count(restored.events, "event")
    click.echo(f"{restored.folder}: {files}, {events}, as of {restored.made_at}.")
    if restored.problems:
        for problem in restored.problems:
            say(problem)
        message = "The store was put back as it was backed up, but does not hold together."
        raise Failure(message)
