"""`narrate estimate`: a walkaround and a price book become the customer's estimate, as files."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from narrate.cli.options import FOLDER, READABLE, order_option
from narrate.cli.printing import count, say

if TYPE_CHECKING:
    from narrate.records.estimate import Estimate
    from narrate.records.order import Order
    from narrate.records.walkaround import Walkaround


@click.command("estimate", short_help="Price a walkaround and write the customer's estimate.")
@click.argument("walkaround", metavar="WALK.json", type=READABLE)
@click.option("--book", type=READABLE, required=True, help="The price book: CSV or XLSX.")
@click.option("--to", type=FOLDER, required=True, help="Folder for the files; made if it is missing.")
@click.option(
    "--place",
    metavar="PLACE",
    help="Whose rules hold, as 'us-fl' for Florida; else the book's, else every field there is.",
)
@order_option
def estimate_command(walkaround: Path, book: Path, to: Path, place: str | None, order_file: Path | None) -> None:
    """Price a walkaround by a price book and write the estimate as JSON, HTML, PDF, CSV and XLSX.

    While findings are unchecked it is a draft, and says so. Work the book has no price for is named, never counted
    as nothing.
    """
    from narrate.export.json_file import read_walkaround
    from narrate.work.choices import choose

    order = choose(order_file=order_file)[1] if order_file else None
    made = write_priced(read_walkaround(walkaround), book, to, place=place, order=order)
    tell(made)


def write_priced(
    walkaround: "Walkaround", book: Path, to: Path, *, place: str | None = None, order: "Order | None" = None
) -> "Estimate":
    """Price a walkaround, write the files, print their names, and say why where there is no PDF."""
    from datetime import datetime

    from narrate.export.estimate_files import write_estimate
    from narrate.price.book_file import read_book
    from narrate.price.estimating import make_estimate
    from narrate.words.place_rules import place_rules
    from narrate.words.shop import shop_lexicon

    lexicon = shop_lexicon()
    now = datetime.now().astimezone().isoformat(timespec="minutes")
    made = make_estimate(walkaround, read_book(book, lexicon), lexicon, place=place, made_at=now, order=order)
    paths, why_no_pdf = write_estimate(made, walkaround, to, place=place_rules(made.place))
    for path in paths:
        click.echo(path)
    if why_no_pdf:
        say(why_no_pdf)
    return made


def tell(estimate: "Estimate") -> None:
    """Say in one line what was made, and what still waits."""
    from narrate.export.sums_said import say_sum

    total = say_sum(estimate.totals.total, estimate.currency)
    waiting = f", {len(estimate.to_be_priced)} more to be priced" if estimate.to_be_priced else ""
    draft = "Draft: findings are unchecked, so it cannot be authorized. " if estimate.draft else ""
    say(f"{draft}{count(len(estimate.jobs), 'job')}, {total} with tax{waiting}.")
