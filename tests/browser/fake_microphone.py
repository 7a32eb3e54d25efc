"""A microphone for the browser of these tests: it hears a recording, over and over."""

import wave
from pathlib import Path

import av
import numpy as np

SAMPLE = Path(__file__).parents[2] / "sample_audio" / "compact_brakes_tires.ogg"
RATE = 48_000
"""What Chromium's pretended microphone takes without changing it; mono, 16 bit."""


def microphone_flags(file: Path) -> list[str]:
    """Write what is heard to `file`; the browser's flags for a microphone (and a camera) that nobody has to allow."""
    samples = speech(SAMPLE)
    # A file that cannot be read gives silence without a word about it.
    assert np.abs(samples).max() > 1000
    with wave.open(str(file), "wb") as writer:
        writer.setparams((1, 2, RATE, 0, "NONE", ""))
        writer.writeframes(samples.tobytes())
    return [
        "--use-fake-device-for-media-stream",
        "--use-fake-ui-for-media-stream",
        f"--use-file-for-fake-audio-capture={file}",
    ]


def speech(recording: Path) -> np.ndarray:
    """Read samples of a recording as the microphone takes them."""
    resampler = av.AudioResampler("s16", "mono", RATE)
    with av.open(str(recording)) as opened:
        parts = [part.to_ndarray()[0] for frame in opened.decode(audio=0) for part in resampler.resample(frame)]
    return np.concatenate(parts)
