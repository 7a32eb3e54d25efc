"""Several recordings of one vehicle, and the order that came with it."""

import pytest

from narrate.find.mining import find_findings, text_recording
from narrate.records.order import Order
from narrate.records.recording import Recording
from narrate.records.walkaround import MadeBy
from narrate.words.lexicon import Lexicon

MADE_BY = MadeBy(program="narrate 0.0.0", lexicon="sha256:0", settings="sha256:0")
SILENT = Recording(name="silent", minable=False)
SPOKEN = text_recording("customer says it squeals. front brake pads are worn out, replace them.", "spoken")


@pytest.mark.parametrize(
    ("recordings", "expected"),
    [
        ([SPOKEN], ["noise", "it squeals"]),
        ([SILENT, SPOKEN], ["noise", "it squeals"]),
        ([SPOKEN, SILENT], ["noise", "it squeals"]),
        ([SILENT], ["noise"]),
        ([], ["noise"]),
    ],
)
def test_the_concerns_of_the_order_are_there_once_whatever_was_recorded(
    recordings: list[Recording], expected: list[str], lexicon: Lexicon
) -> None:
    numbered = [r.model_copy(update={"id": f"r{n}"}) for n, r in enumerate(recordings, 1)]
    walkaround = find_findings(numbered, lexicon=lexicon, made_by=MADE_BY, order=Order(concerns=("noise",)))
    assert expected == [concern.text for concern in walkaround.concerns]
    assert [f"c{n}" for n in range(1, len(expected) + 1)] == [concern.id for concern in walkaround.concerns]
