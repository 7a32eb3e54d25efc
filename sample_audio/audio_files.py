"""Write samples to an audio file of the kind that its suffix names."""

import wave
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray
from shop_noise import RATE

Samples = NDArray[np.int16]

LOSSY_BITS_A_SECOND = {"libopus": 24_000, "aac": 48_000, "libmp3lame": 48_000}
CODECS = {  # suffix: codec, container
    ".ogg": ("libopus", "ogg"),
    ".opus": ("libopus", "ogg"),
    ".webm": ("libopus", "webm"),
    ".flac": ("flac", "flac"),
    ".m4a": ("aac", "mp4"),
    ".mp3": ("libmp3lame", "mp3"),
}


def write_audio(path: Path, samples: Samples) -> None:
    """Write samples at 16 kHz, mono, in the format that the suffix names."""
    suffix = path.suffix.lower()
    if suffix == ".wav":
        with wave.open(str(path), "wb") as file:
            file.setnchannels(1)
            file.setsampwidth(2)
            file.setframerate(RATE)
            file.writeframes(samples.astype("<i2").tobytes())
        return
    if suffix not in CODECS:
        message = f"cannot write {suffix!r}; known: .wav, {', '.join(CODECS)}"
        raise ValueError(message)
    codec, container_format = CODECS[suffix]
    # Without bitexact, Ogg and WebM carry a random serial number: no two files would be alike.
    options = {"fflags": "+bitexact"}
    with av.open(str(path), "w", format=container_format, options=options) as container:
        stream = container.add_stream(codec, rate=RATE)
        assert isinstance(stream, av.AudioStream)
        stream.layout = "mono"
        if codec in LOSSY_BITS_A_SECOND:
            stream.bit_rate = LOSSY_BITS_A_SECOND[codec]
        for start in range(0, samples.size, RATE):
            frame = av.AudioFrame.from_ndarray(samples[np.newaxis, start : start + RATE], format="s16", layout="mono")
            frame.sample_rate = RATE
            frame.pts = start
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
