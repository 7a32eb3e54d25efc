"""Where the copied data lies, and the lexicon, built once."""

from pathlib import Path

import pytest
from asking import Asked

from narrate.words.lexicon import Lexicon
from narrate.words.load import load_lexicon


@pytest.fixture(scope="session")
def data() -> Path:
    """The small copies of open data, each folder with its licence note."""
    return Path(__file__).parents[1] / "data"


@pytest.fixture(scope="session")
def lexicon() -> Lexicon:
    """narrate's own lexicon."""
    return load_lexicon()


@pytest.fixture(scope="session")
def asked(lexicon: Lexicon) -> Asked:
    """find/ with that lexicon."""
    return Asked(lexicon)
