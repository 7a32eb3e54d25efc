"""How long recordings say they are, so that progress can be shown as time."""

from pathlib import Path

from narrate.hear import audio


def stated_length_s(path: Path) -> float:
    """Return how long a recording says it is in seconds; 0 for one that does not say or cannot be used."""
    return audio.stated_length_s(path) or 0.0


class Meter:
    """Seconds done of all seconds, while one piece of work after the other is done."""

    def __init__(self, total_s: float) -> None:
        self._total_s = total_s
        self._finished_s = 0.0
        self._earlier_s = 0.0
        self._now = (0.0, 0.0)

    def step(self, done_s: float, length_s: float) -> None:
        """Take how far the recording at work is, of its length; the next of the same work begins at 0 again."""
        before_s, end_s = self._now
        complete = end_s > 0.0 and before_s >= end_s
        if done_s < before_s or (complete and (done_s, length_s) != self._now):
            self._earlier_s += before_s
        self._now = (done_s, length_s)

    def finish(self, length_s: float) -> None:
        """A piece of work of this length is done, however far it had come by its own account."""
        self._finished_s += length_s
        self._earlier_s = 0.0
        self._now = (0.0, 0.0)

    def skip(self, length_s: float) -> None:
        """A piece of work of this length needs no doing."""
        self._total_s -= length_s

    def figures(self) -> tuple[float, float]:
        """Return seconds done and seconds in all."""
        done_s = self._finished_s + self._earlier_s + self._now[0]
        return done_s, max(self._total_s, done_s)
