"""`narrate review`: the advisor's page."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from narrate.cli.options import READABLE, data_option, log_option
from narrate.cli.printing import say
from narrate.errors import UsageError

if TYPE_CHECKING:
    from narrate.review.secure_serving import Secured
    from narrate.review.serving import Answers


@click.command("review", short_help="The advisor's page: check findings against the recording.")
@data_option
@click.option("--host", default="127.0.0.1", show_default=True, help="The address to listen at.")
@click.option("--port", default=8470, show_default=True, type=click.IntRange(0, 65535), help="0 takes a free one.")
@click.option("--no-browser", is_flag=True, help="Do not open the browser.")
@click.option("--no-worker", is_flag=True, help="Do not hear recordings here; 'narrate worker' does elsewhere.")
@click.option("--tls", is_flag=True, help="Make connections safe with a certificate authority of the shop's own.")
@click.option("--cert", type=READABLE, help="A certificate got elsewhere, with its chain (PEM); needs --key.")
@click.option("--key", type=READABLE, help="The key of --cert (PEM).")
@log_option
def review_command(
    data: Path | None,
    host: str,
    port: int,
    no_browser: bool,
    no_worker: bool,
    tls: bool,
    cert: Path | None,
    key: Path | None,
) -> None:
    """Open the page on which findings are checked, corrected and signed.

    Everything stays on this computer. Only this computer can reach the page unless --host says otherwise, and
    then people must sign in: give an owner a PIN on the Shop page first. Phones record on the page only with --tls
    (or --cert and --key). Ctrl+C stops it; nothing is lost.
    """
    from narrate.review.serving import serve
    from narrate.settings import data_folder, load_settings, store_url
    from narrate.store.engine import open_store

    if (tls and (cert or key)) or bool(cert) != bool(key):
        message = "Name --cert and --key together, or --tls without them."
        raise UsageError(message)
    store = open_store(data_folder(data), store_url())
    serve(
        store,
        load_settings(),
        host=host,
        port=port,
        worker=not no_worker,
        browser=not no_browser,
        secured=_secured(store.folder, host, cert, key) if tls or cert else None,
        tell=_tell,
    )


def _secured(folder: Path, host: str, cert: Path | None, key: Path | None) -> "Secured":
    from narrate.review.secure_serving import given_certificate, own_authority

    return given_certificate(cert, key) if cert and key else own_authority(folder, host)


def _tell(answers: "Answers") -> None:
    if answers.trust:
        say(f"Each device begins once at {answers.trust}, where it learns to trust this page.")
        say(f"The certificate it is shown there has this SHA-256 fingerprint: {answers.fingerprint}")
    if answers.left_out:
        say(
            f"The shop's certificate authority cannot speak for {', '.join(answers.left_out)}: open the page by "
            "another of its names, or delete tls/ in the data folder and have every phone trust the new one anew."
        )
    say(f"The page is at {answers.page} (Ctrl+C stops it).")
