"""`narrate judge`: a walkaround is held against limits, compared, and what is missing is told."""

from pathlib import Path

import click

from narrate.cli.options import READABLE, json_option, order_option
from narrate.cli.printing import show_walkaround


@click.command("judge", short_help="Limits, comparisons, what is missing and what goes with it.")
@click.argument("walkaround", metavar="WALK.json", type=READABLE)
@order_option
@click.option(
    "--previous", type=READABLE, metavar="WALK.json", help="The same vehicle's visit before, to tell what has worn."
)
@click.option(
    "--market",
    type=click.Choice(("us", "gb", "eu")),
    help="Whose limits apply; else the walkaround's own market.",
)
@click.option("--rule-set", metavar="NAME", help="A rule set of lexicon/rules/limits.toml, instead of the market's.")
@json_option
def judge_command(
    walkaround: Path,
    order_file: Path | None,
    previous: Path | None,
    market: str | None,
    rule_set: str | None,
    json_to: str | None,
) -> None:
    """Judge a walkaround: what is past a limit, how soon it is due, what contradicts, what is missing.

    Nothing that was said is changed. 'narrate process' judges by itself; use this for another rule set, with the
    visit before, or after findings were corrected.
    """
    from narrate.export.json_file import read_walkaround
    from narrate.pipeline import judge_walkaround, with_order
    from narrate.words.shop import shop_lexicon
    from narrate.work.choices import choose

    read = read_walkaround(walkaround)
    settings, order = choose(market=market or read.market, order_file=order_file)
    if rule_set:
        settings = settings.model_copy(update={"rule_set": rule_set})
    before = read_walkaround(previous) if previous else None
    judged = judge_walkaround(
        with_order(read, order) if order else read,
        settings=settings,
        lexicon=shop_lexicon(),
        order=order,
        previous=before,
    )
    show_walkaround(judged, json_to)
