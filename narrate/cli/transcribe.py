"""`narrate transcribe`: what is said in a recording."""

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from narrate.cli.options import READABLE, data_option, device_option, json_option, model_option
from narrate.cli.printing import show_notices, write_record
from narrate.cli.progress import progress_bar

if TYPE_CHECKING:
    from narrate.records.recording import Word

PAUSE_S = 1.0
"""A pause from which a new line begins."""
LONGEST_LINE = 18


@click.command("transcribe", short_help="Print what is said in a recording.")
@click.argument("file", type=READABLE)
@model_option
@device_option
@click.option("--no-hints", is_flag=True, help="Recognise without the hints of part names.")
@data_option
@json_option
def transcribe_command(
    file: Path, model: str | None, device: str | None, no_hints: bool, data: Path | None, json_to: str | None
) -> None:
    """Print what is said in a recording, each line with its time.

    The JSON has every word with its times and probability; 'narrate find' reads it.
    """
    from narrate.hear.clock import clock
    from narrate.pipeline import hear_recordings
    from narrate.words.shop import shop_lexicon
    from narrate.work.choices import choose

    settings, _ = choose(model=model, device=device)
    with progress_bar() as bar:
        (recording,) = hear_recordings(
            [file],
            settings=settings.model_copy(update={"hints": settings.hints and not no_hints}),
            lexicon=shop_lexicon(data),
            progress=lambda done_s, total_s: bar.show(file.name, done_s, total_s),
        )
    show_notices((recording,))
    if json_to:
        write_record(recording.model_dump_json(indent=2), json_to)
    if json_to != "-":
        for line in lines(recording.words):
            click.echo(f"{clock(line[0].start_s or 0.0):>7}  {' '.join(word.text for word in line)}")


def lines(words: "Sequence[Word]") -> "Iterator[list[Word]]":
    """Cut words into lines: after a sentence, at a pause, and before a line grows long."""
    line: list[Word] = []
    for word in words:
        if line and _ends(line, word):
            yield line
            line = []
        line.append(word)
    if line:
        yield line


def _ends(line: "Sequence[Word]", following: "Word") -> bool:
    last = line[-1]
    pause_s = (following.start_s or 0.0) - (last.end_s or 0.0)
    return last.text.endswith((".", "?", "!")) or pause_s >= PAUSE_S or len(line) >= LONGEST_LINE
