"""Findings said where the sound was poor are marked."""

from narrate.judge.poor_stretches import mark_poor
from narrate.pipeline import process_words
from narrate.records.recording import Poor, Recording, Word
from narrate.records.walkaround import PoorStretch, Walkaround
from narrate.settings import Settings
from narrate.words.load import load_lexicon


def walkaround(poor: tuple[Poor, ...]) -> Walkaround:
    """Two findings, said from 0 s and from 10 s on."""
    words = [
        Word(text=text, start_s=start_s + n * 0.5, end_s=start_s + n * 0.5 + 0.4, probability=0.9)
        for start_s, said in ((0.0, "the front pads are worn."), (10.0, "The water pump is leaking."))
        for n, text in enumerate(said.split())
    ]
    recording = Recording(id="r1", name="a.wav", words=tuple(words), poor=poor)
    return process_words([recording], settings=Settings(), lexicon=load_lexicon())


def test_a_finding_said_in_a_poor_stretch_is_doubted_and_the_other_is_not() -> None:
    found = walkaround((Poor(start_s=9.0, end_s=12.0, why="very faint"),))
    doubts = {f.component.id: [d.why for d in f.doubts if d.field == "sound"] for f in found.findings}
    assert doubts == {"brake_pad": [], "water_pump": ["very faint"]}


def test_the_stretches_are_listed_with_their_recording() -> None:
    found = walkaround((Poor(start_s=9.0, end_s=12.0, why="very faint"),))
    assert found.poor_stretches == (PoorStretch(recording="r1", start_s=9.0, end_s=12.0, why="very faint"),)


def test_marking_twice_adds_nothing() -> None:
    found = walkaround((Poor(start_s=0.0, end_s=20.0, why="very faint"),))
    assert mark_poor(found) == found
