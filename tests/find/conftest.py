"""The lexicon and what find/ makes of it, built once for all tests here."""

from collections.abc import Callable
from pathlib import Path

import pytest

from narrate.find.draft import Amount, Draft
from narrate.find.mining import text_recording
from narrate.find.stages import READING, run_stages
from narrate.find.vocabulary import Vocabulary, vocabulary
from narrate.records.recording import Recording
from narrate.records.walkaround import Walkaround
from narrate.settings import Settings
from narrate.words.lexicon import Lexicon
from narrate.words.load import load_lexicon


@pytest.fixture(scope="session")
def lexicon() -> Lexicon:
    """narrate's own lexicon."""
    return load_lexicon()


@pytest.fixture(scope="session")
def ready(lexicon: Lexicon) -> Vocabulary:
    """The lexicon made ready for the stages."""
    return vocabulary(lexicon)


@pytest.fixture(scope="session")
def read(ready: Vocabulary) -> Callable[[str], Draft]:
    """The draft of a text after every stage that needs no training."""
    return lambda text: run_stages(text_recording(text).words, ready, READING)


@pytest.fixture(scope="session")
def amounts_in(read: Callable[[str], Draft]) -> Callable[[str], tuple[Amount, ...]]:
    """The amounts of a text."""
    return lambda text: read(text).amounts


@pytest.fixture(scope="session")
def found_in(lexicon: Lexicon) -> Callable[[list[Recording]], Walkaround]:
    """The walkaround of recordings, by the whole of find and judge."""
    # Late, because the pipeline brings in the audio libraries.
    from narrate.pipeline import process_words

    settings = Settings()
    return lambda recordings: process_words(recordings, settings=settings, lexicon=lexicon)


@pytest.fixture(scope="session")
def found(found_in: Callable[[list[Recording]], Walkaround]) -> Callable[[str], Walkaround]:
    """The walkaround of a text."""
    return lambda text: found_in([text_recording(text)])


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what known_failures.txt lists as strict known failures, each with its reason."""
    lines = (Path(__file__).parent / "known_failures.txt").read_text("utf-8").splitlines()
    known = dict(line.rsplit(" | ", 1) for line in lines if line and not line.startswith("#"))
    for item in items:
        why = known.get(item.nodeid.rpartition("/")[2])
        if why:
            item.add_marker(pytest.mark.xfail(strict=True, reason=why))
