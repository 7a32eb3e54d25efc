"""narrate's own lexicon, made ready once."""

import pytest

from narrate.words.lexicon import Lexicon
from narrate.words.load import load_lexicon


@pytest.fixture(scope="session")
def lexicon() -> Lexicon:
    """narrate's own lexicon."""
    return load_lexicon()
