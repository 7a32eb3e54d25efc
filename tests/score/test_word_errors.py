"""How well the words were heard."""

from collections.abc import Callable

import jiwer
import pytest
from hypothesis import given
from hypothesis import strategies as st

from narrate.records.case import Case
from narrate.records.walkaround import Walkaround
from narrate.score.counts import Share
from narrate.score.word_errors import count_part_names, count_word_errors, measure_words


@pytest.mark.parametrize(
    ("said", "heard", "errors"),
    [
        ("the half-shaft clicks", "The half shaft clicks.", Share(0, 4)),
        ("it's fine", "its fine", Share(0, 2)),
        ("two tires", "2 tires", Share(1, 2)),
        ("one two three", "", Share(3, 3)),
        ("", "one two", Share(2, 0)),
        ("one", "one two three four", Share(3, 1)),
    ],
)
def test_errors_are_counted_in_words(said: str, heard: str, errors: Share) -> None:
    """Case, punctuation and hyphens make no difference; everything else does."""
    assert errors == count_word_errors(said, heard)


WORDS = st.lists(st.sampled_from(("brake", "pad", "worn", "front")), min_size=1).map(" ".join)


@given(said=WORDS, heard=WORDS)
def test_plain_words_give_the_rate_of_jiwer(said: str, heard: str) -> None:
    """Where nothing needs making plain, the share is jiwer's own word error rate."""
    assert jiwer.wer(said, heard) == pytest.approx(count_word_errors(said, heard).value)


def test_part_names_count_where_they_were_said(case: Callable[..., Case]) -> None:
    """Only names in what was said are asked for, and any of those heard will do."""
    told = case(
        {"component": ["brake pad", "pad"]},
        {"component": ["wheel bearing"]},
        {"component": ["windscreen"]},
        said="front brake pads and the wheel bearing",
    )
    assert Share(1, 2) == count_part_names(told, "Brake-pad and the will bearing")


def test_words_of_all_recordings_count(case: Callable[..., Case], walkaround: Callable[..., Walkaround]) -> None:
    """The words compared are those the walkaround's recordings hold."""
    score = measure_words(case({"component": ["horn"]}, said="the horn works"), walkaround(said="the corn works"))
    assert (Share(1, 3), Share(0, 1)) == (score.errors, score.part_names)
