"""Sound as it is spoken: the microphones of this computer, by PortAudio (the extra `microphone`)."""

import queue
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from narrate.errors import AudioError, UsageError
from narrate.hear.audio import RATE
from narrate.hear.resampling import Resampler

BLOCK_S = 0.1
LOST_S = 5.0
"""A microphone that gives nothing for so long was pulled out."""
LOOK_EVERY_S = 0.2
NOT_INSTALLED = "Recording here needs the extra 'microphone': type `pip install 'narrate[microphone]'`."
NO_PORTAUDIO = (
    "Recording here needs the system's PortAudio library: on Debian and Ubuntu type `sudo apt-get install "
    "libportaudio2`, on Fedora `sudo dnf install portaudio`."
)


class SoundSource(Protocol):
    """Where sound comes from while it is spoken."""

    name: str
    """What people call it."""

    def blocks(self, stop: Callable[[], bool]) -> Iterator[bytes]:
        """Yield sound of about a tenth of a second (16-bit whole numbers, little endian, mono, 16 kHz) until `stop`.

        Raises AudioError where there is no more.
        """


@dataclass(frozen=True, kw_only=True)
class KnownMicrophone:
    """A microphone of this computer, as `--device` takes it."""

    number: int
    name: str
    usual: bool
    """Whether it is the one taken when none is named."""


class Microphone:
    """One of the computer's microphones. `device`: its number or part of its name; None takes the usual one."""

    def __init__(self, device: str | None = None) -> None:
        """Look it up. Raises UsageError where there is none such, or nothing to record with."""
        self._sound = _portaudio()
        self._device: int | str | None = int(device) if device is not None and device.isdecimal() else device
        try:
            self._about = self._sound.query_devices(self._device, "input")
        except (ValueError, self._sound.PortAudioError) as error:
            which = f"one microphone {device!r}" if device is not None else "microphone"
            message = f"There is no {which} here; plug it in, or choose one that `narrate listen --list-devices` shows."
            raise UsageError(message) from error
        self.name = str(self._about["name"])
        self.missed = 0
        """How often the computer was too busy to take all sound."""

    def blocks(self, stop: Callable[[], bool]) -> Iterator[bytes]:
        """Yield sound; see SoundSource."""
        came: queue.SimpleQueue[bytes] = queue.SimpleQueue()
        ended = threading.Event()

        def take(data: Any, frames: int, times: Any, status: Any) -> None:  # noqa: ANN401 - untyped package
            if status.input_overflow:
                self.missed += 1
            came.put(bytes(data))

        with self._opened(take, ended.set) as (stream, rate):
            fit = _Fitted(rate)
            waited_s = 0.0
            while not stop():
                try:
                    block = came.get(timeout=LOOK_EVERY_S)
                except queue.Empty:
                    waited_s += LOOK_EVERY_S
                    if ended.is_set() or not stream.active or waited_s >= LOST_S:
                        message = f"{self.name} gives no more sound; see that it is plugged in, and begin again."
                        raise AudioError(message) from None
                    continue
                waited_s = 0.0
                yield fit.block(block)

    def _opened(self, take: Callable[..., None], ended: Callable[[], None]) -> "_Opened":
        """Open it at 16 kHz or, where it cannot, at its own rate."""
        own = int(self._about["default_samplerate"])
        for rate in dict.fromkeys((RATE, own)):
            try:
                stream = self._sound.RawInputStream(
                    samplerate=rate,
                    blocksize=int(rate * BLOCK_S),
                    device=self._device,
                    channels=1,
                    dtype="int16",
                    callback=take,
                    finished_callback=ended,
                )
            except self._sound.PortAudioError as error:
                failed = error
                continue
            return _Opened(stream, rate)
        message = (
            f"{self.name} cannot be opened ({failed}); another program may hold it. Close that, or choose another."
        )
        raise AudioError(message)


class _Opened:
    """A stream while it runs, and its samples a second."""

    def __init__(self, stream: Any, rate: int) -> None:  # noqa: ANN401 - untyped package
        self._stream, self._rate = stream, rate

    def __enter__(self) -> tuple[Any, int]:
        self._stream.start()
        return self._stream, self._rate

    def __exit__(self, *_: object) -> None:
        self._stream.close()


class _Fitted:
    """Blocks brought to 16 kHz."""

    def __init__(self, rate: int) -> None:
        self._rate = rate
        self._resampler = Resampler(rate=RATE)

    def block(self, data: bytes) -> bytes:
        if self._rate == RATE:
            return data
        import av

        samples = np.frombuffer(data, dtype="<i2").reshape(1, -1)
        frame = av.AudioFrame.from_ndarray(samples, format="s16", layout="mono")
        frame.sample_rate = self._rate
        parts = [np.rint(part[0] * 32767).clip(-32768, 32767) for part in self._resampler.blocks(frame)]
        return b"".join(part.astype("<i2").tobytes() for part in parts)


def list_microphones() -> tuple[KnownMicrophone, ...]:
    """The microphones there are. Raises UsageError where there is nothing to record with."""
    sound = _portaudio()
    usual = sound.default.device[0]
    return tuple(
        KnownMicrophone(number=number, name=str(about["name"]), usual=number == usual)
        for number, about in enumerate(sound.query_devices())
        if about["max_input_channels"] > 0
    )


def _portaudio() -> Any:  # noqa: ANN401 - untyped package
    try:
        import sounddevice
    except ImportError as error:
        raise UsageError(NOT_INSTALLED) from error
    # The package is there and looks for the library in vain.
    except OSError as error:
        raise UsageError(NO_PORTAUDIO) from error
    return sounddevice
