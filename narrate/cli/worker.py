"""`narrate worker`: hears the recordings that wait in the shop's store."""

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from narrate.cli.failure import Failure
from narrate.cli.options import data_option, device_option, model_option
from narrate.cli.printing import count, say, say_how_read

if TYPE_CHECKING:
    from narrate.work.queue import Outcome


@click.command("worker", short_help="Hear the recordings that wait in the shop's store.")
@data_option
@click.option("--once", is_flag=True, help="End when nothing waits any more.")
@model_option
@device_option
def worker_command(data: Path | None, once: bool, model: str | None, device: str | None) -> None:
    """Hear recordings as they are dropped on the page, one after the other, until Ctrl-C.

    'narrate review' does this by itself; a worker beside it helps with many recordings. On another machine it
    needs the same store (NARRATE_STORE) and the same data folder. --model and --device count before what the
    settings and the shop's page say.
    """
    from narrate.settings import data_folder, load_settings
    from narrate.store.engine import open_store
    from narrate.work.queue import work_off
    from narrate.work.shop_steps import ShopSteps

    given = {key: value for key, value in {"model": model, "device": device}.items() if value}
    store = open_store(data_folder(data))
    told: list[Outcome] = []
    with _stopped_gently() as stopping:
        if not once:
            say("Waiting for recordings; Ctrl-C ends it, and puts back what is not finished.")

        def tell(outcome: "Outcome") -> None:
            told.append(outcome)
            _tell(outcome)

        steps = ShopSteps(store=store, settings=load_settings, given=given)
        work_off(store, steps=steps, once=once, stop=lambda: bool(stopping), told=tell)
    store.close()
    say_how_read()
    failed = [outcome for outcome in told if outcome.state == "failed"]
    if once and failed:
        message = f"{count(len(failed), 'job')} failed; the page of recordings says why."
        raise Failure(message)


def _tell(outcome: "Outcome") -> None:
    """Print what became of a job."""
    name = outcome.job.name
    if outcome.state == "done":
        click.echo(f"{name}: {outcome.walkaround}")
    elif outcome.state == "failed":
        say(f"{name}: {outcome.why}")
    else:
        say(f"{name}: {outcome.state}")


@contextmanager
def _stopped_gently() -> Iterator[list[int]]:
    """Give a list that is filled when the program is asked to end; a second time it ends at once."""
    asked: list[int] = []

    def ask(number: int, _frame: object) -> None:
        if asked:
            raise KeyboardInterrupt
        asked.append(number)

    before = {number: signal.signal(number, ask) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield asked
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
