"""Sentences read aloud, compared with what was heard."""

from narrate.find.mining import text_recording
from narrate.score.counts import Share
from narrate.score.reading import compare_reading, reading_list, reading_text
from narrate.words.load import load_lexicon

SENTENCES = (
    "Left front brake pads are down to three millimeters.",
    "Right rear tire tread measures four thirty-seconds.",
    "The water pump is dry on the lower side.",
)


def test_what_is_heard_as_read_is_all_right() -> None:
    read = compare_reading(SENTENCES, text_recording(" ".join(SENTENCES)), load_lexicon())
    assert read.errors.part == 0
    assert read.lost == ()
    assert read.heard["places"] == Share(3, 3)
    assert read.heard["numbers"] == Share(2, 2)
    assert read.heard["parts"].part == read.heard["parts"].of >= 3


def test_a_number_counts_however_it_is_written() -> None:
    heard = "left front brake pads are down to 3 millimeters right rear tire tread measures 4/32"
    heard += " the water pump is dry on the lower side"
    read = compare_reading(SENTENCES, text_recording(heard), load_lexicon())
    assert read.heard["numbers"] == Share(2, 2)
    assert read.errors.part > 0


def test_a_lost_part_and_a_wrong_side_are_told_by_sentence() -> None:
    heard = "Left front break beds are down to three millimeters. Left rear tire tread measures four thirty-seconds."
    heard += " The water pump is dry on the lower side."
    read = compare_reading(SENTENCES, text_recording(heard), load_lexicon())
    assert [lost.number for lost in read.lost][-1] == 2
    assert "Left rear tire tread" in read.lost[-1].heard
    assert read.heard["places"] == Share(2, 3)


def test_nothing_heard_is_nothing_right() -> None:
    read = compare_reading(SENTENCES, text_recording(""), load_lexicon())
    assert {share.part for share in read.heard.values()} == {0}
    assert [lost.number for lost in read.lost] == [1, 2, 3]
    assert "Lost or changed:" in reading_text(read, text_recording(""))


def test_the_list_has_forty_sentences_of_many_parts_and_numbers() -> None:
    sentences = reading_list()
    read = compare_reading(sentences, text_recording(" ".join(sentences)), load_lexicon())
    assert len(sentences) == 40
    assert read.heard["parts"].of >= 40
    assert read.heard["places"].of >= 25
    assert read.heard["numbers"].of >= 15
    assert read.lost == ()
