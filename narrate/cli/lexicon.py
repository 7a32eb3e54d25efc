"""`narrate lexicon`: check the words, try them on a sentence, and keep the shop's own."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from narrate.cli.failure import Failure
from narrate.cli.options import READABLE, data_option, json_option, vehicle_options
from narrate.cli.printing import count, print_table, say, show_walkaround

if TYPE_CHECKING:
    from narrate.words.overlay import OwnWords

note_option = click.option("--note", default="", help="Why, for whoever reads the list later.")


@click.group("lexicon", short_help="The words narrate knows, and the shop's own.")
def lexicon_group() -> None:
    """Check the words narrate knows, try them on a sentence, and add the shop's own.

    The shop's own words are one list in its data folder: what it adds to narrate's words and what it hides of
    them. Words that mean something already never mean something else before they are hidden there.
    """


@lexicon_group.command("check")
@click.argument("folder", required=False, type=click.Path(exists=True, file_okay=False, path_type=Path))
@data_option
def check_command(folder: Path | None, data: Path | None) -> None:
    """Check a lexicon folder, or narrate's own with the shop's words: mistakes, then what may surprise someone.

    Mistakes exit with 1, warnings do not.
    """
    from narrate.words.lint import lint
    from narrate.words.load import load_lexicon
    from narrate.words.overlay import lay_over
    from narrate.words.rules import load_rules
    from narrate.words.shop import read_own_words

    lexicon = load_lexicon(folder)
    rules = folder and folder / "rules"
    if rules is None or rules.is_dir():
        load_rules(lexicon, rules)
    lexicon, refusals = lay_over(lexicon, () if folder else read_own_words(data))
    remarks = lint(lexicon)
    lines = [f"error: the shop's own words: {refusal.why}" for refusal in refusals if refusal and not refusal.idle]
    lines += [f"{remark.level}: {remark.place}: {remark.message}" for remark in remarks]
    for line in lines:
        click.echo(line)
    errors = sum(line.startswith("error: ") for line in lines)
    say(
        f"{count(len(lexicon.components), 'component')}, {count(len(lexicon.conditions), 'condition')}, "
        f"{count(len(lexicon.actions), 'action')}; {count(errors, 'error')}, "
        f"{count(len(lines) - errors, 'warning')}."
    )
    if errors:
        message = "The lexicon has errors; correct the entries named."
        raise Failure(message)


@lexicon_group.command("try")
@click.argument("text")
@vehicle_options
@data_option
@json_option
def try_command(text: str, market: str | None, drive_side: str | None, data: Path | None, json_to: str | None) -> None:
    """Show what a sentence becomes, the shop's own words included."""
    from narrate.find.mining import text_recording
    from narrate.pipeline import process_words
    from narrate.words.shop import shop_lexicon
    from narrate.work.choices import choose

    settings, _ = choose(market=market, drive_side=drive_side)
    recording = text_recording(text)
    show_walkaround(process_words([recording], settings=settings, lexicon=shop_lexicon(data)), json_to)


@lexicon_group.command("add")
@click.argument("words")
@click.argument("means", metavar="ID")
@click.option("--heard", is_flag=True, help="It is what recognition writes for the part, not what people call it.")
@click.option("--needs-context", is_flag=True, help="Count it only beside other car talk, as everyday words must.")
@note_option
@data_option
def add_command(words: str, means: str, heard: bool, needs_context: bool, note: str, data: Path | None) -> None:
    """Add words for a component, a condition or an action, told by its ID (sway_bar_link).

    Words that were hidden from it mean it again. Try them with 'narrate lexicon try'.
    """
    from narrate.words.load import load_lexicon
    from narrate.words.meanings import OwnWord, tidy
    from narrate.words.overlay import add
    from narrate.words.shop import read_own_words, tidy_note

    own = OwnWord(
        words=tidy(words),
        means=means.strip(),
        kind="heard" if heard else "alias",
        needs_context=needs_context,
        note=tidy_note(note),
    )
    _keep(add(load_lexicon(), read_own_words(data), own), data)
    say(f"'{own.words}' now means {own.means}.")


@lexicon_group.command("hide")
@click.argument("words")
@click.argument("means", metavar="ID")
@note_option
@data_option
def hide_command(words: str, means: str, note: str, data: Path | None) -> None:
    """Hide words from a component, a condition or an action: they no longer mean it.

    Hiding what the shop added takes it off the list; adding what is hidden brings it back.
    """
    from narrate.words.load import load_lexicon
    from narrate.words.meanings import OwnWord, tidy
    from narrate.words.overlay import hide, lay_over, still_inside
    from narrate.words.shop import read_own_words, tidy_note

    lexicon = load_lexicon()
    own = OwnWord(words=tidy(words), means=means.strip(), kind="hide", note=tidy_note(note))
    own_words = hide(lexicon, read_own_words(data), own)
    _keep(own_words, data)
    say(f"'{own.words}' no longer means {own.means}.")
    inside = still_inside(lay_over(lexicon, own_words).lexicon, own)
    if inside:
        say(f"Whoever says it may still be understood so: '{inside}' in it means {own.means} too.")


@lexicon_group.command("list")
@data_option
def list_command(data: Path | None) -> None:
    """List the shop's own words, and which of them do not count and why."""
    from narrate.words.load import load_lexicon
    from narrate.words.overlay import lay_over
    from narrate.words.shop import own_words_file, read_own_words

    own_words = read_own_words(data)
    if not own_words:
        say(f"The shop has no words of its own in {own_words_file(data)}; 'narrate lexicon add' adds some.")
        return
    refusals = lay_over(load_lexicon(), own_words).refusals
    rows = [
        (own.words, own.means, own.kind, _yes(own.needs_context), _yes(refusal is None) or "no", own.note)
        for own, refusal in zip(own_words, refusals, strict=True)
    ]
    print_table(("Words", "ID", "Kind", "Needs context", "Counts", "Note"), rows)
    for refusal in filter(None, refusals):
        say(f"One does not count. {refusal.why}")


@lexicon_group.command("export")
@click.argument("file", metavar="FILE.csv", type=click.Path(dir_okay=False, path_type=Path))
@data_option
def export_command(file: Path, data: Path | None) -> None:
    """Write the shop's own words as CSV, to be edited in a spreadsheet and imported again."""
    from narrate.atomic import write_atomically
    from narrate.words.shop import own_words_csv, read_own_words

    own_words = read_own_words(data)
    write_atomically(file, own_words_csv(own_words))
    say(f"{_lines(own_words)} written to {file}.")


@lexicon_group.command("import")
@click.argument("file", metavar="FILE.csv", type=READABLE)
@data_option
def import_command(file: Path, data: Path | None) -> None:
    """Replace the shop's own words by those of a CSV, if every row of it is right.

    Columns: words, component (or the id of a condition or an action), kind (alias, heard or hide) and, if
    wanted, needs_context (yes or empty) and note.
    """
    from narrate.words.load import load_lexicon
    from narrate.words.shop import imported, read_own_words

    before = read_own_words(data)
    own_words = imported(file.read_bytes(), str(file), load_lexicon())
    _keep(own_words, data)
    new, gone = set(own_words) - set(before), set(before) - set(own_words)
    say(f"{_lines(own_words)} taken over from {file}: {len(new)} new, {len(gone)} gone.")


def _keep(own_words: "OwnWords", data: Path | None) -> None:
    """Write the shop's own words into its data folder."""
    from narrate.atomic import write_atomically
    from narrate.errors import NarrateError
    from narrate.words.shop import own_words_csv, own_words_file

    file = own_words_file(data)
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        message = f"{file.parent} cannot be made ({error.strerror}); name another folder with --data."
        raise NarrateError(message) from error
    write_atomically(file, own_words_csv(own_words))


def _yes(answer: bool) -> str:
    return "yes" if answer else ""


def _lines(own_words: "OwnWords") -> str:
    return f"{count(len(own_words), 'line')} of the shop's own words"
