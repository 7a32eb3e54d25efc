"""A number stays with the part it is told of."""

from narrate.find.mining import text_recording
from narrate.pipeline import process_words
from narrate.settings import Settings
from narrate.words.load import load_lexicon


def test_each_part_keeps_its_number() -> None:
    said = (
        "left front pads are at two millimeters, right front pads are at six. both front rotors are fine. "
        "left front brake hose is bulging, replace it."
    )
    found = process_words([text_recording(said)], settings=Settings(), lexicon=load_lexicon()).findings
    pads = {
        (number.location or finding.locations[0], str(number.value))
        for finding in found
        if finding.component.id == "brake_pad"
        for number in finding.measurements
    }
    assert {("front left", "2"), ("front right", "6")} == pads
