"""Options that several commands have. What they come to is told by work/choices.py."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

Command = TypeVar("Command", bound=Callable[..., Any])

READABLE = click.Path(exists=True, dir_okay=False, path_type=Path)
FOLDER = click.Path(file_okay=False, path_type=Path)

json_option = click.option(
    "--json",
    "json_to",
    metavar="FILE|-",
    help="Write the record as JSON to a file, or to standard output (-).",
)
data_option = click.option(
    "--data", type=FOLDER, help="The shop's data folder; else the one NARRATE_DATA names, else this user's own."
)
model_option = click.option(
    "--model", metavar="NAME", help="Speech model: a name that 'narrate models list' shows, or a folder."
)
device_option = click.option(
    "--device",
    type=click.Choice(("cpu", "cuda")),
    help="What recognises speech: the processor, or an NVIDIA card with CUDA; else as the settings say.",
)
order_option = click.option(
    "--order",
    "order_file",
    type=READABLE,
    help="The order (TOML or JSON): vehicle, technician and what the customer complains of.",
)


def _log_to(context: click.Context, option: click.Parameter, place: str | None) -> None:
    if place is None:
        return
    import os

    from narrate.errors import UsageError
    from narrate.work.logs import log_to

    try:
        log_to(place)
    except OSError as error:
        message = f"The log {place} cannot be written ({error.strerror}); name another file."
        raise UsageError(message) from error
    # The processes that this one starts log to the same place.
    os.environ["NARRATE_LOG"] = place


log_option = click.option(
    "--log",
    metavar="FILE|-",
    envvar="NARRATE_LOG",
    expose_value=False,
    callback=_log_to,
    help="Log to the end of a file, or to standard error (-), as lines of JSON without a word of what was said.",
)


def vehicle_options(command: Command) -> Command:
    """Add --market and --drive-side."""
    market = click.option(
        "--market",
        type=click.Choice(("us", "gb", "eu")),
        help="Which words, units and rules apply; else those of the order, else of the settings.",
    )
    side = click.option(
        "--drive-side",
        type=click.Choice(("left", "right")),
        help="Where the driver sits; else as the order or the settings say, else as usual in the market.",
    )
    return market(side(command))
