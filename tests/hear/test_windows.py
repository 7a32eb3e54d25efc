"""Speech is cut into windows that the model can hear at once, at long pauses."""

from hypothesis import given
from hypothesis import strategies as st

from narrate.hear.recogniser import LONGEST_WINDOW_S, MARGIN_S, cut_windows, with_margins


def test_short_speech_is_one_window():
    """Pauses stay inside a window."""
    assert cut_windows([(1.0, 4.0), (9.0, 12.0)]) == ((1.0, 12.0),)


def test_no_speech_has_no_windows():
    """Nothing to hear."""
    assert cut_windows([]) == ()


def test_the_longest_pause_parts_windows():
    """Of the pauses where a window may end, the longest is taken."""
    stretches = [(0.0, 10.0), (10.0, 18.0), (20.0, 24.0), (24.5, 28.0), (28.0, 33.0)]
    assert cut_windows(stretches) == ((0.0, 18.0), (20.0, 33.0))


def test_a_long_silence_parts_windows():
    """Speech after a long silence is a window of its own."""
    assert cut_windows([(0.0, 5.0), (100.0, 105.0)]) == ((0.0, 5.0), (100.0, 105.0))


def test_margins_meet_half_way_and_stay_in_the_recording():
    """A short pause is shared, a long one gives both sides the whole margin."""
    speech = [(0.25, 2.0), (2.5, 4.0), (6.0, 9.75)]
    assert with_margins(speech, 10.0) == ((0.0, 2.25), (2.25, 4.0 + MARGIN_S), (6.0 - MARGIN_S, 10.0))
    assert with_margins([], 10.0) == ()


@given(st.lists(st.tuples(st.floats(0.0, 40.0), st.floats(0.1, LONGEST_WINDOW_S)), max_size=40))
def test_windows_cover_all_speech_in_order_and_none_is_too_long(pieces):
    """Every stretch lies in one window."""
    stretches, at = [], 0.0
    for pause, length in pieces:
        stretches.append((at + pause, at + pause + length))
        at += pause + length
    windows = cut_windows(stretches)
    assert list(windows) == sorted(windows)
    assert all(end - start <= LONGEST_WINDOW_S + 1e-6 for start, end in windows)
    for start, end in stretches:
        assert 1 == sum(1 for first, last in windows if first <= start and end <= last)
