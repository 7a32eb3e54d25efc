"""`narrate authorize`: a customer's answer to an estimate in the shop's store."""

from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from narrate.cli.options import READABLE, data_option, json_option
from narrate.cli.printing import print_table, say, write_record

if TYPE_CHECKING:
    from narrate.records.estimate import Estimate

HEADINGS = ("job", "what", "answer", "way", "before tax")


@click.command("authorize", short_help="Keep what a customer answered to an estimate.")
@click.argument("estimate", metavar="ESTIMATE")
@data_option
@click.option("--by", required=True, metavar="NAME", help="Who of the shop took the answer down.")
@click.option("--who", metavar="NAME", help="Who answered; else the estimate's customer.")
@click.option(
    "--how",
    type=click.Choice(("telephone", "in_person", "paper")),
    default="telephone",
    show_default=True,
    help="How the answer was given.",
)
@click.option("--number", metavar="N", help="The number that was called; needed for an answer by telephone.")
@click.option("--words", metavar="TEXT", help="What was said, in the customer's words.")
@click.option("--read-back", is_flag=True, help="The jobs and the total were read back to the customer.")
@click.option(
    "--job",
    "jobs",
    multiple=True,
    metavar="J=ANSWER",
    help="A job's answer: j1=authorized, j1=k2 (done that way), j1=declined, or j1=2027-01-10 (a day to decide by).",
)
@click.option("--all", "everything", is_flag=True, help="Every needed job that waits for an answer is authorized.")
@click.option("--total", metavar="AMOUNT", help="The total agreed, refused where it is not what the answers come to.")
@click.option(
    "--document", type=READABLE, metavar="FILE", help="The very document that was read or shown; else the last logged."
)
@json_option
def authorize_command(
    estimate: str,
    data: Path | None,
    by: str,
    who: str | None,
    how: Literal["telephone", "in_person", "paper"],
    number: str | None,
    words: str | None,
    read_back: bool,
    jobs: tuple[str, ...],
    everything: bool,
    total: str | None,
    document: Path | None,
    json_to: str | None,
) -> None:
    """Keep what a customer answered to ESTIMATE (e7): each job authorized, declined or put off to a day.

    The answer is kept with its time, its words and the sha256 of the document that it is about, and never changed
    afterwards: another answer is another entry. A draft is refused, and a job without what it requires.
    """
    from narrate.errors import UsageError
    from narrate.hear.digests import sha256_of
    from narrate.settings import data_folder
    from narrate.store.engine import open_store
    from narrate.store.estimates import read_estimate
    from narrate.work.taking_answer import answers_from, answers_to_all, take_answer

    if bool(jobs) == everything:
        message = "Tell what was answered: --job for each job, or --all."
        raise UsageError(message)
    store = open_store(data_folder(data))
    try:
        before = read_estimate(store, estimate).estimate
        answerer = who or str(before.customer.get("name") or "")
        if not answerer:
            message = f"{estimate} names no customer; say who answered with --who."
            raise UsageError(message)
        held = take_answer(
            store,
            estimate,
            answers_to_all(before) if everything else answers_from(before, jobs),
            by=by,
            who=answerer,
            how=how,
            number=number,
            words=words,
            read_back=read_back,
            total=_amount(total),
            document=sha256_of(document) if document else None,
            seen=before,
        )
    finally:
        store.close()
    if json_to:
        write_record(held.estimate.model_dump_json(by_alias=True, indent=2), json_to)
    if json_to != "-":
        _show(held.estimate)


def _amount(text: str | None) -> Decimal | None:
    from narrate.errors import UsageError

    try:
        amount = None if text is None else Decimal(text)
    except InvalidOperation:
        amount = Decimal("NaN")
    if amount is not None and not amount.is_finite():
        message = f"--total {text!r} is no amount; write it as 306.40."
        raise UsageError(message)
    return amount


def _show(after: "Estimate") -> None:
    from narrate.price.sums import chosen_of

    rows = []
    for job in after.jobs:
        way = chosen_of(job)
        answer = f"decide by {job.decide_by_date}" if job.state == "decide_by" else job.state
        rows.append((job.id, job.title, answer, way.label, str(way.subtotal)))
    print_table(HEADINGS, rows)
    consent = after.consents[-1]
    click.echo(f"Agreed: {consent.total} {after.currency}, tax included.")
    say(f"{consent.who}'s answer is kept with document {consent.document[:12]}.")
    if not consent.read_back:
        say("It was not read back; read jobs and total back before the work begins.")
