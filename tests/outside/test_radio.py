"""People talking of anything but cars, as from a radio, give no findings; sources: tests/data/speech_short."""

from pathlib import Path

import pytest

from narrate.pipeline import process_recordings
from narrate.settings import Settings
from narrate.words.load import load_lexicon

pytestmark = pytest.mark.model


@pytest.mark.parametrize("model", ["base", "tiny.en"])
@pytest.mark.parametrize("hints", [True, False], ids=["hints", "no hints"])
def test_a_radio_gives_no_findings(data: Path, model: str, hints: bool) -> None:
    clips = sorted(path for path in (data / "speech_short").iterdir() if path.suffix in (".wav", ".flac"))
    settings = Settings(model=model, hints=hints)
    for clip in clips:
        found = process_recordings([clip], settings=settings, lexicon=load_lexicon())
        assert found.recordings[0].words
        assert () == found.findings
