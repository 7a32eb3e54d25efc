"""What stands for the package sounddevice in tests: two microphones and a loudspeaker, and sound pushed by a thread."""

import threading
import time
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

DEVICES = (
    {"name": "Loudspeaker", "max_input_channels": 0, "default_samplerate": 48_000.0},
    {"name": "Built-in Microphone", "max_input_channels": 2, "default_samplerate": 44_100.0},
    {"name": "USB Headset", "max_input_channels": 1, "default_samplerate": 48_000.0},
)


class FakePortAudio:
    """The package, as far as narrate uses it. `rates`: what its devices can do; `sound`: blocks by rate."""

    class PortAudioError(Exception):
        """As the package's own."""

    def __init__(self, *, rates: tuple[int, ...] = (16_000,), sound: Callable[[int], list[bytes]]) -> None:
        self.default = SimpleNamespace(device=(1, 0))
        self.rates, self.sound = rates, sound
        self.overflow = False
        self.dies = False
        self.opened: list[dict[str, Any]] = []
        self.closed = 0

    def query_devices(self, device: int | str | None = None, kind: str | None = None) -> Any:
        if kind is None:
            return DEVICES
        known = [each for each in DEVICES if each["max_input_channels"]]
        if device is None:
            return known[0]
        if isinstance(device, int):
            if device in (1, 2):
                return DEVICES[device]
            message = "Error querying device"
            raise self.PortAudioError(message)
        found = [each for each in known if device.casefold() in str(each["name"]).casefold()]
        if len(found) != 1:
            message = f"No input device matching {device!r}"
            raise ValueError(message)
        return found[0]

    def RawInputStream(self, **options: Any) -> "FakeStream":
        if options["samplerate"] not in self.rates:
            message = "Invalid sample rate"
            raise self.PortAudioError(message)
        self.opened.append(options)
        return FakeStream(self, options)


class FakeStream:
    """Sound pushed by a thread, as PortAudio does."""

    def __init__(self, at: FakePortAudio, options: dict[str, Any]) -> None:
        self._at, self._options = at, options
        self.active = False

    def start(self) -> None:
        self.active = True
        threading.Thread(target=self._push, daemon=True).start()

    def close(self) -> None:
        self.active = False
        self._at.closed += 1

    def _push(self) -> None:
        status = SimpleNamespace(input_overflow=self._at.overflow)
        for block in self._at.sound(self._options["samplerate"]):
            self._options["callback"](memoryview(block), len(block) // 2, None, status)
            time.sleep(0.001)
        if self._at.dies:
            self.active = False
            self._options["finished_callback"]()
