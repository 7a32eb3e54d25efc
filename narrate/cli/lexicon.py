"""`narrate lexicon`: check the words, and try them on a sentence."""

from pathlib import Path

import click

from narrate.cli.failure import Failure
from narrate.cli.options import json_option, vehicle_options
from narrate.cli.printing import count, say, show_walkaround


@click.group("lexicon", short_help="Check or try the words narrate knows.")
def lexicon_group() -> None:
    """Check the words narrate knows, or try them on a sentence."""


@lexicon_group.command("check")
@click.argument("folder", required=False, type=click.Path(exists=True, file_okay=False, path_type=Path))
def check_command(folder: Path | None) -> None:
    """Check a lexicon folder, or narrate's own: mistakes, then what may surprise someone.

    Mistakes exit with 1, warnings do not.
    """
    from narrate.words.lint import lint
    from narrate.words.load import load_lexicon

    lexicon = load_lexicon(folder)
    remarks = lint(lexicon)
    for remark in remarks:
        click.echo(f"{remark.level}: {remark.place}: {remark.message}")
    errors = sum(remark.level == "error" for remark in remarks)
    say(
        f"{count(len(lexicon.components), 'component')}, {count(len(lexicon.conditions), 'condition')}, "
        f"{count(len(lexicon.actions), 'action')}; {count(errors, 'error')}, "
        f"{count(len(remarks) - errors, 'warning')}."
    )
    if errors:
        message = "The lexicon has errors; correct the entries named."
        raise Failure(message)


@lexicon_group.command("try")
@click.argument("text")
@vehicle_options
@json_option
def try_command(text: str, market: str | None, drive_side: str | None, json_to: str | None) -> None:
    """Show what a sentence becomes."""
    from narrate.find.mining import text_recording
    from narrate.pipeline import process_words
    from narrate.words.load import load_lexicon
    from narrate.work.choices import choose

    settings, _ = choose(market=market, drive_side=drive_side)
    recording = text_recording(text)
    show_walkaround(process_words([recording], settings=settings, lexicon=load_lexicon()), json_to)
