"""What the encoder reads becomes mentions only where the lexicon has no words for it."""

from collections.abc import Callable

import numpy as np

from narrate.find.draft import Draft
from narrate.find.reading import KINDS, Stretch, add_stretches, likely_stretches, tokens_by_word

Read = Callable[[str], Draft]


def test_the_likeliest_stretches_are_cut_where_one_begins() -> None:
    """Two parts side by side are two stretches, and a word that goes on alone belongs to none before it."""
    tags = np.full((5, len(KINDS), 2), 0.001, np.float32)
    part, fault = KINDS.index("C"), KINDS.index("K")
    tags[0, part, 0] = tags[1, part, 1] = tags[2, part, 0] = tags[4, fault, 0] = 0.9
    assert [(part, 0, 1), (part, 2, 2), (fault, 4, 4)] == likely_stretches(tags)


def test_no_words_have_no_stretches() -> None:
    """An empty recording is read without a fault."""
    assert [] == likely_stretches(np.zeros((0, len(KINDS), 2), np.float32))


def test_a_word_cut_in_two_has_both_tokens(read: Read) -> None:
    """The stretch under "spring's" is the spring as well as its 's."""
    draft = read("rear spring's snapped")
    assert ["spring", "'s"] == [draft.tokens[n].text for n in tokens_by_word(draft)[1]]


def test_what_the_lexicon_knows_stands(read: Read) -> None:
    """A condition the lexicon found is not read a second time."""
    draft = read("the boot is torn")
    assert draft.mentions == add_stretches(draft, [Stretch("K", 3, 3, 0.9, "torn")]).mentions


def test_what_it_does_not_know_is_added_with_its_words(read: Read) -> None:
    """A condition in words of no lexicon becomes a mention that rests on those words."""
    draft = read("the boot has zigged zagged")
    added = add_stretches(draft, [Stretch("K", 3, 4, 0.8, "failed")]).mentions[len(draft.mentions) :]
    assert [("condition", "failed", "read", ("t3", "t4"))] == [(m.family, m.key, m.how, m.because) for m in added]


def test_a_test_is_told_in_a_whole_phrase(read: Read) -> None:
    """The verb the lexicon knows gives way to the phrase."""
    draft = read("load tested it at half charge")
    after = add_stretches(draft, [Stretch("Y", 0, 5, 0.9)])
    assert [(0, 5)] == [(m.first, m.last) for m in after.mentions if m.key == "test"]


def test_the_customers_words_become_a_scope(read: Read) -> None:
    """A complaint read as such is the customer's story, not a finding."""
    draft = read("it groans over bumps")
    assert [("customer", 0, 3)] == [
        (s.kind, s.first, s.last) for s in add_stretches(draft, [Stretch("Q", 0, 3, 0.9)]).scopes
    ]
