"""Trouble codes: their form, their two bytes and what they are about."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from narrate.judge.trouble_codes import code_form, from_word, plain_code, to_word

words = st.integers(0, 0xFFFF)


@pytest.mark.parametrize(
    ("code", "word"),
    [
        ("P0135", 0x0135),  # bits by talk.maemo.org p=1257514
        ("B16A1", 0x96A1),  # ptrnatesting.blogspot.com
        ("P0301", 0x0301),  # these five computed in standards.md section 5
        ("P0420", 0x0420),
        ("C0035", 0x4035),
        ("B1234", 0x9234),
        ("U0100", 0xC100),
        ("P0A0F", 0x0A0F),  # hex, not decimal: from memory
    ],
)
def test_published_codes(code: str, word: int) -> None:
    assert code_form(code) is None
    assert to_word(code) == word
    assert from_word(word) == code


def test_every_two_bytes_are_a_code_of_their_own() -> None:
    codes = [from_word(word) for word in range(0x10000)]
    assert len(set(codes)) == 0x10000
    assert all(code_form(code) is None for code in codes)
    assert [to_word(code) for code in codes] == list(range(0x10000))


@pytest.mark.parametrize("word", [-1, 0x10000])
def test_more_than_two_bytes_are_refused(word: int) -> None:
    with pytest.raises(ValueError, match="two bytes"):
        from_word(word)


@pytest.mark.parametrize(
    ("code", "problem"),
    [
        # The first five are the invalid ones of standards.md section 5.
        ("P4000", "The second character is 4, but it is never other than 0, 1, 2 or 3."),
        ("X0301", "It begins with X, but a code begins with P, C, B or U."),
        ("P030", "It has 4 characters: a digit is missing."),
        ("PO301", "Place 2 has the letter O where the digit 0 may be meant."),
        ("P0G01", "It has G among the last three characters, which are 0-9 or A-F."),
        ("P03I1", "Place 4 has the letter I where the digit 1 may be meant."),
        ("P301", "It has 4 characters: a digit is missing."),
        ("P", "It has 1 character: a code has 5."),
        ("P03011", "It has 6 characters: a code has 5."),
        ("0301", "The letter P, C, B or U is missing at the front."),
        ("", "There is no code."),
        ("P030²", "It has ² among the last three characters, which are 0-9 or A-F."),
    ],
)
def test_a_wrong_form_is_told_in_a_sentence(code: str, problem: str) -> None:
    assert code_form(code) == problem
    for use in (plain_code, to_word):
        with pytest.raises(ValueError, match=r"\.$"):
            use(code)


@given(st.text("PCBUXOI0123456789ABCDEFG", max_size=7))
def test_only_the_right_form_is_right(code: str) -> None:
    right = len(code) == 5 and code[0] in "PCBU" and code[1] in "0123"
    right = right and all(each in "0123456789ABCDEF" for each in code[2:])
    assert (code_form(code) is None) is right


@given(words)
def test_blanks_and_lower_case_do_not_matter(word: int) -> None:
    code = from_word(word).lower()
    assert to_word(f" {code[0]} {code[1:]} ") == word


@pytest.mark.parametrize(
    ("code", "sentence"),
    [
        # 0 and 2 common, 1 the maker's: a service text of 2008, read for standards.md section 5. The rest from memory.
        ("P0303", "Engine and transmission control (P), a code common to all makers, about ignition or misfire."),
        ("P2714", "Engine and transmission control (P), a code common to all makers, about transmission."),
        ("P1303", "Engine and transmission control (P), a code of the maker's own."),
        ("P3400", "Engine and transmission control (P), a code that may be common or the maker's own."),
        (
            "P0A0F",
            "Engine and transmission control (P), a code common to all makers, about hybrid or electric drive.",
        ),
        ("P2A00", "Engine and transmission control (P), a code common to all makers."),
        ("C0035", "Chassis: brakes, steering and suspension (C), a code common to all makers."),
        # The service text speaks of engine codes; by general tables the 2s of C, B and U are the maker's own.
        ("B2100", "Body: airbags, comfort, lights and doors (B), a code of the maker's own."),
        ("U0100", "Network between the control units (U), a code common to all makers."),
    ],
)
def test_what_a_code_is_about(code: str, sentence: str) -> None:
    assert plain_code(code) == sentence


@given(words)
def test_every_code_is_told_in_one_sentence(word: int) -> None:
    sentence = plain_code(from_word(word))
    assert sentence.endswith(".")
    assert sentence.count(".") == 1
    assert f"({from_word(word)[0]})" in sentence
