"""How a phrase of the lexicon, and a word that was heard, become comparable words."""

import re
from collections.abc import Mapping

_JOINTS = re.compile(r"[\s\-‐-―/]+")
_POSSESSIVE = re.compile(r"^(.+?)(['’]s)$")
_SIBILANT = re.compile(r"(s|x|z|ch|sh)$")
_CONSONANT_Y = re.compile(r"[^aeiou]y$")


def phrase_words(text: str, spelling: Mapping[str, str]) -> tuple[str, ...]:
    """Split a lexicon phrase as the tokenizer splits speech: at blanks, hyphens, slashes, before 's.

    >>> phrase_words("driver's side-marker tyre", {"tyre": "tire"})
    ('driver', "'s", 'side', 'marker', 'tire')
    """
    words: list[str] = []
    for piece in _JOINTS.split(text.lower().strip()):
        owner = _POSSESSIVE.match(piece)
        for word in (owner[1], "'s") if owner else (piece,):
            if word:
                words.append(spelling.get(word, word))
    return tuple(words)


def plural(phrase: str) -> str:
    """Form the plural of a phrase's last word by the regular rules of English.

    >>> plural("brake shoe"), plural("bush"), plural("battery")
    ('brake shoes', 'bushes', 'batteries')
    """
    if _CONSONANT_Y.search(phrase):
        return phrase[:-1] + "ies"
    return phrase + ("es" if _SIBILANT.search(phrase) else "s")
