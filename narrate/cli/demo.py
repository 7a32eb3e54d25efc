"""`narrate demo`: the tour on a sample recording."""

from pathlib import Path

import click

from narrate.cli.options import FOLDER
from narrate.cli.printing import say, show_walkaround
from narrate.cli.progress import progress_bar

MODEL = "base"
SAMPLE = "compact_brakes_tires.ogg"
BOOK = "demo_book.csv"


@click.command("demo", short_help="See it work on a sample recording.")
@click.option("--to", type=FOLDER, default=Path("findings"), show_default=True, help="Folder for the files.")
def demo_command(to: Path) -> None:
    """Listen to a sample recording, print what is found in it, price it and write the files.

    The price book of the demo is invented, so the estimate is an example only.
    """
    from narrate.cli.estimate import tell, write_priced
    from narrate.errors import NarrateError
    from narrate.export.files import export_walkaround
    from narrate.pipeline import process_recordings
    from narrate.settings import project_folder
    from narrate.words.load import load_lexicon
    from narrate.work.choices import choose

    sample = project_folder("sample_audio") / SAMPLE
    if not sample.is_file():
        message = f"The sample recording {sample} is missing; install narrate again."
        raise NarrateError(message)
    settings, _ = choose(model=MODEL)
    say(f"Listening to {sample.name} with the model {MODEL} …")
    with progress_bar() as bar:
        walkaround = process_recordings(
            [sample],
            settings=settings,
            lexicon=load_lexicon(),
            progress=lambda done_s, total_s: bar.show(sample.name, done_s, total_s),
        )
    show_walkaround(walkaround, None)
    paths = export_walkaround(walkaround, to)
    say(f"Written to {to}: {', '.join(path.name for path in paths)}.")
    say("Pricing it by the demo book, whose figures are invented …")
    tell(write_priced(walkaround, project_folder("lexicon") / "prices" / BOOK, to))
