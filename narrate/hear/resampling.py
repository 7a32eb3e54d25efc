"""Decoded frames brought to one rate and layout, whatever shape they come in."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    import av

Block = NDArray[np.float32]
"""Shape (channels, samples), full scale 1."""


class Resampler:
    """Takes frames one after the other; each may have its own rate and layout.

    rate: samples a second that come out. layout: `mono` or `stereo`; None keeps each frame's own.
    """

    def __init__(self, *, rate: int, layout: str | None = None) -> None:
        self._rate, self._layout = rate, layout
        self._resampler: Any = None
        self._shape: tuple[int, str, str] | None = None

    def blocks(self, frame: "av.AudioFrame") -> Iterator[Block]:
        """Yield what a frame gives; its time stamp is taken off."""
        import av

        # A phone that changes its microphone while recording changes the layout half way.
        shape = (frame.rate, frame.layout.name, frame.format.name)
        if self._shape != shape:
            yield from self.rest()
            self._shape = shape
            self._resampler = av.AudioResampler(format="fltp", layout=self._layout, rate=self._rate)
        frame.pts = None
        for resampled in self._resampler.resample(frame):
            yield _array(resampled)

    def rest(self) -> Iterator[Block]:
        """Yield what is still held back."""
        for frame in self._resampler.resample(None) if self._resampler else ():
            yield _array(frame)


def _array(frame: "av.AudioFrame") -> Block:
    return np.asarray(frame.to_ndarray(), dtype=np.float32)
