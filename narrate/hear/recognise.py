"""A file in, a Recording out: decode, find speech, recognise it with hints, hear again what is doubtful."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path

from narrate.hear.audio import RATE, Samples, decode
from narrate.hear.clock import clock
from narrate.hear.digests import sha256_of
from narrate.hear.gaps import find_gaps, put_in
from narrate.hear.guard import WORDLESS, better, credible_alone, fault, truly_repeated, without_repeats
from narrate.hear.hints import SEPARATOR, fitting_hints
from narrate.hear.languages import language_name
from narrate.hear.level import CLIPPED, CLIPPED_SHARE, NOISY, NOISY_DB, is_loud, measure, poor_stretches
from narrate.hear.recogniser import Heard, Recogniser, Stretch, cut_windows, with_margins
from narrate.hear.whisper_engine import load_engine
from narrate.records.recording import HeardAgain, Poor, Recording, Signal, Word
from narrate.settings import Settings

Progress = Callable[[float, float], None]
"""Called with seconds done and seconds in all."""

COVERED = (
    "No speech was heard, and the sound is loud: if somebody spoke, noise covered it; record it again with the "
    "microphone close to the mouth."
)
HARDLY = "words hardly made out"
"""Why a stretch is poor whose words the recogniser itself doubts."""
MOST_SPANS = 4
"""Poor stretches named one by one."""
SURE_OF_LANGUAGE = 0.8
"""Below this probability another language is not believed: noise and accents look like rare ones."""


@dataclass(frozen=True, kw_only=True)
class Transcript:
    """What was heard in samples: the part of a Recording that needs no file."""

    words: tuple[Word, ...]
    heard_again: tuple[HeardAgain, ...]
    notices: tuple[str, ...]
    language: str | None
    minable: bool
    signal: Signal
    poor: tuple[Poor, ...]
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
        poor=transcript.poor,
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
    speech = recogniser.speech(samples)
    stretches = with_margins(speech, samples.size / RATE)
    windows = cut_windows(stretches)
    signal = measure(samples, stretches)
    language = _language(samples, windows, recogniser) if windows else None
    english = language in ("en", None)
    given = fitting_hints(hints, recogniser.count_tokens) if english else ()
    listener = _Listener(samples=samples, recogniser=recogniser, language=language or "en", hints=given)
    words, again = listener.listen(windows, speech, progress)
    poor = _in_order(poor_stretches(samples, stretches), again)
    return Transcript(
        words=words,
        heard_again=again,
        notices=(
            *_notices(words, again, language, signal, loud=not words and is_loud(samples)),
            *(_poor_notices(poor, signal) if words and english else ()),
        ),
        language=language if words else None,
        minable=bool(words) and english,
        signal=signal,
        poor=poor,
        hints=given,
    )


@dataclass(frozen=True, kw_only=True)
class _Listener:
    """What is the same for every window of one recording."""

    samples: Samples
    recogniser: Recogniser
    language: str
    hints: Sequence[str]

    def listen(
        self, windows: Sequence[Stretch], speech: Sequence[Stretch], progress: Progress | None
    ) -> tuple[tuple[Word, ...], tuple[HeardAgain, ...]]:
        """Recognise all windows; return the words in order and the stretches that were heard again."""
        total_s = self.samples.size / RATE
        words: list[Word] = []
        again: list[HeardAgain] = []
        hints = SEPARATOR.join(self.hints)
        for heard in self.recogniser.listen(self.samples, windows, language=self.language, hints=hints):
            why = fault(heard, self.hints)
            kept, notes = self._judged(heard, why) if why else self._filled(heard, speech)
            words += kept
            again += notes
            if progress:
                progress(heard.end_s, total_s)
        if progress:
            progress(total_s, total_s)
        return tuple(words), tuple(again)

    def _judged(self, first: Heard, why: str) -> tuple[tuple[Word, ...], list[HeardAgain]]:
        """Hear an incredible window again and return the words of the better hearing."""
        window = (first.start_s, first.end_s)
        second = self._again(window)
        kept = better(first, second, self.hints)
        words = {"first": first.words, "second": second.words, "neither": ()}[kept]
        if not truly_repeated(first, second):
            words = without_repeats(words)
        return words, [_note(window, why, kept)]

    def _filled(self, first: Heard, speech: Sequence[Stretch]) -> tuple[tuple[Word, ...], list[HeardAgain]]:
        """Return the words of a credible window, with those of speech that it passed over."""
        words, notes = first.words, []
        for gap in find_gaps(first.words, (first.start_s, first.end_s), speech):
            second = self._again(gap)
            credible = credible_alone(second)
            words = put_in(words, second.words, gap) if credible else words
            notes.append(_note(gap, WORDLESS, "second" if credible else "neither"))
        return words, notes

    def _again(self, stretch: Stretch) -> Heard:
        """Hear a stretch by itself, slowly."""
        return self.recogniser.listen_again(self.samples, stretch, language=self.language)


def _note(stretch: Stretch, why: str, kept: str) -> HeardAgain:
    """Return the record of a second hearing."""
    return HeardAgain(start_s=round(stretch[0], 2), end_s=round(stretch[1], 2), why=why, kept=kept)


def _language(samples: Samples, windows: Sequence[Stretch], recogniser: Recogniser) -> str:
    """Return the language spoken; English unless another is heard surely from beginning to end."""
    if recogniser.english_only:
        return "en"
    language = "en"
    # A greeting in another language must not cost the whole walk-round, so the middle and end count too.
    for number in sorted({0, len(windows) // 2, len(windows) - 1}):
        start_s, end_s = windows[number]
        # Cut as for recognition: what was encoded for the language is not encoded again.
        language, probability = recogniser.language(samples[int(start_s * RATE) : int(end_s * RATE)])
        if language == "en" or probability < SURE_OF_LANGUAGE:
            return "en"
    return language


def _poor_notices(poor: Sequence[Poor], signal: Signal) -> Iterator[str]:
    """Yield a sentence for each kind of poor stretch, unless the whole recording is called that already."""
    told = {CLIPPED} if signal.clipped > CLIPPED_SHARE else set()
    if signal.speech_to_noise_db is not None and signal.speech_to_noise_db < NOISY_DB:
        told.add(NOISY)
    for why in dict.fromkeys(each.why for each in poor if each.why not in told):
        spans = [f"{clock(each.start_s)} to {clock(each.end_s)}" for each in poor if each.why == why]
        more = f" and {len(spans) - MOST_SPANS} more" if len(spans) > MOST_SPANS else ""
        yield f"Hard to hear ({why}): {', '.join(spans[:MOST_SPANS])}{more}; check what was said there."


def _in_order(poor: Sequence[Poor], again: Sequence[HeardAgain]) -> tuple[Poor, ...]:
    """Return the poor stretches with those whose words nobody would bet on, as they come."""
    unsure = [
        Poor(start_s=each.start_s, end_s=each.end_s, why=HARDLY)
        for each in again
        if each.why == "improbable" or each.kept == "neither"
    ]
    return tuple(sorted((*poor, *unsure), key=lambda each: each.start_s))


def _notices(
    words: Sequence[Word], again: Sequence[HeardAgain], language: str | None, signal: Signal, *, loud: bool
) -> tuple[str, ...]:
    """Return what a person should know, one sentence each."""
    lost = [clock(each.start_s) for each in again if (each.why, each.kept) == (WORDLESS, "neither")]
    notices = []
    if not words and not lost:
        return (COVERED if loud else "No speech was heard.",)
    if lost:
        places = " and ".join([", ".join(lost[:-1]), lost[-1]] if lost[1:] else lost)
        notices.append(f"Something was said at {places} that could not be made out.")
    if language not in ("en", None):
        name = language_name(str(language))
        notices.append(f"This sounds like {name}; narrate reads English only, so nothing was searched.")
    if signal.speech_to_noise_db is not None and signal.speech_to_noise_db < NOISY_DB:
        notices.append("The sound is noisy, so part names may be misheard; check the words against it.")
    if signal.clipped > CLIPPED_SHARE:
        notices.append("The sound is clipped; hold the microphone farther away next time.")
    return tuple(notices)
