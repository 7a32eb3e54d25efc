"""A microphone for tests: it gives a recording's samples, block by block, as fast as they are taken."""

from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

from narrate.errors import AudioError
from narrate.hear.audio import RATE, decode
from narrate.settings import project_folder

BLOCK = RATE // 10


class SpokenSource:
    """Gives sound, then ends: asked to stop by `at_end`, or broken off."""

    name = "Test microphone"

    def __init__(self, samples: bytes, *, breaks: str = "", waits: Callable[[], bool] | None = None) -> None:
        """breaks: why it gives no more at the end. waits: silence follows until this is true."""
        self.samples, self.breaks, self.waits = samples, breaks, waits
        self.given = 0

    def blocks(self, stop: Callable[[], bool]) -> Iterator[bytes]:
        for at in range(0, len(self.samples), BLOCK * 2):
            if stop():
                return
            block = self.samples[at : at + BLOCK * 2]
            self.given += len(block)
            yield block
        while self.waits is not None and not self.waits() and not stop():
            self.given += BLOCK * 2
            yield bytes(BLOCK * 2)
        if self.breaks:
            raise AudioError(self.breaks)


def spoken(seconds: float = 6.0, name: str = "compact_brakes_tires") -> bytes:
    """The beginning of a sample recording."""
    path = Path(project_folder("sample_audio")) / f"{name}.ogg"
    samples = decode(path, min_duration_s=0, max_duration_s=600).samples[: int(seconds * RATE)]
    return np.rint(samples * 32767).astype("<i2").tobytes()
