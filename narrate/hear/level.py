"""How clean the sound is: speech over noise, and the share that is clipped; of the whole and stretch by stretch."""

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from narrate.hear.audio import RATE, Samples
from narrate.records.recording import Poor, Signal

FRAME = RATE // 50
"""20 ms."""
FLOOR_POWER = 1e-9
"""-90 dB of full scale: less than a 16-bit recorder can tell from silence."""
FULL_SCALE = 0.999
LEAST_FRAMES = 25
"""Half a second: with less between the words their level cannot be told."""
NOISY_DB = 10.0
"""Below this, part names are lost even with hints."""
CLIPPED_SHARE = 0.001
BLOCK, CONTEXT = 150, 400
"""Frames that are judged together (3 s), and around them those that tell the noise (8 s each side)."""
FAINT_POWER = 1e-5
"""-50 dB of full scale: speech so faint is mostly lost in the recorder's own noise."""
NOISY, CLIPPED, FAINT = "noise nearly as loud as the voice", "too loud, clipped", "very faint"


def measure(samples: Samples, stretches: Sequence[tuple[float, float]]) -> Signal:
    """Return the signal figures of mono samples with speech in the given stretches (start_s, end_s)."""
    # Counted twice rather than by absolute value, which would copy an hour of sound.
    count = np.count_nonzero(samples >= FULL_SCALE) + np.count_nonzero(samples <= -FULL_SCALE)
    clipped = int(count) / max(samples.size, 1)
    return Signal(speech_to_noise_db=_speech_to_noise_db(samples, stretches), clipped=round(clipped, 5))


def loudness_db(samples: Samples, stretches: Sequence[tuple[float, float]]) -> tuple[float | None, float | None]:
    """Return how loud speech (its louder half) and what lies between it are, decibels of full scale.

    Either is None where there is less than half a second of it. In few seconds a word or two that were not known
    for speech would count as noise, so the loudest quarter between the words is left out.
    """
    power = _frame_power(samples)
    spoken = _spoken(power, stretches)
    loud, quiet = power[spoken], power[~spoken]
    return (
        _decibels(loud[loud >= np.median(loud)].mean()) if loud.size >= LEAST_FRAMES else None,
        _decibels(quiet[quiet <= np.quantile(quiet, 0.75)].mean()) if quiet.size >= LEAST_FRAMES else None,
    )


def is_loud(samples: Samples) -> bool:
    """Whether the sound is louder than a quiet room for half of the time or more."""
    power = _frame_power(samples)
    return bool(power.size) and float(np.median(power)) > FAINT_POWER


def poor_stretches(samples: Samples, stretches: Sequence[tuple[float, float]]) -> tuple[Poor, ...]:
    """Return where speech in the given stretches (start_s, end_s) is too noisy, clipped or faint to be trusted."""
    power = _frame_power(samples)
    spoken = _spoken(power, stretches)
    found: list[Poor] = []
    for first, why in _poor_blocks(samples, power, spoken):
        start_s, end_s = first * FRAME / RATE, min((first + BLOCK) * FRAME, samples.size) / RATE
        if found and found[-1].why == why and found[-1].end_s >= start_s:
            found[-1] = found[-1].model_copy(update={"end_s": round(end_s, 2)})
        else:
            found.append(Poor(start_s=round(start_s, 2), end_s=round(end_s, 2), why=why))
    return tuple(found)


def _poor_blocks(samples: Samples, power: NDArray[np.float64], spoken: NDArray[np.bool_]) -> Iterator[tuple[int, str]]:
    """Yield the first frame of each poor block, and why."""
    for first in range(0, power.size, BLOCK):
        loud = power[first : first + BLOCK][spoken[first : first + BLOCK]]
        if loud.size < LEAST_FRAMES:
            continue
        around = slice(max(0, first - CONTEXT), first + BLOCK + CONTEXT)
        sound = samples[first * FRAME : (first + BLOCK) * FRAME]
        if np.count_nonzero(np.abs(sound) >= FULL_SCALE) > CLIPPED_SHARE * sound.size:
            yield first, CLIPPED
        elif _over_noise_db(loud, power[around][~spoken[around]]) < NOISY_DB:
            yield first, NOISY
        elif np.quantile(loud, 0.9) < FAINT_POWER:
            yield first, FAINT


def _spoken(power: NDArray[np.float64], stretches: Sequence[tuple[float, float]]) -> NDArray[np.bool_]:
    spoken = np.zeros(power.size, dtype=bool)
    for start_s, end_s in stretches:
        spoken[int(start_s * RATE) // FRAME : int(end_s * RATE) // FRAME + 1] = True
    return spoken


def _over_noise_db(loud: NDArray[np.float64], quiet: NDArray[np.float64]) -> float:
    """Decibels of the louder half of spoken frames over those between the words."""
    # Words have pauses too short to be told apart; the lowest tenth inside speech is noise as well.
    inside = np.quantile(loud, 0.1)
    noise = max(quiet.mean() if quiet.size >= LEAST_FRAMES else inside, FLOOR_POWER)
    speech = max(loud[loud >= np.median(loud)].mean() - noise, FLOOR_POWER)
    return float(10 * np.log10(speech / noise))


def _decibels(power: float) -> float:
    return round(float(10 * np.log10(max(power, FLOOR_POWER))), 1)


def _speech_to_noise_db(samples: Samples, stretches: Sequence[tuple[float, float]]) -> float | None:
    """Return decibels of speech over noise, or None where there is no speech or nothing between it."""
    power = _frame_power(samples)
    spoken = _spoken(power, stretches)
    loud, quiet = power[spoken], power[~spoken]
    if loud.size < LEAST_FRAMES or loud.mean() < FLOOR_POWER:
        return None
    return round(_over_noise_db(loud, quiet), 1)


def _frame_power(samples: Samples) -> NDArray[np.float64]:
    """Return the mean power of each 20 ms."""
    whole = samples[: samples.size // FRAME * FRAME].reshape(-1, FRAME)
    power: NDArray[np.float64] = np.einsum("ij,ij->i", whole, whole, dtype=np.float64) / FRAME
    return power
