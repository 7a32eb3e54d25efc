"""The file of the shop's own words: a CSV in its data folder, the same that is exported and imported."""

import csv
import io
import logging
import re
from pathlib import Path
from typing import NamedTuple, get_args

from narrate.errors import NarrateError
from narrate.settings import data_folder
from narrate.words import load
from narrate.words.lexicon import Lexicon
from narrate.words.meanings import Kind, OwnWord, tidy
from narrate.words.overlay import OwnWords, lay_over

COLUMNS = ("words", "component", "kind", "needs_context", "note")
NEEDED = COLUMNS[:3]
ANSWERS = {"": False, "no": False, "false": False, "yes": True, "true": True}
_KINDS = {kind: kind for kind in get_args(Kind)}
# A spreadsheet runs what begins like this. The mark before it is taken off again, so it must be marked itself.
_FORMULA = re.compile(r"'*[=+\-@＝＋－＠]")
_GUARDED = re.compile(r"'+[=+\-@＝＋－＠]")
_log = logging.getLogger(__name__)


class Row(NamedTuple):
    """A row of the file: its number as a spreadsheet shows it, and the own word or what is wrong."""

    number: int
    own: OwnWord | None
    wrong: str = ""


def shop_lexicon(data: Path | None = None) -> Lexicon:
    """narrate's own lexicon with the shop's own words laid over it.

    A word that no longer fits, after an update say, is left out and told of; it stops no work.
    Raises NarrateError if the file cannot be read.
    """
    lexicon = load.load_lexicon()
    own_words = read_own_words(data)
    if not own_words:
        return lexicon
    laid = lay_over(lexicon, own_words)
    for refusal in laid.refusals:
        if refusal and not refusal.idle:
            _log.warning("One of the shop's own words is left out. %s", refusal.why)
    return laid.lexicon


def own_words_file(data: Path | None = None) -> Path:
    """Where the shop's own words are kept; there may be none yet."""
    return data_folder(data) / "words.csv"


def read_own_words(data: Path | None = None) -> OwnWords:
    """Return the shop's own words, whether they fit the lexicon or not; raises NarrateError for a damaged file."""
    file = own_words_file(data)
    try:
        content = file.read_bytes()
    except (FileNotFoundError, NotADirectoryError):
        return ()
    except OSError as error:
        message = f"{file} cannot be read ({error.strerror}); check its permissions."
        raise NarrateError(message) from error
    return _right(file.name, str(file), own_rows(content, str(file)), "correct it")


def imported(content: bytes, name: str, lexicon: Lexicon) -> OwnWords:
    """Return the own words in a CSV; raises NarrateError with every bad row, and then none is to be taken over."""
    rows = own_rows(content, name)
    whole = [row.own for row in rows if row.own]
    refusals = iter(lay_over(lexicon, tuple(whole)).refusals)
    judged = []
    for row in rows:
        refusal = next(refusals) if row.own else None
        judged.append(Row(row.number, None, refusal.why) if refusal else row)
    return _right(name, name, judged, "nothing was taken over")


def own_rows(content: bytes, name: str) -> list[Row]:
    """Read the rows of a CSV as a spreadsheet may have saved it; raises NarrateError if it is none of own words."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        message = f"{name} is not in UTF-8; save it again as 'CSV UTF-8'."
        raise NarrateError(message) from error
    heading = text.splitlines()[0] if text else ""
    delimiter = max(",;\t", key=heading.count)
    try:
        lines = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    except csv.Error as error:
        message = f"{name} is not a CSV file that can be read ({error}); save it again as 'CSV UTF-8'."
        raise NarrateError(message) from error
    columns = [cell.strip().lower() for cell in lines[0]] if lines else []
    while columns and not columns[-1]:
        columns.pop()
    if not set(NEEDED) <= set(columns) or len(set(columns)) < len(columns) or not set(columns) <= set(COLUMNS):
        message = f"{name} must begin with a row naming the columns {', '.join(COLUMNS)} (the last two may be missing)."
        raise NarrateError(message)
    return [_row(number, columns, cells) for number, cells in enumerate(lines[1:], 2) if any(map(str.strip, cells))]


def own_words_csv(own_words: OwnWords) -> bytes:
    """The file of own words; it carries the mark by which spreadsheets know UTF-8."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for own in own_words:
        context = "yes" if own.needs_context else ""
        writer.writerow([_guarded(own.words), own.means, own.kind, context, _guarded(own.note)])
    return stream.getvalue().encode("utf-8-sig")


def tidy_note(text: str) -> str:
    """A note on one line, of characters that can be shown.

    >>> tidy_note(" Kev says\\n it ")
    'Kev says it'
    """
    return " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())


def _row(number: int, columns: list[str], cells: list[str]) -> Row:
    if any(map(str.strip, cells[len(columns) :])):
        return Row(number, None, f"there are more cells than the {len(columns)} columns; put what is left over away.")
    values = {column: _unguarded(cell.strip()) for column, cell in zip(columns, cells, strict=False)}
    kind = _KINDS.get(values.get("kind", "").lower())
    if kind is None:
        return Row(number, None, f"kind is '{values.get('kind', '')}'; write one of {', '.join(_KINDS)}.")
    context = ANSWERS.get(values.get("needs_context", "").lower())
    if context is None:
        return Row(number, None, f"needs_context is '{values['needs_context']}'; write yes or leave it empty.")
    missing = next((column for column in ("words", "component") if not values.get(column)), None)
    if missing:
        return Row(number, None, f"{missing} is empty; fill it in or take the row out.")
    own = OwnWord(
        words=tidy(values["words"]),
        means=values["component"],
        kind=kind,
        needs_context=context,
        note=tidy_note(values.get("note", "")),
    )
    return Row(number, own)


def _right(name: str, place: str, rows: list[Row], what: str) -> OwnWords:
    wrong = [row for row in rows if row.wrong]
    if wrong:
        count = f"{len(wrong)} wrong row{'' if len(wrong) == 1 else 's'}"
        lines = (f"  {name} row {row.number}: {row.wrong}" for row in wrong)
        raise NarrateError("\n".join((f"{place} has {count}; {what}:", *lines)))
    return tuple(row.own for row in rows if row.own)


def _guarded(text: str) -> str:
    return f"'{text}" if _FORMULA.match(text) else text


def _unguarded(text: str) -> str:
    return text[1:] if _GUARDED.match(text) else text
