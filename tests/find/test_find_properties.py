"""What must hold for any words whatever."""

from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from narrate.find.draft import Draft
from narrate.find.numbers import DENOMINATORS, DIGITS, EACH, SCALES, TEENS, TENS, read_number
from narrate.records.recording import Recording, Word
from narrate.records.walkaround import Evidence, Finding, Walkaround
from narrate.words.lexicon import Lexicon
from narrate.words.load import load_lexicon

Found = Callable[[str], Walkaround]

# No deadline and few examples: the machine may be busy, and each example runs every stage.
moderately = settings(
    max_examples=150, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture]
)

NUMBER_WORDS = (*DIGITS, *TEENS, *TENS, *EACH, *DENOMINATORS, *SCALES)
GLUE = (
    *"is are not no at and the it it's they but or to a of needs left right front rear both sorry wait".split(),
    *"customer says if may be point half minus hundred dollars mil volts thirty seconds p u 12.4V".split(),
    *"$159.95 2-3 4/32 P0301 a/c -- . , … ½ °C".split(),
)
LEXICON_WORDS = sorted({" ".join(phrase.words) for phrase in load_lexicon().phrases()})

words_of_the_trade = st.sampled_from(LEXICON_WORDS)
junk = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
mixed = st.lists(
    st.one_of(words_of_the_trade, st.sampled_from(NUMBER_WORDS), st.sampled_from(GLUE), junk), min_size=3, max_size=40
).map(" ".join)
plain = st.lists(st.one_of(words_of_the_trade, st.sampled_from(GLUE)), min_size=3, max_size=40).map(" ".join)
any_text = st.one_of(mixed, plain, mixed, plain, st.text(max_size=200))


def all_evidence(walkaround: Walkaround) -> list[Evidence]:
    """Every piece of evidence there is."""
    owners = (*walkaround.findings, *walkaround.concerns, *walkaround.unplaced)
    return [piece for owner in owners for piece in owner.evidence]


def all_ids(walkaround: Walkaround) -> list[str]:
    """The ids of everything found."""
    owners = (*walkaround.findings, *walkaround.concerns, *walkaround.unplaced)
    return [owner.id for owner in owners]


@moderately
@given(text=any_text)
@example(text="¹ ² ½ ٣ 3½ mm")
@example(text="p 0 3 0 $ £ - -- 1/0 0/0 , . point minus")
def test_no_text_makes_find_fail_and_all_evidence_is_what_was_said(text: str, found: Found) -> None:
    walkaround = found(text)
    said = [word.text for word in walkaround.recordings[0].words]
    for piece in all_evidence(walkaround):
        assert 0 <= piece.first_word <= piece.last_word < len(said)
        assert piece.said == " ".join(said[piece.first_word : piece.last_word + 1])


@moderately
@given(text=any_text)
def test_ids_are_unique_and_answers_and_review_order_name_what_is_there(text: str, found: Found) -> None:
    walkaround = found(text)
    ids = all_ids(walkaround)
    assert len(ids) == len(set(ids))
    concerns = {concern.id for concern in walkaround.concerns}
    answered = {answer.concern for finding in walkaround.findings for answer in finding.answers}
    assert answered <= concerns
    assert set(walkaround.review_order) <= {finding.id for finding in walkaround.findings}


@moderately
@given(text=any_text)
def test_the_same_words_give_the_same_walkaround(text: str, found: Found) -> None:
    assert found(text) == found(text)


@moderately
@given(text=any_text)
def test_a_walkaround_comes_back_from_json_as_it_was(text: str, found: Found) -> None:
    walkaround = found(text)
    written = walkaround.model_dump_json(by_alias=True)
    again = Walkaround.model_validate_json(written)
    assert again == walkaround
    assert again.model_dump_json(by_alias=True) == written


@pytest.fixture(scope="session")
def illegal(lexicon: Lexicon) -> Callable[[Finding], list[str]]:
    """The ids of a finding that the lexicon does not allow; a function, for the lexicon is too long to print."""

    def ids(finding: Finding) -> list[str]:
        part, action = finding.component.id, finding.recommendation.action
        if part not in lexicon.components:
            return [part]
        wrong = [condition.id for condition in finding.conditions if not lexicon.legal(part, condition.id)]
        return wrong if action is None or action in lexicon.actions else [*wrong, action]

    return ids


@moderately
@given(text=any_text)
def test_what_is_written_down_is_legal_by_the_lexicon_or_doubted(
    text: str, found: Found, illegal: Callable[[Finding], list[str]]
) -> None:
    for finding in found(text).findings:
        # What the lexicon does not expect of a part is kept as said, and doubted.
        doubted = any(doubt.field == "condition" for doubt in finding.doubts)
        assert illegal(finding) == [] or doubted
        assert 0 <= finding.confidence.overall <= 1


@moderately
@given(text=any_text)
def test_tokens_lie_inside_the_words_and_never_go_back(text: str, read: Callable[[str], Draft]) -> None:
    draft = read(text)
    ends = [-1]
    for token in draft.tokens:
        assert 0 <= token.first_word <= token.last_word < len(draft.words)
        assert token.first_word >= ends[-1]
        ends.append(token.last_word)


@moderately
@given(words=st.lists(st.one_of(st.sampled_from((*NUMBER_WORDS, *GLUE)), junk), max_size=12), at=st.integers(-2, 14))
def test_a_number_ends_after_it_begins_and_within_the_words(words: list[str], at: int) -> None:
    number = read_number(words, at)
    if number is not None:
        assert at < number.end <= len(words)
        assert number.value.is_finite()


@moderately
@given(
    texts=st.lists(mixed, min_size=2, max_size=3),
    times=st.booleans(),
)
def test_ids_count_through_several_recordings(
    texts: list[str], times: bool, found_in: Callable[[list[Recording]], Walkaround]
) -> None:
    recordings = [
        Recording(
            id=f"r{number}",
            name="text",
            words=tuple(
                Word(text=word, start_s=at * 0.5, end_s=at * 0.5 + 0.4, probability=0.9) if times else Word(text=word)
                for at, word in enumerate(text.split())
            ),
        )
        for number, text in enumerate(texts, 1)
    ]
    walkaround = found_in(recordings)
    ids = all_ids(walkaround)
    assert len(ids) == len(set(ids))
    words = {recording.id: recording.words for recording in recordings}
    for piece in all_evidence(walkaround):
        spoken = words[piece.recording][piece.first_word : piece.last_word + 1]
        assert piece.said == " ".join(word.text for word in spoken)
        assert (piece.start_s, piece.end_s) == (spoken[0].start_s, spoken[-1].end_s)


@pytest.mark.parametrize("blank", ["", " ", "\n\t ", "\u200b", "\0"])
def test_silence_finds_nothing(blank: str, found: Found) -> None:
    walkaround = found(blank)
    assert (walkaround.findings, walkaround.concerns, walkaround.unplaced) == ((), (), ())
