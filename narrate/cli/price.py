"""`narrate price`: the findings of a walkaround by a price book, as a table or as the record."""

from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING

import click

from narrate.cli.options import READABLE, json_option, order_option
from narrate.cli.printing import print_table, say, write_record

if TYPE_CHECKING:
    from narrate.records.estimate import Estimate, Job, Totals

HEADINGS = ("job", "way", "line", "quantity", "unit price", "amount", "of the book")
_SUMS = ("parts", "labor", "fluids", "sublet", "supplies", "fees", "discount", "tax", "total")


@click.command("price", short_help="Findings by a price book: jobs, lines, tax, and what has no price.")
@click.argument("walkaround", metavar="WALK.json", type=READABLE)
@click.option("--book", required=True, type=READABLE, metavar="FILE", help="The price book, CSV or XLSX.")
@click.option("--place", metavar="P", help="Whose rules hold, as in FL or us-fl; else the book's place.")
@order_option
@json_option
def price_command(
    walkaround: Path, book: Path, place: str | None, order_file: Path | None, json_to: str | None
) -> None:
    """Price a walkaround's findings: each job with its lines, its other ways, and what the book has no price for.

    Nothing is changed and nothing kept. Findings that nobody has reviewed make a draft.
    """
    from datetime import UTC, datetime

    from narrate.export.json_file import read_walkaround
    from narrate.price.book_file import read_book
    from narrate.price.estimating import make_estimate
    from narrate.words.shop import shop_lexicon
    from narrate.work.choices import choose

    read = read_walkaround(walkaround)
    lexicon = shop_lexicon()
    order = choose(market=read.market, order_file=order_file)[1] if order_file else None
    estimate = make_estimate(
        read,
        read_book(book, lexicon),
        lexicon,
        place=place,
        made_at=datetime.now(UTC).isoformat(timespec="seconds"),
        order=order,
    )
    if estimate.draft:
        say("A draft: findings are not reviewed yet.")
    if json_to:
        write_record(estimate.model_dump_json(by_alias=True, indent=2), json_to)
    if json_to != "-":
        _print(estimate)


def _print(estimate: "Estimate") -> None:
    """Print jobs as a table, then what has no price, then the sums."""
    if estimate.jobs:
        print_table(HEADINGS, (row for job in estimate.jobs for row in _rows(job)))
    else:
        click.echo("No jobs.")
    for job in estimate.jobs:
        for doubt in job.doubts:
            click.echo(f"Look at {job.id}: {doubt}")
        if job.requires:
            click.echo(f"{job.id} needs {' and '.join(job.requires)}.")
    if estimate.to_be_priced:
        click.echo("To be priced:")
    for each in estimate.to_be_priced:
        click.echo(f"  {each.title}: {each.why}")
    _print_sums(estimate.totals, estimate.currency)
    if estimate.needed.total != estimate.totals.total:
        click.echo(f"without optional work  {estimate.needed.total} {estimate.currency}")


def _rows(job: "Job") -> Iterator[tuple[str, ...]]:
    mark = f"{job.id} {job.title}{' (optional)' if job.optional else ''}"
    for number, choice in enumerate(job.choices):
        spoken = f" (spoken: {choice.spoken})" if choice.spoken is not None else ""
        yield mark if not number else "", f"{choice.id} {choice.label}{spoken}", "", "", "", str(choice.subtotal), ""
        for line in choice.lines:
            note = f"{line.text} ({line.note})" if line.note else line.text
            quantity = f"{_plain(line.quantity)} {line.unit}"
            yield "", "", note, quantity, str(line.unit_price), str(line.amount), line.row or ""


def _print_sums(totals: "Totals", currency: str) -> None:
    rows = [(name, getattr(totals, name)) for name in _SUMS]
    for name, amount in rows:
        if amount or name == "total":
            click.echo(f"{name:<9} {amount:>12} {currency}")
    for tax in totals.taxes:
        click.echo(f"  {tax.name}: {_plain(tax.rate)}% of {tax.base} is {tax.amount}")


def _plain(number: Decimal) -> str:
    """Digits without needless zeroes or an exponent."""
    told = format(number, "f")
    return told.rstrip("0").rstrip(".") if "." in told else told
