"""How far a figure may be chance: bootstrap intervals over cases."""

from collections.abc import Sequence

import numpy as np

from narrate.score.counts import COUNTED, Counted, Counts
from narrate.score.measure import CaseScore

Interval = tuple[float, float]


def f1_intervals(
    scores: Sequence[CaseScore], *, resamples: int = 2000, seed: int = 0, level: float = 0.95
) -> dict[Counted, Interval | None]:
    """Bootstrap interval of the F1 of each counted field: cases drawn with replacement, percentiles of F1.

    Cases, not findings, are drawn, since findings of one telling succeed or fail together; the same draws
    serve every field. None where there is nothing to score.
    """
    if not scores or resamples < 1:
        return dict.fromkeys(COUNTED)
    drawn = np.random.default_rng(seed).integers(len(scores), size=(resamples, len(scores)))
    return {name: _interval([score.counts[name] for score in scores], drawn, level) for name in COUNTED}


def _interval(counts: Sequence[Counts], drawn: np.ndarray, level: float) -> Interval | None:
    table = np.array([(2 * c.right, c.given + c.owed) for c in counts], dtype=float)
    sums = table[drawn].sum(axis=1)
    sums = sums[sums[:, 1] > 0]
    if not len(sums):
        return None
    low, high = np.quantile(sums[:, 0] / sums[:, 1], ((1 - level) / 2, (1 + level) / 2))
    return float(low), float(high)
