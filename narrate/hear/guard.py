"""Whether words were really heard: loops, echoes of the hints, and words nobody would bet on."""

import math
import re
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from narrate.hear.recogniser import Heard
from narrate.records.recording import Word

Why = Literal["loop", "echo of the hints", "improbable"]
Kept = Literal["first", "second", "neither"]
WORDLESS = "speech without words"
"""Why a part of a credible window is heard again (see hear/gaps.py)."""

LOOP_TIMES = 3
LONGEST_LOOP_WORDS = 12
MOST_SAID = 5
"""Nobody says the same thing more often in a row."""
COMPRESSION_LIMIT = 2.4
SHORTEST_COMPRESSED = 40
"""Characters; below this zlib's own bookkeeping hides any ratio."""
ECHO_TERMS = 4
ECHO_PROBABILITY = 0.5
LOG_PROBABILITY_LIMIT = -1.0
NO_SPEECH_LIMIT = 0.3
NON_SPEECH_LIMIT = 0.6
WORD_PROBABILITY_LIMIT = 0.3
ALONE_PROBABILITY = 0.65
"""Measured: clear speech that had been passed over comes at 0.87; what is invented for eight pieces of speech played
backwards, which the voice detector takes for speech, at 0.22 to 0.60.
"""


@dataclass(frozen=True, kw_only=True)
class Loop:
    """Words first to last (numbers, inclusive) say the same words over and over."""

    first: int
    last: int
    said: tuple[str, ...]
    """One saying, without case and punctuation."""

    @property
    def period(self) -> int:
        """Words in one saying."""
        return len(self.said)

    @property
    def times(self) -> int:
        """Whole sayings."""
        return (self.last - self.first + 1) // self.period


def fault(heard: Heard, hints: Sequence[str] = ()) -> Why | None:
    """Return what makes a window incredible, or None. `hints` are the terms in the order they were given."""
    if find_loop(heard.words) or _compression(heard.text) > COMPRESSION_LIMIT:
        return "loop"
    if echoes_hints(heard.words, hints):
        return "echo of the hints"
    return "improbable" if _improbable(heard) else None


def find_loop(words: Sequence[Word]) -> Loop | None:
    """Return the longest run that says the same one to twelve words three or more times, or None.

    Numbers alone are no loop: three readings in a row are often the same.
    """
    said = [plain(word.text) for word in words]
    best: Loop | None = None
    for period in range(1, min(LONGEST_LOOP_WORDS, len(said) // LOOP_TIMES) + 1):
        run = 0
        for i in range(period, len(said)):
            run = run + 1 if said[i] == said[i - period] else 0
            first = i - run - period + 1
            if run >= period * (LOOP_TIMES - 1) and not _numbers(said[first : first + period]):
                loop = Loop(first=first, last=i, said=tuple(said[first : first + period]))
                if best is None or loop.last - loop.first > best.last - best.first:
                    best = loop
    return best


def echoes_hints(words: Sequence[Word], hints: Sequence[str]) -> bool:
    """Whether four or more hints follow each other as they were given, in words of low probability."""
    terms = [tuple(plain(part) for part in hint.split()) for hint in hints]
    said = [plain(word.text) for word in words]
    for first_term in range(len(terms) - ECHO_TERMS + 1):
        run = [part for term in terms[first_term : first_term + ECHO_TERMS] for part in term]
        for at in range(len(said) - len(run) + 1):
            if said[at : at + len(run)] == run and _mean(words[at : at + len(run)]) < ECHO_PROBABILITY:
                return True
    return False


def better(first: Heard, second: Heard, hints: Sequence[str] = ()) -> Kept:
    """Return which of two hearings of one window to keep.

    `neither` only where both are loops or echoes and the model itself doubts that anybody spoke: what may
    have been said is never dropped because it was hard to hear.
    """
    first_fault, second_fault = fault(first, hints), fault(second, hints)
    if second_fault is None:
        # Silence is believed against a loop or an echo, and against words where there was hardly any speech.
        silent = not second.words
        doubtful = first_fault != "improbable" or first.no_speech > NO_SPEECH_LIMIT
        return "second" if doubtful or not silent else "first"
    made_up = {"loop", "echo of the hints"}
    nobody_spoke = max(first.no_speech, second.no_speech) > NON_SPEECH_LIMIT
    if first_fault in made_up and second_fault in made_up and nobody_spoke:
        return "neither"
    if (first_fault in made_up) != (second_fault in made_up):
        return "second" if first_fault in made_up else "first"
    return "second" if _mean(second.words) > _mean(first.words) else "first"


def credible_alone(second: Heard) -> bool:
    """Whether words are believed that the first hearing had none of: they must be more than not improbable."""
    sure = second.average_log_probability > LOG_PROBABILITY_LIMIT and second.no_speech < NON_SPEECH_LIMIT
    return sure and fault(second) is None and _mean(second.words) >= ALONE_PROBABILITY


def truly_repeated(first: Heard, second: Heard) -> bool:
    """Whether both hearings, with hints and without, heard the same few repeats: then they were said."""
    loops = find_loop(first.words), find_loop(second.words)
    if loops[0] is None or loops[1] is None:
        return False
    same = (loops[0].said, loops[0].times) == (loops[1].said, loops[1].times)
    return same and loops[0].times <= MOST_SAID


def without_repeats(words: Sequence[Word]) -> tuple[Word, ...]:
    """Return the words with each loop cut to its first saying."""
    left = tuple(words)
    while loop := find_loop(left):
        left = left[: loop.first + loop.period] + left[loop.last + 1 :]
    return left


def plain(text: str) -> str:
    """Return a word without case and punctuation."""
    return re.sub(r"[^\w']", "", text.lower())


def _improbable(heard: Heard) -> bool:
    """Whether the model itself hardly believes what it wrote."""
    if not heard.words:
        return False
    if heard.average_log_probability < LOG_PROBABILITY_LIMIT and heard.no_speech > NO_SPEECH_LIMIT:
        return True
    weak = sum(1 for word in heard.words if _probability(word) < WORD_PROBABILITY_LIMIT)
    return weak * 2 > len(heard.words)


def _numbers(said: Sequence[str]) -> bool:
    """Whether all of the words are numbers in figures."""
    return all(word.isdecimal() for word in said)


def _compression(text: str) -> float:
    """Return how many times smaller zlib makes a text."""
    raw = text.encode()
    return len(raw) / len(zlib.compress(raw)) if len(raw) >= SHORTEST_COMPRESSED else 0.0


def _probability(word: Word) -> float:
    """Return a word's probability; a word without one counts as certain."""
    return 1.0 if word.probability is None else word.probability


def _mean(words: Sequence[Word]) -> float:
    """Return the geometric mean of the words' probabilities, 0 for no words."""
    if not words:
        return 0.0
    return math.exp(sum(math.log(max(_probability(word), 1e-6)) for word in words) / len(words))
