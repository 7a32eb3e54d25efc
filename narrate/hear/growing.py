"""Words while somebody is still speaking: sound comes in small pieces, phrases end at pauses.

What is heard here is for the moment; the list that counts is made from the whole recording. Falling behind costs words
of phrases that are still being spoken, never those of finished ones.
"""

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Protocol

import numpy as np

from narrate.hear.audio import RATE, Samples
from narrate.hear.guard import better, fault
from narrate.hear.hints import SEPARATOR
from narrate.hear.recogniser import Heard, Stretch
from narrate.records.recording import Word

PHRASE_PAUSE_S = 0.6
"""Silence that ends a phrase."""
SHORTER_PAUSES = ((7.5, 0.2), (5.0, 0.35))
"""(seconds of a phrase, silence that ends it from there on): who hardly pauses does not wait for words either."""
EARLY_PAUSE_S = 0.3
"""Silence after which a phrase is heard although it may go on: mostly it does not, and then its words are ready."""
EVERY_S = 1.0
"""Sound between two hearings of a phrase that goes on, at least."""
SHARE = 0.65
"""How much of the time may go into hearing what will be heard again."""
LONGEST_S = 10.0
"""A phrase without pauses is cut here, at the longest of its short ones."""
SOONEST_CUT_S = 4.0
MARGIN_S = 0.3
KEPT_S = 0.5
"""Silence kept, so that the first sound of a word is not lost before the detector tells of it."""
LOOK_EVERY_S = 0.2
SHORTEST_S = 0.12
"""Less sound than this is a click."""
BEHIND_S = 1.5
"""Sound that comes in one piece longer than this has waited."""
HOLE_S = 0.25
"""Sound missing for longer than this ends a phrase."""


class QuickEngine(Protocol):
    """What of a recogniser (hear/recogniser.py) live words need."""

    def speech(self, samples: Samples) -> tuple[Stretch, ...]:
        """Return where somebody speaks, in order, without pauses and margins."""

    def listen(self, samples: Samples, windows: Sequence[Stretch], *, language: str, hints: str) -> Iterator[Heard]:
        """Recognise windows of at most 30 s each, in order."""


@dataclass(frozen=True, kw_only=True)
class PartialWords:
    """A phrase as it is heard so far, or (`final`) as it stays. Seconds as they were given with the sound."""

    phrase: int
    """Counts from 1."""
    start_s: float
    end_s: float
    """Where speech begins and ends, by the detector."""
    words: tuple[Word, ...]
    final: bool
    before_s: float | None = None
    """Silence before it; None for the first phrase."""
    after_s: float | None = None
    """Silence after it, as far as it is known; nothing where a long phrase was cut."""

    @property
    def text(self) -> str:
        """The words as one string."""
        return " ".join(word.text for word in self.words)


@dataclass(frozen=True, kw_only=True)
class Again:
    """A better and slower engine for finished phrases whose words ask for it."""

    engine: QuickEngine
    wanted: Callable[[Sequence[Word]], bool]


class Growing:
    """Sound in, words out. One for each person who speaks; sound has to come in order."""

    def __init__(
        self,
        engine: QuickEngine,
        *,
        hints: Sequence[str] = (),
        again: Again | None = None,
        clock: Callable[[], float] = time.perf_counter,
    ) -> None:
        """hints: few, for they are read anew each time. clock: seconds, to see how long hearing takes."""
        self._engine, self._hints, self._again, self._clock = engine, tuple(hints), again, clock
        self._sound: Samples = np.zeros(0, np.float32)
        self._from_s = 0.0
        self._phrase = 1
        self._ended_s: float | None = None
        self._spoken_s = 0.0
        self._looked_s = 0.0
        self._heard: PartialWords | None = None
        self._heard_at_s = 0.0
        self._cost_s = 0.0

    @property
    def until_s(self) -> float:
        """The second up to which sound came."""
        return self._from_s + self._sound.size / RATE

    @property
    def quiet_s(self) -> float:
        """Seconds since somebody spoke, as far as it was looked."""
        return max(0.0, self.until_s - self._spoken_s)

    def feed(self, samples: Samples, at_s: float) -> list[PartialWords]:
        """Take sound (float32, mono, 16 kHz) that begins at a second; return what is new, in order."""
        told = []
        if abs(at_s - self.until_s) > HOLE_S:
            told = self.end()
            self._sound, self._from_s = self._sound[:0], at_s
            self._spoken_s = self._looked_s = at_s
        self._sound = np.concatenate((self._sound, samples))
        if self.until_s - self._looked_s < LOOK_EVERY_S:
            return told
        return told + self._look(behind=samples.size > BEHIND_S * RATE)

    def end(self) -> list[PartialWords]:
        """Return what is still being spoken as it is, for no more sound follows."""
        told = self._look(behind=True)
        speech = self._speech()
        return [*told, *self._final(speech, cut=False)] if speech else told

    def _look(self, *, behind: bool) -> list[PartialWords]:
        """Finish what phrases there are, and hear the beginning of the next one if it is time."""
        told: list[PartialWords] = []
        self._looked_s = self.until_s
        while True:
            speech = self._speech()
            if not speech:
                self._keep_from(self.until_s - KEPT_S)
                return told
            self._spoken_s = speech[-1][1]
            self._keep_from(speech[0][0] - KEPT_S)
            count, cut = _phrase(speech, self.until_s)
            if not count:
                return told if behind else told + self._partial(speech)
            told += self._final(_up_to(speech, count, cut), cut=cut)

    def _speech(self) -> list[Stretch]:
        """Where somebody speaks in what is kept, seconds as given."""
        stretches = self._engine.speech(self._sound)
        return [(start_s + self._from_s, end_s + self._from_s) for start_s, end_s in stretches]

    def _keep_from(self, at_s: float) -> None:
        """Let go of sound before a second."""
        count = max(0, round((at_s - self._from_s) * RATE))
        self._sound = self._sound[count:]
        self._from_s += count / RATE

    def _partial(self, speech: Sequence[Stretch]) -> list[PartialWords]:
        """Hear a phrase that may go on: now and then, and as soon as it pauses."""
        start_s, end_s = speech[0][0], speech[-1][1]
        known = self._heard is not None and self._heard.end_s >= end_s - LOOK_EVERY_S / 2
        paused = self.until_s - end_s >= EARLY_PAUSE_S
        wait_s = max(EVERY_S, self._cost_s / SHARE)
        since_s = self.until_s - max(self._heard_at_s, start_s)
        if known or not (paused or since_s >= wait_s) or _spoken(speech) < SHORTEST_S:
            return []
        self._heard = self._hear(start_s, end_s if paused else self.until_s)
        return [self._heard] if self._heard.words else []

    def _final(self, speech: Sequence[Stretch], *, cut: bool) -> list[PartialWords]:
        """The phrase that these stretches are, its words heard now unless they were just before."""
        start_s, end_s = speech[0][0], speech[-1][1]
        known, before_s = self._heard, None if self._ended_s is None else start_s - self._ended_s
        after_s = 0.0 if cut else self.until_s - end_s
        self._heard, self._ended_s = None, end_s
        told: list[PartialWords] = []
        if _spoken(speech) >= SHORTEST_S:
            # What was heard beyond a cut belongs to the next phrase.
            whole = known is not None and not cut and known.end_s >= end_s - LOOK_EVERY_S / 2
            heard = known if known is not None and whole else self._hear(start_s, end_s)
            if self._again is not None and heard.words and self._again.wanted(heard.words):
                heard = self._hear(start_s, end_s, self._again.engine)
            told = [replace(heard, end_s=end_s, final=True, before_s=before_s, after_s=after_s)]
            self._phrase += 1
        self._keep_from(end_s if cut else end_s + min(after_s, PHRASE_PAUSE_S) / 2)
        return told

    def _hear(self, start_s: float, end_s: float, better_engine: QuickEngine | None = None) -> PartialWords:
        began = self._clock()
        first_s, last_s = max(self._from_s, start_s - MARGIN_S), min(self.until_s, end_s + MARGIN_S)
        first, last = (round((each - self._from_s) * RATE) for each in (first_s, last_s))
        words = self._credible(self._sound[first:last], better_engine or self._engine)
        self._cost_s, self._heard_at_s = self._clock() - began, self.until_s
        moved = tuple(_moved(word, first_s) for word in words)
        return PartialWords(phrase=self._phrase, start_s=start_s, end_s=end_s, words=moved, final=False)

    def _credible(self, samples: Samples, engine: QuickEngine) -> Sequence[Word]:
        """Words of a phrase; where the hints may have put them in, those heard without hints if they are better."""
        first = _listened(engine, samples, SEPARATOR.join(self._hints))
        if not self._hints or fault(first, self._hints) is None:
            return first.words if fault(first) != "loop" else ()
        second = _listened(engine, samples, "")
        return {"first": first.words, "second": second.words, "neither": ()}[better(first, second, self._hints)]


def _listened(engine: QuickEngine, samples: Samples, hints: str) -> Heard:
    window = (0.0, samples.size / RATE)
    return next(iter(engine.listen(samples, [window], language="en", hints=hints)))


def _phrase(speech: Sequence[Stretch], until_s: float) -> tuple[int, bool]:
    """How many stretches make a phrase that has ended, and whether it had to be cut; none while it goes on."""
    start_s = speech[0][0]
    for count, ((_, end_s), after_s) in enumerate(zip(speech, [*(s[0] for s in speech[1:]), until_s], strict=True), 1):
        if end_s - start_s > LONGEST_S:
            break
        if after_s - end_s >= _pause_after(end_s - start_s):
            return count, False
    if speech[-1][1] - start_s <= LONGEST_S:
        return 0, False
    pauses = [
        (after[0] - before[1], count)
        for count, (before, after) in enumerate(pairwise(speech), 1)
        if SOONEST_CUT_S <= before[1] - start_s <= LONGEST_S
    ]
    return (max(pauses)[1] if pauses else 1), True


def _pause_after(length_s: float) -> float:
    """Silence that ends a phrase of so many seconds."""
    return next((pause_s for from_s, pause_s in SHORTER_PAUSES if length_s >= from_s), PHRASE_PAUSE_S)


def _up_to(speech: Sequence[Stretch], count: int, cut: bool) -> list[Stretch]:
    """The stretches of a phrase; one that is too long by itself goes no further than a phrase may."""
    last_s = speech[0][0] + LONGEST_S
    return [(start_s, min(end_s, last_s) if cut else end_s) for start_s, end_s in speech[:count]]


def _spoken(speech: Sequence[Stretch]) -> float:
    return sum(end_s - start_s for start_s, end_s in speech)


def _moved(word: Word, by_s: float) -> Word:
    def at(second: float | None) -> float | None:
        return None if second is None else round(second + by_s, 2)

    return word.model_copy(update={"start_s": at(word.start_s), "end_s": at(word.end_s)})
