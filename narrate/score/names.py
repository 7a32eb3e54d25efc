"""When two names are the same: plurals, hyphens and words for places do not count."""

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

PLACE_WORDS = frozenset(("front", "rear", "left", "right", "upper", "lower", "inner", "outer"))

_LETTERS_APART = re.compile(r"\b(\w)[/.](\w)\b")
_MARKS = re.compile(r"['’]")
_WORD = re.compile(r"[^\W_]+")


def _no_names(_: str) -> frozenset[str]:
    return frozenset()


@dataclass(frozen=True)
class Names:
    """Every name of a component, condition or action, by its id; the lexicon knows them."""

    of_component: Callable[[str], frozenset[str]] = _no_names
    of_condition: Callable[[str], frozenset[str]] = _no_names
    of_action: Callable[[str], frozenset[str]] = _no_names


def name_key(name: str) -> str:
    """What is compared of a name.

    >>> name_key("Front brake-pads"), name_key("brake pad"), name_key("A/C condenser")
    ('brakepad', 'brakepad', 'accondenser')
    """
    words = [_singular(word) for word in split_words(name)]
    # A name made of nothing but places keeps them: else it would equal every other such name.
    return "".join(word for word in words if word not in PLACE_WORDS) or "".join(words)


def name_keys(names: Iterable[str]) -> frozenset[str]:
    """The keys of several names."""
    return frozenset(name_key(name) for name in names) - {""}


def split_words(text: str) -> list[str]:
    """Lower-case words, split at blanks, hyphens and the like; `a/c` is one."""
    return _WORD.findall(_LETTERS_APART.sub(r"\1\2", _MARKS.sub("", text.casefold())))


def spoken_at(names: Iterable[str], words: Sequence[str]) -> list[range]:
    """Where any of the names is said in `words`, as ranges of word numbers."""
    wanted = name_keys(names)
    longest = max(map(len, wanted), default=0)
    parts = [(number, _singular(part)) for number, word in enumerate(words) for part in split_words(word)]
    found = []
    for start, (first, _) in enumerate(parts):
        joined = ""
        for last, part in parts[start:]:
            joined += part
            if joined in wanted:
                found.append(range(first, last + 1))
            if len(joined) >= longest:
                break
    return found


def _singular(word: str) -> str:
    """Both sides of a comparison go through here, so a wrong stem does no harm as long as it is the same."""
    if len(word) <= 3 or word.endswith("ss") or not word.endswith("s"):
        return word
    if word.endswith("ies"):
        return f"{word[:-3]}y"
    return word[:-2] if word.endswith(("ches", "shes", "xes", "sses")) else word[:-1]
