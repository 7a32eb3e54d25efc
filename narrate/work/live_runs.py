"""Seconds of several runs of one capture laid behind each other, and back."""

from typing import Any

from narrate.records.capture import Mark

BETWEEN_S = 2.0
"""Silence that is put between two runs: nothing said before is joined with what is said after."""


class Runs:
    """Which run is being recorded, and where each lies in one row of seconds.

    >>> runs = Runs()
    >>> runs.begin(0, 0.0), runs.inside(7.5), runs.begin(1, 0.0), runs.inside(1.0)
    ({'run': 0, 'from_s': 0.0}, 7.5, {'run': 1, 'from_s': 9.5}, 10.5)
    >>> runs.times(9.6, 10.5), runs.times(1.0, 7.5)
    ({'start_s': 0.1, 'end_s': 1.0, 'run': 1}, {'start_s': 1.0, 'end_s': 7.5, 'run': 0})
    """

    def __init__(self) -> None:
        self._from_s: dict[int, float] = {}
        self._run = 0
        self._until_s = 0.0

    def begin(self, run: int, at_s: float) -> dict[str, Any] | None:
        """Go on with a run; returns what is to be kept where it is a new one."""
        self._run = run
        if run in self._from_s:
            return None
        self._from_s[run] = self._until_s + BETWEEN_S if self._from_s else 0.0
        self.inside(at_s)
        return {"run": run, "from_s": self._from_s[run]}

    def again(self, entry: dict[str, Any]) -> None:
        """Take in what was kept of a run before."""
        self._from_s[entry["run"]] = self._until_s = entry["from_s"]

    def inside(self, at_s: float) -> float:
        """A second of the present run among those of all."""
        second = self._from_s.get(self._run, 0.0) + at_s
        self.saw(second)
        return second

    def saw(self, second: float) -> None:
        """Something was recorded up to an inner second."""
        self._until_s = max(self._until_s, second)

    def times(self, start_s: float, end_s: float) -> dict[str, Any]:
        """Two inner seconds as those of their run, with its number."""
        run = self._run_at(start_s)
        from_s = self._from_s.get(run, 0.0)
        return {"start_s": round(start_s - from_s, 2), "end_s": round(end_s - from_s, 2), "run": run}

    def mark(self, mark: Mark) -> dict[str, Any]:
        """A mark as the phone keeps it, its seconds those of its run; what it is about only where that is of it too."""
        run = self._run_at(mark.at_s)
        told = mark.model_dump(exclude={"what"}) | {"run": run}
        for key in ("at_s", "end_s", "about_start_s", "about_end_s"):
            second = told[key]
            here = second is not None and self._run_at(second) == run
            told[key] = round(second - self._from_s.get(run, 0.0), 2) if here else None
        return told

    def _run_at(self, second: float) -> int:
        started = [(from_s, run) for run, from_s in self._from_s.items() if from_s <= second]
        return max(started)[1] if started else self._run
