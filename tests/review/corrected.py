"""A walkaround found from words, and corrections made to it, for the tests of corrections."""

from collections.abc import Sequence
from datetime import date
from functools import cache
from typing import Any

from narrate.find.mining import text_recording
from narrate.pipeline import judge_walkaround, process_words
from narrate.records.recording import Recording
from narrate.records.walkaround import Finding, Walkaround
from narrate.review.corrections.applying import apply
from narrate.review.corrections.asked import parse
from narrate.settings import Settings
from narrate.words.lexicon import Lexicon
from narrate.words.load import load_lexicon

AT = "2026-11-27T09:50:00.000Z"
SAID = (
    "Customer says it grinds when braking. Front brake pads are worn, three millimeters on the left and four on the "
    "right, replace them. Left rear shock is leaking, replace. Cabin filter is fine. "
    "Serpentine belt is cracked, about eighty dollars."
)


@cache
def lexicon() -> Lexicon:
    """The lexicon that narrate comes with."""
    return load_lexicon()


def again(walkaround: Walkaround) -> Walkaround:
    """Judged by the default settings, on a fixed day."""
    return judge_walkaround(walkaround, settings=Settings(), lexicon=lexicon(), today=date(2026, 11, 27))


def find(recordings: Sequence[Recording]) -> Walkaround:
    """Found by the default settings."""
    return process_words(recordings, settings=Settings(), lexicon=lexicon())


@cache
def found(*texts: str) -> Walkaround:
    """What is found in texts, one recording each; records are frozen, so one serves all tests."""
    recordings = [
        text_recording(text).model_copy(update={"id": f"r{n}", "sha256": f"{n}{hash(text):x}"})
        for n, text in enumerate(texts or (SAID,), 1)
    ]
    return find(recordings)


def corrected(walkaround: Walkaround, do: str, *, by: str = "Ann", **keys: Any) -> Walkaround:
    """The walkaround after one correction as the page asks for it."""
    asked = parse({"do": do, **keys})
    return apply(walkaround, asked, lexicon=lexicon(), by=by, at=AT, again=again, find=find)


def of(walkaround: Walkaround, component: str) -> Finding:
    """The one finding of a component."""
    [finding] = [f for f in walkaround.findings if f.component.id == component and f.review.state != "dropped"]
    return finding


def word(walkaround: Walkaround, text: str, recording: int = 0) -> int:
    """The number of the first word that begins so."""
    words = walkaround.recordings[recording].words
    return next(n for n, each in enumerate(words) if each.text.lower().startswith(text))


def confirmed(walkaround: Walkaround) -> Walkaround:
    """Every finding confirmed."""
    return corrected(walkaround, "confirm", findings=[f.id for f in walkaround.findings])
