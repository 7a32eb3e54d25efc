"""The hints never fill the room the decoder needs for words."""

from narrate.hear.hints import HINT_TOKENS, SEPARATOR, fitting_hints


def by_letters(text: str) -> int:
    """Return four letters as a token, which is near enough."""
    return len(text) // 4


def test_few_hints_are_joined_by_commas():
    """Commas lift recall most."""
    assert SEPARATOR.join(fitting_hints(["brake pad", "rotor"], by_letters)) == "brake pad, rotor"


def test_no_hints_are_no_text():
    """Nothing gives nothing."""
    assert SEPARATOR.join(fitting_hints([], by_letters)) == ""


def test_too_many_are_cut_at_a_term():
    """The text stays under the limit and ends with a whole term."""
    terms = [f"part number {number}" for number in range(500)]
    text = SEPARATOR.join(fitting_hints(terms, by_letters))
    assert by_letters(text) < HINT_TOKENS
    assert text.split(", ") == terms[: text.count(", ") + 1]
    assert by_letters(f" {text}, {terms[text.count(', ') + 1]}") >= HINT_TOKENS


def test_repeated_and_empty_terms_count_once_or_not_at_all():
    """A term is given once, without stray blanks."""
    assert fitting_hints(["rotor", "", " rotor ", "ball  joint"], by_letters) == ("rotor", "ball joint")
