"""What commands print: data to standard output, messages to standard error."""

import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from rich.console import Console

    from narrate.records.recording import Recording
    from narrate.records.walkaround import Walkaround

MOST_TOLD = 8
"""Of what the program itself adds, so much is printed: the findings are what matters."""
PIPED_WIDTH = 160
"""Columns of a table that goes to a file or a pipe."""


def say(message: str) -> None:
    """Print a message for a person."""
    click.echo(message, err=True)


def write_record(text: str, to: str) -> None:
    """Write a record's JSON to a file, or to standard output for `-`; always UTF-8."""
    content = text.rstrip("\n").encode("utf-8") + b"\n"
    if to == "-":
        sys.stdout.buffer.write(content)
        sys.stdout.buffer.flush()
        return
    from narrate.atomic import write_atomically

    write_atomically(Path(to), content)


def show_walkaround(walkaround: "Walkaround", json_to: str | None) -> None:
    """Print a walkaround as a table, or write its JSON, or both; notices go to standard error."""
    show_notices(walkaround.recordings)
    if json_to:
        write_record(walkaround.model_dump_json(by_alias=True, indent=2), json_to)
    if json_to != "-":
        print_walkaround(walkaround)


def say_how_read() -> None:
    """Say so where the trained encoder is not there to read the words."""
    from narrate.find.encoder import encoder_folder, encoder_is_there

    if not encoder_is_there(encoder_folder()):
        say(
            f"The trained encoder is not in {encoder_folder()}: rules and linear models alone read the words, and more "
            "is left for you to correct. Install narrate whole to have it."
        )


def show_notices(recordings: "Iterable[Recording]") -> None:
    """Print what a person should know about recordings."""
    for recording in recordings:
        for notice in recording.notices:
            say(f"{recording.name}: {notice}")


def print_walkaround(walkaround: "Walkaround") -> None:
    """Print findings as a table, then concerns and what was heard and not understood."""
    from narrate.export.cautions import DEFER, say_cautions
    from narrate.export.phrases import say_time, say_words
    from narrate.export.table import HEADINGS, findings_table

    rows = findings_table(walkaround)
    if rows:
        print_table(HEADINGS, rows)
    else:
        click.echo("No findings.")
    for concern in walkaround.concerns:
        click.echo(f"Concern: {concern.text} ({concern.state})")
    _print_judgement(walkaround)
    cautions = say_cautions(walkaround.findings)
    if cautions:
        click.echo("Take care:")
    for caution in (*cautions, DEFER) if cautions else ():
        click.echo(f"  {caution}")
    if walkaround.unplaced:
        click.echo("Heard and not understood:")
    for unplaced in walkaround.unplaced:
        time = say_time(unplaced.evidence[0].start_s) if unplaced.evidence else ""
        words = say_words(unplaced.evidence)
        click.echo("  " + "  ".join(part for part in (time, f"“{words}”", f"({unplaced.why})") if part))


def _print_judgement(walkaround: "Walkaround") -> None:
    """Print what judging adds: what contradicts, what is compared, what goes with it, what is missing."""
    lists = (
        ("Said two ways, for you to decide", [each.text for each in walkaround.contradictions]),
        ("Compared", list(walkaround.comparisons)),
        ("Suggested by the program, not said", [f"{s.text} ({s.source})" for s in walkaround.suggestions]),
        ("Not mentioned", [", ".join(walkaround.not_mentioned)] if walkaround.not_mentioned else []),
        ("Looked at without a verdict", [", ".join(walkaround.without_verdict)] if walkaround.without_verdict else []),
    )
    for title, texts in lists:
        if texts:
            click.echo(f"{title}:")
        for text in texts[:MOST_TOLD]:
            click.echo(f"  {text}")
        if len(texts) > MOST_TOLD:
            click.echo(f"  and {len(texts) - MOST_TOLD} more, in the record and the files")


def print_table(headings: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """Print a table as wide as the terminal."""
    from rich import box
    from rich.table import Table

    table = Table(*headings, box=box.SIMPLE_HEAD, pad_edge=False)
    for row in rows:
        table.add_row(*row)
    console().print(table)


def console(*, stderr: bool = False) -> "Console":
    """Return a console that prints words as they are: no markup, no guessed colours."""
    from rich.console import Console

    found = Console(stderr=stderr, markup=False, highlight=False, emoji=False)
    return (
        found
        if found.is_terminal
        else Console(stderr=stderr, markup=False, highlight=False, emoji=False, width=PIPED_WIDTH)
    )


def count(number: int, thing: str) -> str:
    """`1 finding`, `2 findings`."""
    return f"{number} {thing}{'' if number == 1 else 's'}"
