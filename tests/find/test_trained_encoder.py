"""The shipped encoder reads any number of words, the same way each time, and its absence is no fault."""

from pathlib import Path

import numpy as np
import pytest

from narrate.find.encoder import OVERLAP, WINDOW, Encoder, load_encoder
from narrate.find.pairs import FAMILIES, PARTS

WORDS = "left front tire is at two thirty seconds and the right one is bald so i'd do both before winter".split()


@pytest.fixture(scope="module")
def encoder() -> Encoder:
    loaded = load_encoder()
    assert loaded is not None
    return loaded


@pytest.mark.parametrize("count", [1, 19, WINDOW - OVERLAP, WINDOW, 3 * WINDOW])
def test_every_word_gets_a_vector_and_its_chances(encoder: Encoder, count: int) -> None:
    """One word or many windows of them: finite vectors, and chances that add up to no more than one."""
    words = (WORDS * (count // len(WORDS) + 1))[:count]
    read = encoder.encode(words)
    assert count + 1 == len(read.starts)
    assert np.isfinite(read.means([(0, count - 1)])).all()
    assert (count, len(encoder.kinds), 2) == read.tags.shape
    assert read.tags.sum(axis=(1, 2)).max() <= 1.0001


def test_the_same_words_are_read_the_same_way(encoder: Encoder) -> None:
    """Same words, same result."""
    assert np.array_equal(encoder.encode(WORDS).tags, encoder.encode(WORDS).tags)


def test_it_was_trained_on_the_families_the_program_asks_about(encoder: Encoder) -> None:
    """Families are told to it by number, so their order may not change without training again."""
    assert FAMILIES == tuple(encoder.families)
    assert encoder.heads["status.0.weight"].shape[1] == PARTS * 384 + PARTS + len(encoder.statuses)


def test_without_its_files_there_is_none(tmp_path: Path) -> None:
    """A folder without the files gives None, and the rules go on alone."""
    assert load_encoder(tmp_path) is None
