"""How words sound: a pronouncing dictionary, learned letter-to-sound rules for other words, and how alike two are.

The dictionary is the CMU Pronouncing Dictionary 0.7b; both files are made by models/train_sounds.py, which lists
the characters that stand for its phones. Stress is left out.
"""

import json
import lzma
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from narrate.settings import project_folder

VOWELS = {
    "I": (0.0, 0.0), "i": (0.2, 0.2), "A": (0.1, 0.4), "e": (0.2, 0.6), "@": (0.2, 0.9), "V": (0.6, 0.7),
    "R": (0.6, 0.5), "a": (0.8, 1.0), "c": (1.0, 0.8), "o": (0.9, 0.5), "u": (0.8, 0.2), "U": (1.0, 0.0),
    "Y": (0.5, 0.9), "W": (0.8, 0.9), "O": (0.9, 0.7),
}  # fmt: skip
"""Where the tongue is: how far back and how low, 0 to 1 each; a diphthong where it begins. After the IPA chart."""
CONSONANTS = {
    "p": "stop lips -", "b": "stop lips +", "t": "stop ridge -", "d": "stop ridge +", "k": "stop soft -",
    "g": "stop soft +", "C": "affricate palate -", "J": "affricate palate +", "f": "fricative lips -",
    "v": "fricative lips +", "T": "fricative teeth -", "D": "fricative teeth +", "s": "fricative ridge -",
    "z": "fricative ridge +", "S": "fricative palate -", "Z": "fricative palate +", "h": "fricative throat -",
    "m": "nasal lips +", "n": "nasal ridge +", "G": "nasal soft +", "l": "liquid ridge +", "r": "liquid palate +",
    "w": "glide lips +", "y": "glide palate +",
}  # fmt: skip
"""Manner, place and voice of each consonant. After the IPA chart."""
MANNER, PLACE, VOICE = 0.4, 0.35, 0.2
FLAP = 0.15
"""t and d between vowels are one sound in American speech."""
OTHER_SORT = 1.0
"""A vowel for a consonant."""
FAINT = {"V": 0.5, "h": 0.5, "t": 0.7, "d": 0.7, "z": 0.7, "s": 0.75}
"""What it costs to lose or add a sound that is easily swallowed …"""
LOST = 0.9
"""… and any other. Costs by judgement, after the measurements on mis-heard part names; not fitted."""
LETTERS = {
    "a": "A", "b": "bI", "c": "sI", "d": "dI", "e": "I", "f": "ef", "g": "JI", "h": "AC", "i": "Y", "j": "JA",
    "k": "kA", "l": "el", "m": "em", "n": "en", "o": "o", "p": "pI", "q": "kyU", "r": "ar", "s": "es", "t": "tI",
    "u": "yU", "v": "vI", "w": "dVbVlyU", "x": "eks", "y": "wY", "z": "zI",
}  # fmt: skip
"""How letters are named: "CV", "ABS"."""


@dataclass(frozen=True, slots=True)
class Speller:
    """Known words and rules for the rest."""

    words: Mapping[str, str]
    neighbours: tuple[int, ...]
    rules: Mapping[str, str]

    def sounds(self, word: str) -> str:
        """One character a sound; nothing for what is no word of letters.

        >>> load_speller().sounds("brake"), load_speller().sounds("cv")
        ('brAk', 'sIvI')
        """
        known = self.words.get(word)
        if known is not None:
            return known
        letters = "".join(letter for letter in word if "a" <= letter <= "z")
        if not any(letter in "aeiouy" for letter in letters):
            return "".join(LETTERS[letter] for letter in letters)
        return "".join(self._told(letters, at) for at in range(len(letters)))

    def _told(self, word: str, at: int) -> str:
        key = word[at] + "".join(word[at + by] if 0 <= at + by < len(word) else "#" for by in self.neighbours)
        return next(self.rules[key[:length]] for length in range(len(key), 0, -1) if key[:length] in self.rules)


@lru_cache(maxsize=1)
def load_speller() -> Speller:
    """The shipped dictionary and rules."""
    folder = project_folder("models") / "sounds"
    lines = lzma.decompress((folder / "words.txt.xz").read_bytes()).decode().splitlines()
    rules = json.loads((folder / "letters.json").read_text("utf-8"))
    words = dict(line.split(" ", 1) for line in lines)
    return Speller(words, tuple(rules["neighbours"]), rules["rules"])


def _unlike(one: str, other: str) -> float:
    """What it costs to hear one sound for another, 0 to 1."""
    if one == other:
        return 0.0
    if {one, other} == {"t", "d"}:
        return FLAP
    if one in VOWELS and other in VOWELS:
        (back, low), (back_too, low_too) = VOWELS[one], VOWELS[other]
        return min(1.0, 0.15 + 0.6 * (abs(back - back_too) + abs(low - low_too)))
    if one in VOWELS or other in VOWELS:
        return OTHER_SORT
    pairs = zip(CONSONANTS[one].split(), CONSONANTS[other].split(), (MANNER, PLACE, VOICE), strict=True)
    return sum(cost for a, b, cost in pairs if a != b)


_SOUNDS = (*VOWELS, *CONSONANTS)
_COST = {one: {other: _unlike(one, other) for other in _SOUNDS} for one in _SOUNDS}
_GONE = {sound: FAINT.get(sound, LOST) for sound in _SOUNDS}


@lru_cache(maxsize=100_000)
def alike(one: str, other: str) -> float:
    """How alike two runs of sounds are, 0 to 1: one less the cheapest way from one to the other, by the longer.

    >>> round(alike("brAk", "brAk"), 2), alike("rer", "rir") > 0.8, alike("lift", "fIl") < 0.5
    (1.0, True, True)
    """
    longest = max(len(one), len(other))
    if not longest:
        return 0.0
    row = [0.0]
    for sound in other:
        row.append(row[-1] + _GONE[sound])
    for sound in one:
        cost, gone = _COST[sound], _GONE[sound]
        last, row[0] = row[0], row[0] + gone
        for at, heard in enumerate(other, 1):
            cheapest = min(last + cost[heard], row[at] + gone, row[at - 1] + _GONE[heard])
            last, row[at] = row[at], cheapest
    return max(0.0, 1 - row[-1] / longest)
