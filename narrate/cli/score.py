"""`narrate score`: how well findings are found, measured on cases."""

from pathlib import Path

import click

from narrate.cli.options import device_option, json_option, model_option
from narrate.cli.printing import count, say, show_notices, write_record
from narrate.cli.progress import progress_bar

SHOW = "-"
"""Stands for: show the sentences to read."""


@click.command("score", short_help="Measure on cases how well it finds.")
@click.argument("cases", metavar="[CASES]", required=False, type=click.Path(exists=True, path_type=Path))
@click.option(
    "--audio",
    type=click.Path(exists=True, file_okay=False, path_type=Path),
    help="Folder of recordings, each named after its case: listen to them instead of reading the text.",
)
@click.option(
    "--read",
    "read",
    metavar="[FILE]",
    is_flag=False,
    flag_value=SHOW,
    help="Without FILE, print 40 sentences to read aloud into any recorder; with the recording, score it.",
)
@model_option
@device_option
@json_option
def score_command(
    cases: Path | None,
    audio: Path | None,
    read: str | None,
    model: str | None,
    device: str | None,
    json_to: str | None,
) -> None:
    """Measure on cases (a .toml file, or a folder of them) how much is found, and how much of it is right.

    A file is one case, or a list of them under [[case]]. Beside whole findings and their fields, each with its
    own figure and its 95% interval: amounts, prices, codes, links to concerns (stated, suggested), reasons,
    consequences, timing, tests, part options, urgency, the heading (order, vehicle, technician) and where a
    second vehicle begins. What went wrong is listed case by case, except for cases in a folder named judge.

    With --read no cases are needed: it tells in five minutes how well narrate hears your voice and microphone.
    """
    import json

    if read is not None:
        score_reading(read, model, device, json_to)
        return
    if cases is None:
        message = "Name a case file or a folder of them; or use --read to measure how well your voice is heard."
        raise click.UsageError(message)

    from narrate.score.place import score_place
    from narrate.score.report import score_json, score_text
    from narrate.words.load import load_lexicon
    from narrate.work.choices import choose

    settings, _ = choose(model=model, device=device)
    with progress_bar() as bar:
        score, without = score_place(cases, settings=settings, lexicon=load_lexicon(), audio=audio, progress=bar.count)
    if without:
        say(f"{count(len(without), 'case')} left out for want of a recording: {', '.join(without)}.")
    if json_to:
        write_record(json.dumps(score_json(score), indent=2), json_to)
    if json_to != "-":
        click.echo(score_text(score))


def score_reading(read: str, model: str | None, device: str | None, json_to: str | None) -> None:
    """Print the sentences to read aloud, or score a recording of them."""
    import json
    from dataclasses import asdict

    from narrate.pipeline import hear_recordings
    from narrate.score.reading import compare_reading, reading_list, reading_text
    from narrate.words.load import load_lexicon
    from narrate.work.choices import choose

    sentences = reading_list()
    if read == SHOW:
        say(f"Read these {len(sentences)} sentences aloud where you work, then run: narrate score --read RECORDING")
        click.echo("\n".join(f"{number:2}  {sentence}" for number, sentence in enumerate(sentences, 1)))
        return
    settings, _ = choose(model=model, device=device)
    lexicon, path = load_lexicon(), Path(read)
    with progress_bar() as bar:
        (recording,) = hear_recordings(
            [path],
            settings=settings,
            lexicon=lexicon,
            progress=lambda done_s, total_s: bar.show(path.name, done_s, total_s),
        )
    show_notices((recording,))
    result = compare_reading(sentences, recording, lexicon)
    if json_to:
        write_record(json.dumps({"schema": "narrate.reading/1", **asdict(result)}, indent=2), json_to)
    if json_to != "-":
        click.echo(reading_text(result, recording))
