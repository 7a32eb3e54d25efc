"""Noises of a car workshop, made from a seeded generator, and their mixing with speech.

Signals are float64 arrays of one channel at RATE. A noise's shape is made here at any level;
`mix` then sets the level against the speech.
"""

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Signal = NDArray[np.float64]

RATE = 16_000  # Hz
FRAME = 320  # samples: 20 ms
ACTIVE_RANGE_DB = 30.0  # frames this far below the loudest still count as speech
PEAK = 0.95  # of full scale
NOISE_CREST = 5.0  # times the RMS
REVERB_SECONDS = 0.35  # time to fall by 60 dB

# Signal-to-noise ratio in dB where the caller names none.
DEFAULT_SNR_DB = {"room": 35.0, "fan": 20.0, "compressor": 15.0, "shop": 15.0, "wrench": 12.0}


def active_power(signal: Signal) -> float:
    """Return the mean power of the frames within 30 dB of the loudest frame, full scale = 1."""
    frames = signal[: len(signal) // FRAME * FRAME].reshape(-1, FRAME)
    powers = (frames**2).mean(axis=1)
    if not powers.size or powers.max() == 0:
        return 0.0
    active = powers > powers.max() * 10 ** (-ACTIVE_RANGE_DB / 10)
    return float(powers[active].mean())


def mix(speech: Signal, kind: str, snr_db: float | None, rng: np.random.Generator) -> Signal:
    """Return speech under noise of a kind; snr_db is active-speech over mean noise power, in dB."""
    if kind not in NOISES:
        message = f"unknown noise {kind!r}; known: {', '.join(NOISES)}"
        raise ValueError(message)
    if snr_db is None:
        snr_db = DEFAULT_SNR_DB[kind]
    noise = _limit(NOISES[kind](len(speech), rng))
    if kind == "room":
        speech = _reverb(speech, rng)
    return mix_in(speech, noise, snr_db)


def mix_in(speech: Signal, noise: Signal, snr_db: float) -> Signal:
    """Return speech under a noise of its length; snr_db is active-speech over mean noise power, in dB."""
    wanted = active_power(speech) / 10 ** (snr_db / 10)
    return speech + noise * math.sqrt(wanted / np.mean(noise**2))


def prevent_clipping(signal: Signal) -> Signal:
    """Return the signal scaled down, where it must be, to a peak of 0.95 of full scale."""
    # The whole is scaled and nothing is cut off, so the ratio of speech to noise stays as asked.
    peak = float(np.abs(signal).max(initial=0.0))
    return signal * (PEAK / peak) if peak > PEAK else signal


def _limit(noise: Signal) -> Signal:
    """Round off peaks beyond 5 times the RMS."""
    # One hard knock would else set the scale of the whole recording; a telephone limits it too.
    ceiling = NOISE_CREST * math.sqrt(np.mean(noise**2))
    limited: Signal = np.tanh(noise / ceiling) * ceiling
    return limited


def _reverb(speech: Signal, rng: np.random.Generator) -> Signal:
    """Add a light decaying tail to the speech, as of a small hard-walled room."""
    times = np.arange(int(REVERB_SECONDS * RATE)) / RATE
    tail = rng.standard_normal(times.size) * 10 ** (-3 * times / REVERB_SECONDS)
    tail[: int(0.004 * RATE)] = 0.0  # no wall is nearer than some 70 cm
    tail *= 0.35 / math.sqrt(np.sum(tail**2))
    return speech + _convolve(speech, tail)


def _convolve(signal: Signal, response: Signal) -> Signal:
    """Return the convolution, cut to the length of the signal."""
    size = 1 << (signal.size + response.size - 1).bit_length()
    spectrum = np.fft.rfft(signal, size) * np.fft.rfft(response, size)
    return np.fft.irfft(spectrum, size)[: signal.size]


def _coloured(
    count: int,
    rng: np.random.Generator,
    slope: float,
    low: float,
    high: float,
) -> Signal:
    """Return noise of RMS 1 between two frequencies in Hz, falling by slope * 10 dB a decade."""
    size = max(count, RATE)  # a very short signal has too few frequencies to shape
    spectrum = np.fft.rfft(rng.standard_normal(size))
    frequencies = np.fft.rfftfreq(size, 1 / RATE)
    frequencies[0] = frequencies[1]
    spectrum *= frequencies ** (-slope / 2)
    # Soft edges, of second order, so that the band does not ring.
    spectrum /= np.sqrt((1 + (low / frequencies) ** 4) * (1 + (frequencies / high) ** 4))
    noise = np.fft.irfft(spectrum, size)[:count]
    return noise / math.sqrt(np.mean(noise**2))


def _wobble(count: int, rng: np.random.Generator, rate_hz: float, depth: float) -> Signal:
    """Return a slowly wandering factor around 1 that changes at about rate_hz."""
    points = rng.normal(1.0, depth, int(count / RATE * rate_hz) + 2)
    return np.interp(np.arange(count) * rate_hz / RATE, np.arange(points.size), points)


def _hum(count: int, rng: np.random.Generator, base_hz: float, levels: list[float]) -> Signal:
    """Return a tone with harmonics at the given levels, its pitch wandering by about 0.4 %."""
    phase = 2 * np.pi * np.cumsum(base_hz * _wobble(count, rng, 1.0, 0.004)) / RATE
    hum = np.zeros(count)
    for harmonic, level in enumerate(levels, start=1):
        hum += level * np.sin(harmonic * phase + rng.uniform(0, 2 * np.pi))
    return hum


def _ring(rng: np.random.Generator, modes: int, low: float, high: float, decay: float) -> Signal:
    """Return a struck piece of metal: decaying tones between low and high Hz; decay in seconds."""
    times = np.arange(int(5 * decay * RATE)) / RATE
    sound = np.zeros(times.size)
    for _ in range(modes):
        frequency = np.exp(rng.uniform(np.log(low), np.log(high)))
        mode_decay = decay * rng.uniform(0.3, 1.0)
        tone = np.sin(2 * np.pi * frequency * times) * np.exp(-times / mode_decay)
        sound += rng.uniform(0.3, 1.0) * tone
    click = rng.standard_normal(times.size) * np.exp(-times / 0.002)
    return sound + click


def _add(signal: Signal, sound: Signal, start: int) -> None:
    """Add a sound in place from a sample on, cut at the end of the signal."""
    part = sound[: max(0, signal.size - start)]
    signal[start : start + part.size] += part


def room(count: int, rng: np.random.Generator) -> Signal:
    """Return the tone of a quiet room: dull rush and a trace of mains hum."""
    return _coloured(count, rng, 1.6, 40, 3000) + _hum(count, rng, 60, [0.1, 0.15, 0.03])


def fan(count: int, rng: np.random.Generator) -> Signal:
    """Return a large workshop fan: rush of air with the beat of its blades near 84 Hz."""
    air = _coloured(count, rng, 1.0, 60, 4000) * _wobble(count, rng, 3.0, 0.12)
    return air + _hum(count, rng, 84, [0.4, 0.25, 0.1, 0.05])


def compressor(count: int, rng: np.random.Generator) -> Signal:
    """Return a running piston compressor: motor hum and some 13 strokes a second."""
    hum = _hum(count, rng, 59, [0.5, 0.8, 0.3, 0.25, 0.1, 0.12, 0.05])
    stroke_phase = 2 * np.pi * np.cumsum(13 * _wobble(count, rng, 0.5, 0.01)) / RATE
    strokes = np.maximum(0.0, np.sin(stroke_phase)) ** 3
    return hum + _coloured(count, rng, 0.8, 80, 5000) * (0.3 + 1.5 * strokes)


def shop(count: int, rng: np.random.Generator) -> Signal:
    """Return a busy shop: pink noise, a compressor in the distance and metal impacts."""
    noise = _coloured(count, rng, 1.0, 40, 7000) * _wobble(count, rng, 0.7, 0.2)
    noise += 0.5 * compressor(count, rng)
    start = rng.exponential(1.0)
    while start * RATE < count:
        level = min(8.0, 2.5 * rng.lognormal(0.0, 0.5))
        _add(noise, level * _ring(rng, 5, 700, 6000, rng.uniform(0.03, 0.2)), int(start * RATE))
        # Tools are put down in twos and threes more often than alone.
        start += rng.uniform(0.1, 0.4) if rng.random() < 0.35 else 0.5 + rng.exponential(2.5)
    return noise


def wrench(count: int, rng: np.random.Generator) -> Signal:
    """Return bursts of an impact wrench, 25 blows a second, over a faint shop."""
    bed = _coloured(count, rng, 1.0, 40, 7000)
    air = _coloured(count, rng, -0.5, 1500, 7500)
    noise = 0.25 * bed
    blow = _ring(rng, 7, 900, 5500, 0.012)
    # The first burst comes early, so that even a short recording holds one.
    start = min(rng.uniform(0.2, 1.5), 0.3 * count / RATE)
    while start * RATE < count:
        seconds = rng.uniform(0.6, 2.0)
        blows = start + np.arange(0, seconds, 1 / 25)
        for moment in blows + rng.uniform(0, 0.003, blows.size):
            _add(noise, rng.uniform(4, 7) * blow, int(moment * RATE))
        first, last = int(start * RATE), int((start + seconds) * RATE)
        noise[first:last] += air[first:last]
        start += seconds + rng.uniform(1.0, 4.5)
    return noise


NOISES: dict[str, Callable[[int, np.random.Generator], Signal]] = {
    "room": room,
    "shop": shop,
    "wrench": wrench,
    "fan": fan,
    "compressor": compressor,
}
