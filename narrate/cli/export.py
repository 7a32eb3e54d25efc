"""`narrate export`: a walkaround becomes files."""

from pathlib import Path

import click

from narrate.cli.options import FOLDER, READABLE


@click.command("export", short_help="Write a walkaround as CSV, XLSX, JSON and HTML.")
@click.argument("walkaround", metavar="WALK.json", type=READABLE)
@click.option("--to", type=FOLDER, required=True, help="Folder for the files; made if it is missing.")
def export_command(walkaround: Path, to: Path) -> None:
    """Write a walkaround as CSV, XLSX, JSON and HTML files."""
    from narrate.export.files import export_walkaround
    from narrate.export.json_file import read_walkaround

    for path in export_walkaround(read_walkaround(walkaround), to):
        click.echo(path)
