"""Windows are encoded one by one, and none twice in a row."""

import numpy as np
import pytest

from narrate.hear.encoder import OneByOne


@pytest.fixture
def encode():
    """Return an encoder that gives back a tenth of the frames, and the shapes it was asked for."""
    storage = pytest.importorskip("ctranslate2").StorageView
    asked = []

    def encode(window):
        asked.append(window.shape)
        return storage.from_array(np.ascontiguousarray(window[np.newaxis, :, ::10]))

    return encode, asked


def windows(count: int) -> np.ndarray:
    return np.random.default_rng(4).standard_normal((count, 8, 30)).astype(np.float32)


def test_a_batch_is_encoded_window_by_window_in_order(encode):
    """The encoding of a batch is that of its windows, one under the other."""
    function, asked = encode
    batch = windows(3)
    assert np.array_equal(np.asarray(OneByOne(function)(batch)), batch[:, :, ::10])
    assert asked == [(8, 30)] * 3


def test_the_last_window_is_not_encoded_again(encode):
    """What was encoded to tell the language serves for recognition too."""
    function, asked = encode
    encoder = OneByOne(function)
    batch = windows(2)
    encoder(batch[0])
    assert np.array_equal(np.asarray(encoder(batch)), batch[:, :, ::10])
    assert len(asked) == 2
    encoder(batch[0])
    assert len(asked) == 3
