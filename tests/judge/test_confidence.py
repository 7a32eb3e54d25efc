"""Confidence as a fitted probability."""

import json
from pathlib import Path

import pytest

from narrate.find.mining import find_findings
from narrate.judge.confidence import FIELDS, calibrated, features, load_weights
from narrate.pipeline import made_by
from narrate.records.recording import Recording, Word
from narrate.records.walkaround import Walkaround
from narrate.settings import Settings
from narrate.words.load import load_lexicon


def found(said: str, probability: float | None) -> Walkaround:
    """What find/ makes of words heard with a probability, or typed."""
    words = tuple(Word(text=word, probability=probability) for word in said.split())
    lexicon, settings = load_lexicon(), Settings()
    recording = Recording(id="r1", name="a.wav", words=words)
    return find_findings([recording], lexicon=lexicon, made_by=made_by(settings, lexicon))


SAID = "The left front brake pads are worn, replace them. The water pump is leaking."


@pytest.mark.parametrize("probability", [None, 0.2, 0.95])
def test_every_field_gets_a_chance_and_the_whole_the_least(probability: float | None) -> None:
    for finding in calibrated(found(SAID, probability)).findings:
        chances = [getattr(finding.confidence, field) for field in FIELDS]
        assert all(0 < chance < 1 for chance in chances)
        assert finding.confidence.overall == min(chances)


def test_badly_heard_words_make_the_part_less_sure() -> None:
    well, badly = calibrated(found(SAID, 0.97)).findings[0], calibrated(found(SAID, 0.2)).findings[0]
    assert badly.confidence.component < well.confidence.component


def test_nothing_but_the_confidence_changes() -> None:
    before = found(SAID, 0.9)
    after = calibrated(before)
    assert [f.model_copy(update={"confidence": None}) for f in before.findings] == [
        f.model_copy(update={"confidence": None}) for f in after.findings
    ]


def test_every_fitted_feature_is_one_that_is_measured() -> None:
    walkaround = found(SAID, 0.9)
    recordings = {recording.id: recording for recording in walkaround.recordings}
    known = {name for f in walkaround.findings for field in FIELDS for name in features(f, recordings, field)}
    fitted = {name for weights in load_weights().values() for name in weights}
    assert {name for name in fitted if not name.startswith(("status ", "places ", "conditions "))} <= known


def test_the_weights_say_what_they_were_fitted_on() -> None:
    content = json.loads((Path(__file__).parents[2] / "models" / "confidence.json").read_text("utf-8"))
    assert set(content["weights"]) == set(content["fitted"]) == set(FIELDS)
    assert all(figures["fields"] > 200 for figures in content["fitted"].values())
