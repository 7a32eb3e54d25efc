"""A Whisper model that encodes a batch window by window, and none twice in a row."""

from typing import Any

import numpy as np
from ctranslate2 import StorageView
from faster_whisper import WhisperModel
from numpy.typing import NDArray

Features = NDArray[np.float32]


class OneByOne(WhisperModel):  # type: ignore[misc]  # an untyped package
    """Encodes windows singly: together they are slower (they fall out of the cache) and take more memory.

    Only decoding gains from a batch. The last window encoded alone is kept: the language is told from the
    first window, which is then recognised without being encoded again.
    """

    def __init__(self, folder: str, **options: Any) -> None:  # noqa: ANN401 - handed on as they are
        super().__init__(folder, **options)
        self._kept: tuple[Features, StorageView] | None = None

    def encode(self, features: Features) -> StorageView:
        """Return the encoding of features, shape (windows, mels, frames) or of one window (mels, frames)."""
        windows = features if features.ndim == 3 else features[np.newaxis]
        encoded = [self._encode_one(window) for window in windows]
        if len(encoded) == 1:
            return encoded[0]
        return StorageView.from_array(np.concatenate([np.asarray(each) for each in encoded]))

    def _encode_one(self, window: Features) -> StorageView:
        """Return the encoding of one window, from memory if it is the one kept."""
        if self._kept is None or not np.array_equal(self._kept[0], window):
            self._kept = (window, super().encode(window))
        return self._kept[1]
