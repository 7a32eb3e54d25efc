"""Words as heard become comparable tokens, and each token still knows its words."""

from collections.abc import Callable

import pytest

from narrate.find.draft import Draft, Token

Tokens = Callable[[str], tuple[Token, ...]]


@pytest.fixture(scope="session")
def tokens(read: Callable[[str], Draft]) -> Tokens:
    return lambda text: read(text).tokens


def texts(found: tuple[Token, ...]) -> list[str]:
    return [token.text for token in found]


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("the a b s light", ["the", "abs", "light"]),
        ("A.B.S. light", ["abs", "light"]),
        ("ABS light", ["abs", "light"]),
        ("the C V joint", ["the", "cv", "joint"]),
        ("30 p s i", ["30", "psi"]),
    ],
)
def test_letters_said_one_by_one_become_the_abbreviation_they_spell(
    tokens: Tokens, said: str, expected: list[str]
) -> None:
    assert texts(tokens(said)) == expected


def test_letters_that_spell_nothing_known_stay_letters(tokens: Tokens) -> None:
    assert texts(tokens("x q z")) == ["x", "q", "z"]


def test_letters_are_not_joined_across_a_full_stop_between_thoughts(tokens: Tokens) -> None:
    assert texts(tokens("plan a. b s light"))[:2] == ["plan", "a"]


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("half-shaft", ["half", "shaft"]),
        ("brake-pad wear", ["brake", "pad", "wear"]),
        ("o-ring", ["o", "ring"]),
        ("driver's side", ["driver", "'s", "side"]),
        ("half-shaft's boot", ["half", "shaft", "'s", "boot"]),
        ("pads/rotors", ["pads", "rotors"]),
        ("don't", ["don't"]),
    ],
)
def test_hyphens_strokes_and_possessives_part_words_and_contractions_stay_whole(
    tokens: Tokens, said: str, expected: list[str]
) -> None:
    assert texts(tokens(said)) == expected


@pytest.mark.parametrize("said", ["a/c compressor", "A/C compressor", "a c compressor", "AC compressor"])
def test_air_conditioning_is_one_word_however_it_is_spelled(tokens: Tokens, said: str) -> None:
    assert texts(tokens(said)) == ["ac", "compressor"]


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("12.4V", ["12.4", "v"]),
        ("3mm.", ["3", "mm"]),
        ("60%", ["60", "percent"]),
        ("$159.95", ["$", "159.95"]),
        ("£120.50,", ["£", "120.50"]),
        ("1,250.50", ["1,250.50"]),
        ("0.4mm", ["0.4", "mm"]),
        ("5/32", ["5/32"]),
        ("2nd gear", ["2nd", "gear"]),
        ("P0301,", ["p0301"]),
    ],
)
def test_a_unit_or_sign_written_onto_a_number_becomes_its_own_token(
    tokens: Tokens, said: str, expected: list[str]
) -> None:
    assert texts(tokens(said)) == expected


@pytest.mark.parametrize("said", [".4 mm", ".4mm"])
def test_a_decimal_that_begins_with_its_point_keeps_the_point(tokens: Tokens, said: str) -> None:
    assert texts(tokens(said)) == [".4", "mm"]


@pytest.mark.parametrize("said", ["2-3 mm", "2-3mm"])
def test_a_hyphen_between_numbers_is_a_range(tokens: Tokens, said: str) -> None:
    assert texts(tokens(said)) == ["2", "to", "3", "mm"]


def test_a_hyphen_before_a_number_is_a_minus(tokens: Tokens) -> None:
    assert texts(tokens("vacuum at -12 today")) == ["vacuum", "at", "minus", "12", "today"]


def test_spelling_is_unified_to_that_of_the_lexicon(tokens: Tokens) -> None:
    assert texts(tokens("Tyres, three millimetres")) == ["tires", "three", "millimeters"]


def test_a_typographic_apostrophe_counts_as_a_plain_one(tokens: Tokens) -> None:
    assert texts(tokens("it’s fine")) == texts(tokens("it's fine"))


def test_punctuation_is_kept_beside_the_token_it_follows(tokens: Tokens) -> None:
    found = tokens("pads, worn. rotors")
    assert [(token.text, token.punctuation) for token in found] == [("pads", ","), ("worn", "."), ("rotors", "")]


@pytest.mark.parametrize("said", ["", "   ", "-", "-- …", "?!"])
def test_a_text_without_words_has_no_tokens(tokens: Tokens, said: str) -> None:
    assert tokens(said) == ()


def test_each_token_knows_the_words_it_was_made_of(tokens: Tokens) -> None:
    found = tokens("the a b s light's on - half-shaft at 12.4V, fine")
    assert [(token.text, token.first_word, token.last_word) for token in found] == [
        ("the", 0, 0),
        ("abs", 1, 3),
        ("light", 4, 4),
        ("'s", 4, 4),
        ("on", 5, 5),
        ("half", 7, 7),
        ("shaft", 7, 7),
        ("at", 8, 8),
        ("12.4", 9, 9),
        ("v", 9, 9),
        ("fine", 10, 10),
    ]


def test_tokens_are_numbered_in_order_and_rest_on_their_words(tokens: Tokens) -> None:
    found = tokens("the a b s light")
    assert [token.id for token in found] == ["t0", "t1", "t2"]
    assert found[1].because == ("w1", "w2", "w3")
