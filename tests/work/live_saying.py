"""A hearing that hears what a test says, in the seconds it says it."""

from collections.abc import Sequence

from narrate.hear.audio import RATE, Samples
from narrate.hear.growing import PartialWords
from narrate.records.recording import Word

WORD_S = 0.3
SILENCE = bytes(2 * RATE // 10)


class Saying:
    """Stands for a `Growing`: `say` lays a phrase down, which the next `feed` tells."""

    def __init__(self) -> None:
        self.until_s = 0.0
        self.spoken_s = 0.0
        self._phrase = 0
        self._next: list[PartialWords] = []

    @property
    def quiet_s(self) -> float:
        return self.until_s - self.spoken_s

    def say(self, text: str, *, pause_s: float = 1.0, final: bool = True) -> None:
        """Say a phrase after a pause; every word takes 0.3 s."""
        start_s = self.until_s + pause_s
        words = [
            Word(text=word, start_s=start_s + n * WORD_S, end_s=start_s + (n + 1) * WORD_S, probability=0.9)
            for n, word in enumerate(text.split())
        ]
        self._phrase += 1
        end_s = start_s + len(words) * WORD_S
        self._next.append(
            PartialWords(
                phrase=self._phrase, start_s=start_s, end_s=end_s, words=tuple(words), final=final,
                before_s=pause_s, after_s=0.7,
            )
        )  # fmt: skip
        self.spoken_s = self.until_s = end_s

    def feed(self, samples: Samples, at_s: float) -> list[PartialWords]:
        self.until_s = max(self.until_s, at_s + samples.size / RATE)
        return self.end()

    def end(self) -> Sequence[PartialWords]:
        told, self._next = self._next, []
        return told
