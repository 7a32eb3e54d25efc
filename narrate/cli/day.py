"""`narrate day`: a day's folder of recordings, heard, put together and told of."""

from collections.abc import Iterable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from narrate.cli.failure import Failure, Stopped
from narrate.cli.options import FOLDER, READABLE, data_option, device_option, json_option, model_option
from narrate.cli.printing import count, say, say_how_read, write_record
from narrate.cli.progress import Bar, progress_bar

if TYPE_CHECKING:
    from narrate.records.day import Day, DayItem, DayMatter
    from narrate.store.engine import Store
    from narrate.work.day import Progress, Run

MOST_LISTED = 12
"""Of what is to be decided first, and of open concerns, so many are printed; the record has all."""


@click.command("day", short_help="Hear a day's folder of recordings.")
@click.argument("folder", type=FOLDER)
@data_option
@click.option("--orders", type=READABLE, help="The day's orders as a CSV: those not known yet are added.")
@click.option("--follow", is_flag=True, help="Go on taking what arrives, until Ctrl-C.")
@click.option("--workers", type=click.IntRange(min=1), help="Processes that hear; else as cores and memory allow.")
@click.option("--again", is_flag=True, help="Try once more what failed three times.")
@model_option
@device_option
@json_option
def day_command(
    folder: Path,
    data: Path | None,
    orders: Path | None,
    follow: bool,
    workers: int | None,
    again: bool,
    model: str | None,
    device: str | None,
    json_to: str | None,
) -> None:
    """Hear all recordings in FOLDER and its folders, and put their findings into the shop's store.

    Each file is taken when it has stopped growing, and heard once, however often this is run or stopped. An order
    is found by the number or plate that is said, or that the file or its folder is called by. Recordings of one
    vehicle become one walk-round where that is sure; where it is not, you are asked.
    """
    from narrate.settings import data_folder
    from narrate.store.engine import open_store
    from narrate.work.day_orders import add_new_orders

    store = open_store(data_folder(data))
    given = {key: value for key, value in {"model": model, "device": device}.items() if value}
    try:
        if orders:
            added = add_new_orders(store, orders)
            say(f"{count(added, 'order')} added from {orders.name}.")
        run = _run(store, folder, given)
        run.follow, run.workers, run.again = follow, workers or 0, again
        day = _watched(run, json_to)
    finally:
        store.close()
    if json_to:
        write_record(day.model_dump_json(by_alias=True, indent=2), json_to)
    if json_to != "-":
        _print(day)
    say_how_read()
    if day.failed:
        message = f"{count(len(day.failed), 'recording')} failed; run this again to try once more."
        raise Failure(message)


def _run(store: "Store", folder: Path, given: dict[str, str]) -> "Run":
    from narrate.hear.weights import model_folder
    from narrate.settings import load_settings
    from narrate.store.shop import shop_settings
    from narrate.work.day import Run
    from narrate.work.day_worker import start_worker
    from narrate.work.shop_steps import ShopSteps

    # Joined and checked here once, before several processes want it at once.
    model_folder(shop_settings(store, load_settings()).model_copy(update=given).model)
    steps = ShopSteps(store=store, settings=load_settings, given=given)
    start = partial(start_worker, store.folder, given=given)
    return Run(store=store, folder=folder, steps=steps, start=lambda number: start(count=number))


def _watched(run: "Run", json_to: str | None) -> "Day":
    """Run under a progress bar."""
    with progress_bar() as bar:

        def tell(sentence: str) -> None:
            with bar.aside():
                say(sentence)

        def ready(day: "Day") -> None:
            with bar.aside():
                say(_counts(day))
            if json_to and json_to != "-":
                write_record(day.model_dump_json(by_alias=True, indent=2), json_to)

        run.say, run.ready, run.tell = tell, ready, partial(_show, bar)
        try:
            return run.go()
        except KeyboardInterrupt as error:
            message = "Stopped; what is heard is kept. Run it again to go on."
            raise Stopped(message) from error


def _show(bar: Bar, progress: "Progress") -> None:
    name = f"{progress.done} of {progress.total}  {progress.name}"
    bar.show(name, progress.done_s, progress.total_s)


def _print(day: "Day") -> None:
    """Print what an advisor should know, what matters most first."""
    click.echo(_counts(day))
    _list("Decide first", map(_matter, day.decide_first))
    _list("Where does it belong", (f"{', '.join(each.names)}: {each.why}" for each in day.doubtful))
    _list("Open concerns", map(_matter, day.open_concerns))
    _list("Failed", map(_item, day.failed), most=None)
    _list("Set aside", map(_item, day.set_aside), most=None)
    left = {id_: number for id_, number in day.to_settle.items() if number}
    if left:
        told = ", ".join(f"{id_} ({number})" for id_, number in left.items())
        click.echo(f"To check on the page ('narrate review'), with the number of things: {told}")


def _counts(day: "Day") -> str:
    walkarounds = len({each.walkaround_id for each in day.done})
    told = [f"{count(len(day.done), 'recording')} done in {count(walkarounds, 'walk-round')}"]
    for number, what in ((day.doubtful, "doubtful"), (day.failed, "failed"), (day.set_aside, "set aside")):
        if number:
            told.append(f"{len(number)} {what}")
    return ", ".join(told) + "."


def _matter(each: "DayMatter") -> str:
    of = f" ({each.of})" if each.of else ""
    return f"{each.walkaround_id}{of}: {each.text}"


def _item(each: "DayItem") -> str:
    return f"{each.name}: {each.why}"


def _list(title: str, lines: Iterable[str], most: int | None = MOST_LISTED) -> None:
    told = list(lines)
    if told:
        click.echo(f"{title}:")
    for line in told[:most]:
        click.echo(f"  {line}")
    if most and len(told) > most:
        click.echo(f"  and {len(told) - most} more, in the record (--json)")
