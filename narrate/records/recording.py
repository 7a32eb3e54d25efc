"""Recording: what was heard, word by word, and by which model."""

from pydantic import Field

from narrate.records.base import Kept
from narrate.records.capture import Gap


class Word(Kept):
    """One word as the recogniser wrote it, punctuation included.

    `start_s` and `end_s` are seconds from the start of the recording; `probability` (0 to 1) is the mean
    over the word's tokens. All three are None for text that came without audio.
    """

    text: str
    start_s: float | None = None
    end_s: float | None = None
    probability: float | None = None


class Signal(Kept):
    """How clean the sound is."""

    speech_to_noise_db: float | None = None
    """Level of speech over the level between words, decibels; None where it cannot be told."""
    clipped: float = 0.0
    """Share of samples at full scale, 0 to 1."""


class Poor(Kept):
    """A stretch that was hard to hear, and why in plain words."""

    start_s: float
    end_s: float
    why: str


class HeardAgain(Kept):
    """A stretch the guard had recognised a second time, and which hearing was kept."""

    start_s: float
    end_s: float
    why: str
    """`loop`, `echo of the hints`, `improbable`, `speech without words`, `doubtful words` or `words that went missing
    with hints`."""
    kept: str
    """`first`, `second` or `neither`."""


class Recording(Kept):
    """One recording and the words heard in it. Evidence counts these words; they never change."""

    id: str = "r1"
    name: str
    sha256: str | None = None
    """Of the original file's bytes, 64 hexadecimal digits."""
    duration_s: float | None = None
    recorded_at: str | None = None
    """ISO 8601, from the file's own metadata."""
    model: str | None = None
    language: str | None = None
    """ISO 639-1 code of the language heard."""
    signal: Signal = Signal()
    words: tuple[Word, ...] = ()
    heard_again: tuple[HeardAgain, ...] = ()
    poor: tuple[Poor, ...] = ()
    """Where words may be wrong or missing because of the sound."""
    gaps: tuple[Gap, ...] = ()
    """Where nothing was recorded although it went on later."""
    notices: tuple[str, ...] = ()
    """What a person should know: broke off early, no speech, another language. One sentence each."""
    minable: bool = True
    """False when the words must not be searched for findings (no speech, or another language)."""
    settings: dict[str, str] = Field(default_factory=dict)
    """What the recogniser was told: model, compute type, beam, hints, …"""
