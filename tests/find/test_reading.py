"""What the encoder reads becomes mentions only where the lexicon has no words for it."""

from collections.abc import Callable

import numpy as np
import pytest

from narrate.find.draft import Draft
from narrate.find.mining import text_recording
from narrate.find.reading import KINDS, Stretch, add_stretches, likely_stretches, tokens_by_word
from narrate.find.stages import run_stages
from narrate.find.vocabulary import Vocabulary

Read = Callable[[str], Draft]
PLACING = frozenset({"in", "on", "of"})


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
    assert draft.mentions == add_stretches(draft, [Stretch("K", 3, 3, 0.9, "torn")], PLACING).mentions


def test_what_it_does_not_know_is_added_with_its_words(read: Read) -> None:
    """A condition in words of no lexicon becomes a mention that rests on those words."""
    draft = read("the boot has zigged zagged")
    added = add_stretches(draft, [Stretch("K", 3, 4, 0.8, "failed")], PLACING).mentions[len(draft.mentions) :]
    assert [("condition", "failed", "read", ("t3", "t4"))] == [(m.family, m.key, m.how, m.because) for m in added]


def test_a_test_is_told_in_a_whole_phrase(read: Read) -> None:
    """The verb the lexicon knows gives way to the phrase."""
    draft = read("load tested it at half charge")
    after = add_stretches(draft, [Stretch("Y", 0, 5, 0.9)], PLACING)
    assert [(0, 5)] == [(m.first, m.last) for m in after.mentions if m.key == "test"]


def test_the_customers_words_become_a_scope(read: Read) -> None:
    """A complaint read as such is the customer's story, not a finding."""
    draft = read("it groans over bumps")
    assert [("customer", 0, 3)] == [
        (s.kind, s.first, s.last) for s in add_stretches(draft, [Stretch("Q", 0, 3, 0.9)], PLACING).scopes
    ]


@pytest.mark.parametrize(
    ("said", "key"),
    [
        ("brake line clips", "brake_line"),
        ("boots on the rack", "steering_rack_boot"),
        ("trunk closing pump", "washer_pump"),
    ],
)
def test_one_name_is_one_part(read: Read, said: str, key: str) -> None:
    """Of a name of which the lexicon knows only pieces one piece stands for all, as a guess."""
    draft = read(said)
    parts = [
        m
        for m in add_stretches(draft, [Stretch("C", 0, len(draft.tokens) - 1, 0.9)], PLACING).mentions
        if m.family == "component"
    ]
    assert [(key, "guess", 0, len(draft.tokens) - 1)] == [(m.key, m.how, m.first, m.last) for m in parts]


def test_two_names_are_two_parts(read: Read) -> None:
    """Parts the encoder reads as two names stay two."""
    draft = read("pads and rotors")
    stretches = [Stretch("C", 0, 0, 0.9), Stretch("C", 2, 2, 0.9)]
    assert draft.mentions == add_stretches(draft, stretches, PLACING).mentions


def test_the_name_of_a_fault_alone_approves_of_nothing(ready: Vocabulary) -> None:
    """Whatever the encoder makes of "leaking", it is no praise."""
    draft = run_stages(text_recording("front struts are leaking and rear struts are leaking").words, ready)
    words = [draft.tokens[m.first].text for m in draft.mentions if m.key == "approval"]
    assert "leaking" not in words
