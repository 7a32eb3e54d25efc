"""Encoding a batch of windows one by one, and none twice in a row."""

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

Features = NDArray[np.float32]
Encoding = Any
"""A ctranslate2.StorageView."""


class OneByOne:
    """Stands in the place of a model's `encode`.

    Windows encoded together are slower (they fall out of the processor's cache) and take more memory; only decoding
    gains from a batch. The last window encoded is kept: the language is told from the first window, which is then
    recognised without being encoded again.
    """

    def __init__(self, encode: Callable[[Features], Encoding]) -> None:
        self._encode = encode
        self._kept: tuple[Features, Encoding] | None = None

    def __call__(self, features: Features) -> Encoding:
        """Return the encoding of features, shape (windows, mels, frames) or of one window (mels, frames)."""
        from ctranslate2 import StorageView

        windows = features if features.ndim == 3 else features[np.newaxis]
        encoded = [self._encode_one(window) for window in windows]
        if len(encoded) == 1:
            return encoded[0]
        return StorageView.from_array(np.concatenate([np.asarray(each) for each in encoded]))

    def _encode_one(self, window: Features) -> Encoding:
        """Return the encoding of one window, from memory if it is the one kept."""
        if self._kept is None or not np.array_equal(self._kept[0], window):
            self._kept = (window.copy(), self._encode(window))
        return self._kept[1]
