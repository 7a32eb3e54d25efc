"""`narrate find`: words become findings."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from narrate.cli.options import data_option, json_option, order_option, vehicle_options
from narrate.cli.printing import say_how_read, show_walkaround

if TYPE_CHECKING:
    from narrate.records.recording import Recording


@click.command("find", short_help="Words become findings.")
@click.argument("file", metavar="FILE|-", type=click.Path(exists=True, dir_okay=False, allow_dash=True, path_type=Path))
@order_option
@vehicle_options
@data_option
@json_option
def find_command(
    file: Path,
    order_file: Path | None,
    market: str | None,
    drive_side: str | None,
    data: Path | None,
    json_to: str | None,
) -> None:
    """Find what needs doing in words: a recording's JSON, or plain text; - reads standard input.

    'narrate transcribe FILE --json' writes a recording's JSON.
    """
    from narrate.pipeline import process_words
    from narrate.words.shop import shop_lexicon
    from narrate.work.choices import choose

    settings, order = choose(market=market, drive_side=drive_side, order_file=order_file)
    dash = str(file) == "-"
    content = sys.stdin.buffer.read() if dash else file.read_bytes()
    recording = read_words(content, "standard input" if dash else file.name)
    walkaround = process_words([recording], settings=settings, lexicon=shop_lexicon(data), order=order)
    say_how_read()
    show_walkaround(walkaround, json_to)


def read_words(content: bytes, name: str) -> "Recording":
    """Read a recording's JSON or plain text; raises UsageError for what is neither."""
    from pydantic import ValidationError

    from narrate.errors import UsageError
    from narrate.find.mining import text_recording
    from narrate.records.recording import Recording

    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        message = f"{name} is neither text nor JSON; for a recording, run 'narrate process'."
        raise UsageError(message) from error
    if not text.lstrip().startswith("{"):
        return text_recording(text, name)
    try:
        return Recording.model_validate_json(text)
    except ValidationError as errors:
        first = errors.errors()[0]
        key = ".".join(str(part) for part in first["loc"]) or "its beginning"
        message = (
            f"{name} is not a recording's JSON ({first['msg']} at {key}); give what 'narrate transcribe --json' wrote."
        )
        raise UsageError(message) from errors
