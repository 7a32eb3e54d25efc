"""The part names that recognition is biased towards, as one short text."""

from collections.abc import Callable, Iterable

HINT_TOKENS = 200
"""The hints must be fewer tokens than this: the decoder has 448 for hints and words together."""
SEPARATOR = ", "


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
