"""`narrate score`: how well findings are found, measured on cases."""

from pathlib import Path

import click

from narrate.cli.options import json_option, model_option
from narrate.cli.printing import count, say, write_record
from narrate.cli.progress import progress_bar


@click.command("score", short_help="Measure on cases how well it finds.")
@click.argument("cases", metavar="CASES", type=click.Path(exists=True, path_type=Path))
@click.option(
    "--audio",
    type=click.Path(exists=True, file_okay=False, path_type=Path),
    help="Folder of recordings, each named after its case: listen to them instead of reading the text.",
)
@model_option
@json_option
def score_command(cases: Path, audio: Path | None, model: str | None, json_to: str | None) -> None:
    """Measure on cases (a .toml file, or a folder of them) how much is found, and how much of it is right.

    A file is one case, or a list of them under [[case]]. Beside whole findings and their fields, each with its
    own figure and its 95% interval: amounts, prices, codes, links to concerns (stated, suggested), reasons,
    consequences, timing, tests, part options, urgency, the heading (order, vehicle, technician) and where a
    second vehicle begins. What went wrong is listed case by case, except for cases in a folder named judge.
    """
    import json

    from narrate.score.place import score_place
    from narrate.score.report import score_json, score_text
    from narrate.words.load import load_lexicon
    from narrate.work.choices import choose

    settings, _ = choose(model=model)
    with progress_bar() as bar:
        score, without = score_place(cases, settings=settings, lexicon=load_lexicon(), audio=audio, progress=bar.count)
    if without:
        say(f"{count(len(without), 'case')} left out for want of a recording: {', '.join(without)}.")
    if json_to:
        write_record(json.dumps(score_json(score), indent=2), json_to)
    if json_to != "-":
        click.echo(score_text(score))
