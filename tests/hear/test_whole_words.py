"""Words come in one piece, however the library cuts them."""

from types import SimpleNamespace

from narrate.hear.whisper_engine import _whole_words


def piece(text: str, at_s: float, probability: float = 0.9) -> SimpleNamespace:
    """A piece of a word as the library gives it, half a second long."""
    return SimpleNamespace(word=text, start=at_s, end=at_s + 0.5, probability=probability)


def test_what_begins_without_a_blank_goes_on_with_the_word_before() -> None:
    pieces = [
        piece(" 51", 0.0),
        piece(",200", 0.5, 0.4),
        piece(" miles", 1.0),
        piece(" anti", 1.5),
        piece("-roll", 2.0),
    ]
    assert [("51,200", 0.0, 1.0, 0.4), ("miles", 1.0, 1.5, 0.9), ("anti-roll", 1.5, 2.5, 0.9)] == [
        (word.text, word.start_s, word.end_s, word.probability) for word in _whole_words(pieces, 0.0)
    ]


def test_times_are_shifted_and_empty_pieces_left_out() -> None:
    (word,) = _whole_words([piece(" ", 0.0), piece("pads", 0.5)], 10.0)
    assert ("pads", 10.5) == (word.text, word.start_s)
