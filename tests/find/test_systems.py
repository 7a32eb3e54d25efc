"""Which systems a recording talks about."""

from narrate.find.mining import text_recording
from narrate.find.systems import systems_named
from narrate.words.load import load_lexicon


def test_the_system_named_most_often_comes_first() -> None:
    said = text_recording("front pads are thin, rotors are scored, a caliper is stuck, and the water pump leaks")
    assert systems_named([said], load_lexicon()) == ("brakes", "cooling")


def test_what_must_not_be_searched_names_nothing() -> None:
    said = text_recording("front pads are thin").model_copy(update={"minable": False})
    assert systems_named([said], load_lexicon()) == ()
