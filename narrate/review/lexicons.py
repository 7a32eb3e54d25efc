"""The lexicon, read once while the page runs: what is made ready from it is kept by the object itself."""

from functools import cache
from pathlib import Path

from narrate.words.lexicon import Lexicon
from narrate.words.load import load_lexicon
from narrate.words.overlay import lay_over
from narrate.words.shop import read_own_words


@cache
def plain_lexicon() -> Lexicon:
    """narrate's own words, without the shop's."""
    return load_lexicon()


def lexicon_of(folder: Path) -> Lexicon:
    """narrate's words with those of a shop's data folder; the same object as long as these do not change.

    Raises NarrateError if the file of them cannot be read.
    """
    return lay_over(plain_lexicon(), read_own_words(folder)).lexicon
