"""Is the microphone good enough? A few seconds of somebody reading aloud, judged in plain words with what to do."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from narrate.hear.audio import RATE, Samples
from narrate.hear.level import CLIPPED_SHARE, NOISY_DB, loudness_db, measure
from narrate.hear.recogniser import Stretch

SHORTEST_S = 2.0
"""With less sound there is nothing to judge."""
DEAD_DB = -80.0
"""Quieter than any microphone that is connected: it is muted or not there."""
FAINT_DB = -45.0
"""Speech below this is lost in the recorder's own noise."""
QUIET_DB = -60.0
"""Noise below this is a quiet room, or the recorder's own: then the voice is what is wrong."""
UNEASY_DB = 15.0
"""Below this words are lost here and there; below NOISY_DB part names are lost even with hints."""
LEAST_SPEECH_S = 0.8
"""What is shorter may be a cough or a bump."""

GOOD = "Your voice is clear: loud enough, and well above the noise."
NO_SOUND = "Nothing comes from the microphone: see that it is plugged in, not muted, and allowed for this page."
TOO_SHORT = "That was too short to judge: press the button and read the sentence aloud to its end."
NO_VOICE = "No voice was heard: hold the microphone a hand's width from your mouth and read the sentence aloud."
FAINT = "Your voice is very faint: bring the microphone closer, best to a hand's width from your mouth."
CLIPPED = "Your voice is too loud for the microphone: hold it further away, or turn its level down."
DROWNED = (
    "The noise is nearly as loud as your voice: clip the microphone close to your mouth, take a headset, "
    "or wait until the loud work is over."
)
UNEASY = "There is a good deal of noise: most words will be heard, but closer to your mouth is better."


@dataclass(frozen=True, kw_only=True)
class MicrophoneCheck:
    """What a check found. Levels are decibels of full scale, the ratio decibels; None where it cannot be told."""

    good: bool
    """Whether recording can begin as it is; advice may be given nevertheless."""
    sentences: tuple[str, ...]
    """What is wrong and what to do, the worst first; or that all is well."""
    speech_db: float | None = None
    noise_db: float | None = None
    speech_to_noise_db: float | None = None
    clipped: float = 0.0
    """Share of samples at full scale, 0 to 1."""


def check_microphone(samples: Samples, speech: Sequence[Stretch]) -> MicrophoneCheck:
    """Judge mono samples at 16 kHz; `speech` says where somebody speaks in them."""
    if samples.size < SHORTEST_S * RATE:
        return MicrophoneCheck(good=False, sentences=(TOO_SHORT,))
    # Over the whole, since a click at the start is no sign of life.
    if 10 * np.log10(max(float(np.square(samples, dtype=np.float64).mean()), 1e-12)) < DEAD_DB:
        return MicrophoneCheck(good=False, sentences=(NO_SOUND,))
    signal = measure(samples, speech)
    speech_db, noise_db = loudness_db(samples, speech)
    # Where nothing lies between the words, noise is looked for inside them.
    over_noise_db = signal.speech_to_noise_db
    if speech_db is not None and noise_db is not None:
        over_noise_db = round(speech_db - noise_db, 1)
    measured = MicrophoneCheck(
        good=False,
        sentences=(NO_VOICE,),
        speech_db=speech_db,
        noise_db=noise_db,
        speech_to_noise_db=over_noise_db,
        clipped=signal.clipped,
    )
    if sum(end_s - start_s for start_s, end_s in speech) < LEAST_SPEECH_S or speech_db is None:
        return replace(measured, sentences=(CLIPPED,)) if signal.clipped > CLIPPED_SHARE else measured
    wrong = _wrong(speech_db, noise_db, over_noise_db, signal.clipped)
    advice = (UNEASY,) if (over_noise_db or 0.0) < UNEASY_DB else (GOOD,)
    return replace(measured, good=not wrong, sentences=wrong or advice)


def _wrong(speech_db: float, noise_db: float | None, over_noise_db: float | None, clipped: float) -> tuple[str, ...]:
    # What is clipped has lost its loud parts: its ratio to the noise says nothing.
    if clipped > CLIPPED_SHARE:
        return (CLIPPED,)
    faint = (FAINT,) if speech_db < FAINT_DB else ()
    quiet = noise_db is not None and noise_db < QUIET_DB
    drowned = over_noise_db is not None and over_noise_db < NOISY_DB and not quiet
    return (*faint, DROWNED) if drowned else faint
