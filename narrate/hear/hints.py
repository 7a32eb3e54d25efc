"""The part names that recognition is biased towards, as one short text."""

from collections.abc import Callable, Iterable

HINT_TOKENS = 200
"""The hints must be fewer tokens than this: the decoder has 448 for hints and words together."""
SEPARATOR = ", "


def hint_text(terms: Iterable[str], count_tokens: Callable[[str], int]) -> str:
    """Return the terms joined by commas, as many from the front as stay under HINT_TOKENS.

    >>> hint_text(["brake pad", "rotor"], lambda text: len(text.split()))
    'brake pad, rotor'
    """
    return SEPARATOR.join(fitting_hints(terms, count_tokens))


def fitting_hints(terms: Iterable[str], count_tokens: Callable[[str], int]) -> tuple[str, ...]:
    """Return the terms, each once, that fit into the hints."""
    fitting: list[str] = []
    for term in dict.fromkeys(" ".join(term.split()) for term in terms):
        # The model is given the text after a blank, which is a token of its own in front of some words.
        if term and count_tokens(f" {SEPARATOR.join((*fitting, term))}") >= HINT_TOKENS:
            break
        if term:
            fitting.append(term)
    return tuple(fitting)
