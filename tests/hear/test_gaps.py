"""Where somebody spoke and nothing was written, and how it is put there."""

from hypothesis import given
from hypothesis import strategies as st

from narrate.hear.gaps import find_gaps, put_in
from narrate.records.recording import Word

WINDOW = (10.0, 30.0)


def words(*spans: tuple[str, float, float]) -> tuple[Word, ...]:
    return tuple(Word(text=text, start_s=start_s, end_s=end_s, probability=0.9) for text, start_s, end_s in spans)


def texts(found: tuple[Word, ...]) -> list[str]:
    return [word.text for word in found]


def test_speech_after_the_last_word_is_a_gap():
    """A decoder that stops early leaves speech without words; the stretch keeps a margin around it."""
    said = words(("front", 10.5, 10.9), ("pads", 10.9, 11.4))
    assert find_gaps(said, WINDOW, [(10.4, 11.4), (13.0, 16.0)]) == ((12.6, 16.4),)


def test_a_stretch_ends_where_the_neighbours_begin():
    """No sound of the words beside it is heard again."""
    said = words(("front", 10.5, 11.0), ("pads", 15.0, 15.4))
    [(start_s, end_s)] = find_gaps(said, WINDOW, [(10.4, 15.4)])
    assert 11.0 <= start_s < 11.2
    assert 14.8 < end_s <= 15.0


def test_silence_is_no_gap():
    """A pause, however long, has no speech in it."""
    said = words(("front", 10.5, 10.9), ("pads", 25.0, 25.4))
    assert find_gaps(said, WINDOW, [(10.4, 11.2), (24.8, 25.5)]) == ()


def test_a_hesitation_is_no_gap():
    """Less than 1.2 s of speech may be a cough or a badly told time."""
    said = words(("front", 10.5, 10.9), ("pads", 14.0, 14.4))
    assert find_gaps(said, WINDOW, [(10.4, 10.9), (12.0, 13.0), (13.9, 14.4)]) == ()


def test_pieces_between_the_same_words_count_together():
    """Two pieces of 0.8 s with a breath between them are one gap."""
    said = words(("front", 10.5, 10.9), ("pads", 15.0, 15.4))
    assert find_gaps(said, WINDOW, [(10.4, 10.9), (12.0, 12.8), (13.2, 14.0), (15.0, 15.4)]) == ((11.6, 14.4),)


def test_a_word_stretched_over_speech_does_not_hide_it():
    """No word lasts five seconds: its tail is speech without words."""
    said = words(("front", 10.5, 15.6), ("pads", 15.6, 16.0))
    [(start_s, end_s)] = find_gaps(said, WINDOW, [(10.4, 16.0)])
    assert 11.5 <= start_s < 11.8
    assert 15.2 < end_s <= 15.6


def test_speech_of_other_windows_does_not_count():
    """Each window answers for its own."""
    assert find_gaps(words(("front", 10.5, 10.9)), WINDOW, [(2.0, 8.0), (10.4, 10.9), (31.0, 40.0)]) == ()


def test_words_are_put_in_order_of_time():
    """What was found stands between the words before and after."""
    said = words(("front", 10.0, 10.4), ("pads", 15.0, 15.4))
    assert texts(put_in(said, words(("left", 12.0, 12.4)), (11.0, 14.0))) == ["front", "left", "pads"]


def test_what_the_neighbours_say_already_is_not_said_twice():
    """The margins may hold the words beside the gap; they are left out, whatever their case."""
    said = words(("front", 10.0, 10.4), ("left", 10.4, 10.9), ("pads,", 15.0, 15.4))
    found = words(("Front", 11.0, 11.2), ("left", 11.2, 11.4), ("rotor", 12.0, 12.4), ("Pads", 13.6, 13.9))
    assert texts(put_in(said, found, (11.0, 14.0))) == ["front", "left", "rotor", "pads,"]


def test_a_gap_before_the_first_word_is_filled():
    """An empty beginning is a gap like others."""
    said = words(("pads", 15.0, 15.4))
    assert find_gaps(said, WINDOW, [(11.0, 13.0), (15.0, 15.4)]) == ((10.6, 13.4),)
    assert texts(put_in(said, words(("rear", 12.0, 12.4)), (10.6, 13.4))) == ["rear", "pads"]


@given(
    st.lists(st.tuples(st.floats(0.05, 3.0), st.floats(0.05, 4.0)), max_size=12),
    st.lists(st.floats(0.1, 3.0), max_size=12),
)
def test_gaps_lie_in_the_window_in_order_and_meet_no_word(pieces, pauses):
    """Whatever the words and the speech, nothing is heard three times."""
    spans, at = [], 10.0
    for pause_s, length_s in pieces:
        spans.append(("word", at + pause_s, at + pause_s + min(length_s, 1.0)))
        at += pause_s + length_s
    speech, at = [], 10.0
    for pause_s in pauses:
        speech.append((at + pause_s, at + 2 * pause_s))
        at += 2 * pause_s
    gaps = find_gaps(words(*spans), (10.0, 60.0), speech)
    assert list(gaps) == sorted(gaps)
    for start_s, end_s in gaps:
        assert 10.0 <= start_s < end_s <= 60.0
        assert all(word_end_s <= start_s or word_start_s >= end_s for _, word_start_s, word_end_s in spans)
