"""How clean the sound is: speech over noise, and the share that is clipped."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from narrate.hear.audio import RATE, Samples
from narrate.records.recording import Signal

FRAME = RATE // 50
"""20 ms."""
FLOOR_POWER = 1e-9
"""-90 dB of full scale: less than a 16-bit recorder can tell from silence."""
FULL_SCALE = 0.999
LEAST_FRAMES = 25
"""Half a second: with less between the words their level cannot be told."""


def measure(samples: Samples, stretches: Sequence[tuple[float, float]]) -> Signal:
    """Return the signal figures of mono samples with speech in the given stretches (start_s, end_s)."""
    # Counted twice rather than by absolute value, which would copy an hour of sound.
    count = np.count_nonzero(samples >= FULL_SCALE) + np.count_nonzero(samples <= -FULL_SCALE)
    clipped = int(count) / max(samples.size, 1)
    return Signal(speech_to_noise_db=_speech_to_noise_db(samples, stretches), clipped=round(clipped, 5))


def _speech_to_noise_db(samples: Samples, stretches: Sequence[tuple[float, float]]) -> float | None:
    """Return decibels of speech over noise, or None where there is no speech or nothing between it."""
    power = _frame_power(samples)
    spoken = np.zeros(power.size, dtype=bool)
    for start_s, end_s in stretches:
        spoken[int(start_s * RATE) // FRAME : int(end_s * RATE) // FRAME + 1] = True
    loud, quiet = power[spoken], power[~spoken]
    if loud.size < LEAST_FRAMES or loud.mean() < FLOOR_POWER:
        return None
    # Words have pauses too short to be told apart; the lowest tenth inside speech is noise as well.
    inside = np.quantile(loud, 0.1)
    noise = max(quiet.mean() if quiet.size >= LEAST_FRAMES else inside, FLOOR_POWER)
    speech = max(loud[loud >= np.median(loud)].mean() - noise, FLOOR_POWER)
    return round(float(10 * np.log10(speech / noise)), 1)


def _frame_power(samples: Samples) -> NDArray[np.float64]:
    """Return the mean power of each 20 ms."""
    whole = samples[: samples.size // FRAME * FRAME].reshape(-1, FRAME)
    power: NDArray[np.float64] = np.einsum("ij,ij->i", whole, whole, dtype=np.float64) / FRAME
    return power
