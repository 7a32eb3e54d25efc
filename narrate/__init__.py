"""From a technician's spoken walk-round to a findings list that can be priced.

    >>> import narrate
    >>> walkaround = narrate.find_in_text("front brake pads are worn out, replace them")
    >>> [finding.component.name for finding in walkaround.findings]
    ['brake pad']

Nothing heavy is imported before one of these functions is called.
"""

from os import PathLike
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from pathlib import Path

    from narrate.records.recording import Recording
    from narrate.records.walkaround import Walkaround
    from narrate.score.run import Score
    from narrate.words.lexicon import Lexicon

__all__ = [
    "export_walkaround",
    "find_in_text",
    "load_lexicon",
    "process_recording",
    "score_cases",
    "transcribe_recording",
]

AnyPath = str | PathLike[str]
Market = Literal["us", "gb", "eu"]
Side = Literal["left", "right"]


def transcribe_recording(path: AnyPath, *, model: str | None = None) -> "Recording":
    """What is said in a recording, word by word with times and probabilities."""
    from pathlib import Path

    from narrate.hear.recognise import hear
    from narrate.settings import load_settings
    from narrate.words.load import load_lexicon

    return hear(Path(path), settings=load_settings(), hints=load_lexicon().hints, model=model)


def find_in_text(text: str, *, market: Market | None = None, drive_side: Side | None = None) -> "Walkaround":
    """What needs doing according to words that were typed or transcribed elsewhere."""
    from narrate.find.mining import text_recording
    from narrate.pipeline import process_words
    from narrate.words.load import load_lexicon
    from narrate.work.choices import choose

    settings, _ = choose(market=market, drive_side=drive_side)
    return process_words([text_recording(text)], settings=settings, lexicon=load_lexicon())


def process_recording(
    *paths: AnyPath, model: str | None = None, market: Market | None = None, drive_side: Side | None = None
) -> "Walkaround":
    """What needs doing according to one recording, or several of the same vehicle."""
    from pathlib import Path

    from narrate.pipeline import process_recordings
    from narrate.words.load import load_lexicon
    from narrate.work.choices import choose

    settings, _ = choose(market=market, drive_side=drive_side, model=model)
    return process_recordings([Path(path) for path in paths], settings=settings, lexicon=load_lexicon())


def export_walkaround(walkaround: "Walkaround", folder: AnyPath) -> "tuple[Path, ...]":
    """Write a walkaround as CSV, XLSX, JSON and HTML into a folder, made if it is missing."""
    from pathlib import Path

    from narrate.export.files import export_walkaround as export

    return export(walkaround, Path(folder))


def load_lexicon(folder: AnyPath | None = None) -> "Lexicon":
    """The words of a lexicon folder, or narrate's own, checked."""
    from pathlib import Path

    from narrate.words.load import load_lexicon as load

    return load(Path(folder) if folder is not None else None)


def score_cases(cases: AnyPath, *, audio: AnyPath | None = None, model: str | None = None) -> "Score":
    """How well the cases of a file or folder are found, from their text or from recordings in `audio`."""
    from pathlib import Path

    from narrate.score.place import score_place
    from narrate.words.load import load_lexicon
    from narrate.work.choices import choose

    settings, _ = choose(model=model)
    folder = Path(audio) if audio is not None else None
    score, _without = score_place(Path(cases), settings=settings, lexicon=load_lexicon(), audio=folder)
    return score
