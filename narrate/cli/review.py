"""`narrate review`: the advisor's page."""

from pathlib import Path

import click

from narrate.cli.options import data_option, log_option
from narrate.cli.printing import say


@click.command("review", short_help="The advisor's page: check findings against the recording.")
@data_option
@click.option("--host", default="127.0.0.1", show_default=True, help="The address to listen at.")
@click.option("--port", default=8470, show_default=True, type=click.IntRange(0, 65535), help="0 takes a free one.")
@click.option("--no-browser", is_flag=True, help="Do not open the browser.")
@click.option("--no-worker", is_flag=True, help="Do not hear recordings here; 'narrate worker' does elsewhere.")
@log_option
def review_command(data: Path | None, host: str, port: int, no_browser: bool, no_worker: bool) -> None:
    """Open the page on which findings are checked, corrected and signed.

    Everything stays on this computer. Only this computer can reach the page unless --host says otherwise, and
    then people must sign in: give an owner a PIN on the Shop page first. Ctrl+C stops it; nothing is lost.
    """
    from narrate.review.serving import serve
    from narrate.settings import data_folder, load_settings, store_url
    from narrate.store.engine import open_store

    store = open_store(data_folder(data), store_url())
    serve(
        store,
        load_settings(),
        host=host,
        port=port,
        worker=not no_worker,
        browser=not no_browser,
        tell=lambda address: say(f"The page is at {address} (Ctrl+C stops it)."),
    )
