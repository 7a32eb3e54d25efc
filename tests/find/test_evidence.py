"""Evidence: stretches of the words as heard, verbatim, with their times, and nothing outside the recording."""

import pytest

from narrate.find.draft import Draft
from narrate.find.evidence import NEAR, evidence_of, said, said_tokens, stretch_evidence
from narrate.find.findings import Context
from narrate.find.mining import mine, text_recording
from narrate.find.stages import run_stages
from narrate.find.tokens import split_tokens
from narrate.find.vocabulary import Vocabulary
from narrate.records.recording import Word

TEXTS = (
    "The L/F strut's leaking -- needs replacing, and the A B S light is on!",
    "Front pads at 3mm; rear pads at 8 mm. Uh... the offside, no, nearside rear tyre's 1.6mm.",
    "customer says it's noisy. wheel bearing's rough, that's your noise, so um replace it",
)


@pytest.fixture(scope="module")
def draft(ready: Vocabulary) -> Draft:
    """Twelve tokens over eleven words: "3mm" is two."""
    words = "Front pads at 3mm, so we recommend pads and new rotors.".split()
    timed = tuple(Word(text=w, start_s=float(n), end_s=n + 0.5) for n, w in enumerate(words))
    return split_tokens(Draft(timed), ready)


def test_words_stand_as_they_were_heard(draft: Draft) -> None:
    assert "Front pads at 3mm," == said(draft, 0, 3)


def test_two_tokens_of_one_word_are_that_word(draft: Draft) -> None:
    assert ("3", "mm", "3mm,") == (draft.tokens[3].text, draft.tokens[4].text, said_tokens(draft, 3, 4))


def test_a_stretch_has_the_times_of_its_first_and_last_word(draft: Draft) -> None:
    piece = stretch_evidence(draft, 1, 3, "r2")
    assert ("r2", 1, 3, 1.0, 3.5, "pads at 3mm,") == tuple(piece.model_dump().values())


def test_text_without_sound_has_no_times(ready: Vocabulary) -> None:
    typed = split_tokens(Draft(text_recording("left strut leaking").words), ready)
    (piece,) = evidence_of(typed, [1], "r1")
    assert (None, None, "strut") == (piece.start_s, piece.end_s, piece.said)


def test_words_near_each_other_are_one_piece(draft: Draft) -> None:
    assert [(0, NEAR + 1)] == [(e.first_word, e.last_word) for e in evidence_of(draft, [0, NEAR + 2], "r1")]


def test_words_far_apart_are_two_pieces(draft: Draft) -> None:
    assert [(0, 0), (10, 10)] == [(e.first_word, e.last_word) for e in evidence_of(draft, [0, 11], "r1")]


def test_the_order_and_number_of_tokens_make_no_difference(draft: Draft) -> None:
    assert evidence_of(draft, [0, 1, 11], "r1") == evidence_of(draft, [11, 1, 0, 1, 0], "r1")


def test_no_tokens_are_no_evidence(draft: Draft) -> None:
    assert () == evidence_of(draft, [], "r1")


@pytest.mark.parametrize("text", TEXTS)
def test_all_evidence_of_a_text_lies_inside_it_and_is_verbatim(ready: Vocabulary, text: str) -> None:
    words = text.split()
    mined = mine(run_stages(text_recording(text).words, ready), ready, Context("us", "left", "r1"))
    pieces = [e for item in (*mined.findings, *mined.unplaced, *mined.concerns) for e in item.evidence]
    assert [True] * len(pieces) == [0 <= e.first_word <= e.last_word < len(words) for e in pieces]
    assert [" ".join(words[e.first_word : e.last_word + 1]) for e in pieces] == [e.said for e in pieces] != []


@pytest.mark.parametrize("text", TEXTS)
def test_every_finding_has_evidence(ready: Vocabulary, text: str) -> None:
    mined = mine(run_stages(text_recording(text).words, ready), ready, Context("us", "left", "r1"))
    assert [] == [finding.id for finding in mined.findings if not finding.evidence]
