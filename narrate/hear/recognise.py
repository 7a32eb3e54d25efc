"""A file in, a Recording out: decode, find speech, recognise it with hints, hear doubtful windows again."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path

import numpy as np

from narrate.hear.audio import RATE, Samples, decode
from narrate.hear.digests import sha256_of
from narrate.hear.guard import better, fault, truly_repeated, without_repeats
from narrate.hear.hints import SEPARATOR, fitting_hints
from narrate.hear.languages import language_name
from narrate.hear.level import measure
from narrate.hear.recogniser import Heard, Recogniser, Stretch, cut_windows
from narrate.hear.whisper_engine import load_engine
from narrate.records.recording import HeardAgain, Recording, Signal, Word
from narrate.settings import Settings

Progress = Callable[[float, float], None]
"""Called with seconds done and seconds in all."""

LANGUAGE_SAMPLE_S = 30
SURE_OF_LANGUAGE = 0.8
"""Below this probability another language is not believed: noise and accents look like rare ones."""
NOISY_DB = 10.0
"""Below this, part names are lost even with hints."""
CLIPPED_SHARE = 0.001


@dataclass(frozen=True, kw_only=True)
class Transcript:
    """What was heard in samples: the part of a Recording that needs no file."""

    words: tuple[Word, ...]
    heard_again: tuple[HeardAgain, ...]
    notices: tuple[str, ...]
    language: str | None
    minable: bool
    signal: Signal
    hints: tuple[str, ...]
    """The hints that were given, which may be fewer than those wanted."""


def hear(
    path: Path,
    *,
    settings: Settings,
    hints: tuple[str, ...] = (),
    model: str | None = None,
    progress: Progress | None = None,
    recording_id: str = "r1",
) -> Recording:
    """Return what is said in an audio or video file.

    hints: part names to listen for, the most important first. model: a name or folder instead of the
    settings' own. Raises AudioError for a file that cannot be used, ModelError for a missing model.
    """
    sound = decode(path, min_duration_s=settings.min_duration_s, max_duration_s=settings.max_duration_s)
    recogniser = load_engine(settings, model=model)
    transcript = transcribe_samples(sound.samples, recogniser, hints=hints if settings.hints else (), progress=progress)
    name = Path(model or settings.model).name
    return Recording(
        id=recording_id,
        name=path.name,
        sha256=sha256_of(path),
        duration_s=round(sound.duration_s, 3),
        recorded_at=sound.recorded_at,
        model=name,
        language=transcript.language,
        signal=transcript.signal,
        words=transcript.words,
        heard_again=transcript.heard_again,
        notices=(*sound.notices, *transcript.notices),
        minable=transcript.minable,
        settings={
            "engine": f"faster-whisper {version('faster-whisper')}",
            "model": name,
            "compute_type": settings.compute_type,
            "beam_size": str(settings.beam_size),
            "hints": SEPARATOR.join(transcript.hints),
        },
    )


def transcribe_samples(
    samples: Samples,
    recogniser: Recogniser,
    *,
    hints: Sequence[str] = (),
    progress: Progress | None = None,
) -> Transcript:
    """Return what is said in samples (float32, mono, 16 kHz) by any engine."""
    stretches = recogniser.speech(samples)
    signal = measure(samples, stretches)
    language = _language(samples, stretches, recogniser) if stretches else None
    english = language in ("en", None)
    given = fitting_hints(hints, recogniser.count_tokens) if english else ()
    words, again = _listen(samples, stretches, recogniser, language or "en", given, progress)
    return Transcript(
        words=words,
        heard_again=again,
        notices=_notices(words, language, signal),
        language=language if words else None,
        minable=bool(words) and english,
        signal=signal,
        hints=given,
    )


def _listen(
    samples: Samples,
    stretches: Sequence[Stretch],
    recogniser: Recogniser,
    language: str,
    hints: Sequence[str],
    progress: Progress | None,
) -> tuple[tuple[Word, ...], tuple[HeardAgain, ...]]:
    """Recognise all speech; return the words in order and the windows that were heard again."""
    total_s = samples.size / RATE
    words: list[Word] = []
    again: list[HeardAgain] = []
    windows = cut_windows(stretches)
    for heard in recogniser.listen(samples, windows, language=language, hints=SEPARATOR.join(hints)):
        kept, note = _judged(heard, samples, recogniser, language, hints)
        words += kept
        again += [note] if note else []
        if progress:
            progress(heard.end_s, total_s)
    if progress:
        progress(total_s, total_s)
    return tuple(words), tuple(again)


def _judged(
    first: Heard, samples: Samples, recogniser: Recogniser, language: str, hints: Sequence[str]
) -> tuple[tuple[Word, ...], HeardAgain | None]:
    """Return the words of one window; where they are incredible it is heard again and the better kept."""
    why = fault(first, hints)
    if why is None:
        return first.words, None
    second = recogniser.listen_again(samples, (first.start_s, first.end_s), language=language)
    kept = better(first, second, hints)
    words = {"first": first.words, "second": second.words, "neither": ()}[kept]
    if not truly_repeated(first, second):
        words = without_repeats(words)
    return words, HeardAgain(start_s=round(first.start_s, 2), end_s=round(first.end_s, 2), why=why, kept=kept)


def _language(samples: Samples, stretches: Sequence[Stretch], recogniser: Recogniser) -> str:
    """Return the language spoken; English unless another is heard surely from beginning to end."""
    if recogniser.english_only:
        return "en"
    language = "en"
    spoken_s = sum(end_s - start_s for start_s, end_s in stretches)
    # A greeting in another language must not cost the whole walk-round, so the middle and end count too.
    for position in (0.0, 0.5, 1.0) if spoken_s > LANGUAGE_SAMPLE_S else (0.0,):
        language, probability = recogniser.language(_sample(samples, stretches, position))
        if language == "en" or probability < SURE_OF_LANGUAGE:
            return "en"
    return language


def _sample(samples: Samples, stretches: Sequence[Stretch], position: float) -> Samples:
    """Return up to 30 s of speech from the first stretch (0.0) to the last (1.0)."""
    spoken_s = sum(end_s - start_s for start_s, end_s in stretches)
    skip_s = max(spoken_s - LANGUAGE_SAMPLE_S, 0.0) * position
    parts: list[Samples] = []
    left_s = float(LANGUAGE_SAMPLE_S)
    for start_s, end_s in stretches:
        skipped_s = min(skip_s, end_s - start_s)
        skip_s -= skipped_s
        taken_s = min(end_s - start_s - skipped_s, left_s)
        left_s -= taken_s
        begin = int((start_s + skipped_s) * RATE)
        parts.append(samples[begin : begin + int(taken_s * RATE)])
    return np.concatenate(parts)


def _notices(words: Sequence[Word], language: str | None, signal: Signal) -> tuple[str, ...]:
    """Return what a person should know, one sentence each."""
    if not words:
        return ("No speech was heard.",)
    notices = []
    if language not in ("en", None):
        name = language_name(str(language))
        notices.append(f"This sounds like {name}; narrate reads English only, so nothing was searched.")
    if signal.speech_to_noise_db is not None and signal.speech_to_noise_db < NOISY_DB:
        notices.append("The sound is noisy, so part names may be misheard; check the words against it.")
    if signal.clipped > CLIPPED_SHARE:
        notices.append("The sound is clipped; hold the microphone farther away next time.")
    return tuple(notices)
