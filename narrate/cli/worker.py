"""`narrate worker`: hears the recordings that wait in the shop's store."""

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

import click

from narrate.cli.failure import Failure
from narrate.cli.options import data_option, device_option, log_option, model_option
from narrate.cli.printing import count, say, say_how_read
from narrate.errors import UsageError

if TYPE_CHECKING:
    from narrate.store.engine import Store
    from narrate.work.queue import Outcome
    from narrate.work.shop_steps import ShopSteps

WATCH_EVERY_S = 0.5
"""How often processes that ended are looked for."""


@click.command("worker", short_help="Hear the recordings that wait in the shop's store.")
@data_option
@click.option("--once", is_flag=True, help="End when nothing waits any more.")
@click.option("--fleet", is_flag=True, help="Work beside workers on other machines, told of jobs by PostgreSQL.")
@click.option("--share", is_flag=True, help="With --fleet: put this machine's recordings where NARRATE_AUDIO says.")
@click.option(
    "--processes",
    type=click.IntRange(1, 256),
    default=1,
    help="With --fleet: how many processes hear at once; one that ends is started again.",
)
@click.option("--threads", type=click.IntRange(0), default=0, hidden=True, help="Processors it takes; 0: all.")
@click.option("--parent", type=int, hidden=True, help="The process it ends with.")
@model_option
@device_option
@log_option
def worker_command(
    data: Path | None,
    once: bool,
    fleet: bool,
    share: bool,
    processes: int,
    threads: int,
    parent: int | None,
    model: str | None,
    device: str | None,
) -> None:
    """Hear recordings as they are dropped on the page, one after the other, until Ctrl-C.

    'narrate review' does this by itself; a worker beside it helps with many recordings. On another machine it
    needs the same store (NARRATE_STORE) and the same data folder. --model and --device count before what the
    settings and the shop's page say. With --fleet, machines may have data folders of their own, if NARRATE_AUDIO
    names a place for recordings that all of them reach, and the shop's machine shares its own there (--share).
    """
    from narrate.settings import data_folder, load_settings
    from narrate.store.engine import open_store
    from narrate.work.daily import forgetting_daily
    from narrate.work.queue import work_off
    from narrate.work.shop_steps import ShopSteps

    if not fleet and (share or processes > 1):
        message = "--share and --processes go with --fleet; add it, or leave them out."
        raise UsageError(message)
    if once and processes > 1:
        message = "--once goes with one process; leave --processes out."
        raise UsageError(message)
    given = {key: value for key, value in {"model": model, "device": device}.items() if value}
    store = open_store(data_folder(data))
    told: list[Outcome] = []
    try:
        # One of a machine's processes is enough for it.
        daily = nullcontext() if once or parent is not None else forgetting_daily(store)
        with _stopped_gently() as stopping, daily:
            if not once and parent is None:
                say("Waiting for recordings; Ctrl-C ends it, and puts back what is not finished.")

            def tell(outcome: "Outcome") -> None:
                told.append(outcome)
                _tell(outcome)

            steps = ShopSteps(store=store, settings=load_settings, given=given, threads=threads)
            if processes > 1:
                options = [f"--{key}={value}" for key, value in given.items()] + ["--share"] * share
                _keep_processes(store, stopping, processes, *options)
            elif fleet:
                _join_fleet(store, steps, lambda: bool(stopping) or _left_alone(parent), tell, share=share, once=once)
            else:
                work_off(store, steps=steps, once=once, stop=lambda: bool(stopping), told=tell)
    finally:
        store.close()
    say_how_read()
    failed = [outcome for outcome in told if outcome.state == "failed"]
    if once and failed:
        message = f"{count(len(failed), 'job')} failed; the page of recordings says why."
        raise Failure(message)


def _join_fleet(
    store: "Store",
    steps: "ShopSteps",
    stop: Callable[[], bool],
    tell: "Callable[[Outcome], None]",
    *,
    share: bool,
    once: bool,
) -> None:
    """Work beside other machines, with the model and the recordings' place checked first."""
    from narrate.hear.weights import model_folder
    from narrate.settings import audio_address
    from narrate.work.fleet import work_in_fleet
    from narrate.work.fleet_audio import shared_audio
    from narrate.work.fleet_member import Member

    address = audio_address()
    if share and not address:
        message = "--share needs a place to share at; set NARRATE_AUDIO to a folder or an address such as s3://…."
        raise UsageError(message)
    audio = shared_audio(store, address) if address else None
    now = steps.settings_now()
    # Before the first job: a model that is missing or damaged is this machine's failure, not the recording's.
    model_folder(now.model)
    member = Member(store=store, steps=steps, audio=audio, shares=share, stop=stop, told=tell)
    work_in_fleet(member, device=now.device, once=once)


def _keep_processes(store: "Store", stopping: list[int], processes: int, *given: str) -> None:
    """Keep so many processes of this command running until it is stopped; processors are shared out among them."""
    from narrate.work.day_crew import Crew
    from narrate.work.day_machine import processors

    threads = max(1, processors() // processes)
    told = ["worker", "--fleet", "--data", str(store.folder), *given]
    told += ["--threads", str(threads), "--parent", str(os.getpid())]
    code = "from narrate.cli.main import main; main()"
    environment = {**os.environ, "OMP_NUM_THREADS": str(threads)}

    def start(_: int) -> "subprocess.Popen[bytes]":
        return subprocess.Popen([sys.executable, "-c", code, *told], env=environment, stdin=subprocess.DEVNULL)

    crew = Crew(store, start)
    try:
        while not stopping:
            crew.keep(processes, of=processes)
            time.sleep(WATCH_EVERY_S)
    finally:
        crew.stop()


def _left_alone(parent: int | None) -> bool:
    """Whether the process that started this one is gone."""
    return parent is not None and os.getppid() != parent


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
