"""Which finding answers which expected one (Hungarian method)."""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import linear_sum_assignment

from narrate.records.case import Expected
from narrate.records.walkaround import Finding
from narrate.score.amounts import amounts_right
from narrate.score.fields import compare_fields, places_overlap
from narrate.score.names import Names


@dataclass(frozen=True)
class Pairing:
    """Pairs of one component, owed findings left without a pair, and findings nobody expected."""

    pairs: tuple[tuple[Expected, Finding], ...]
    missed: tuple[Expected, ...]
    extra: tuple[Finding, ...]


def pair_findings(expected: tuple[Expected, ...], found: tuple[Finding, ...], *, names: Names) -> Pairing:
    """Pair as many as share a component, choosing among them by how much else is right."""
    fits = np.array([[_fit(e, f, names) for f in found] for e in expected]).reshape(len(expected), len(found))
    if fits.size:
        # Order of telling settles what is equal otherwise: it costs less than any field.
        spread = np.linspace(0, 1, len(expected))[:, None] - np.linspace(0, 1, len(found))[None, :]
        fits = np.where(fits > 0, fits - 0.1 * np.abs(spread), 0.0)
    rows, columns = linear_sum_assignment(fits, maximize=True)
    chosen = [(int(r), int(c)) for r, c in zip(rows, columns, strict=True) if fits[r, c] > 0]
    paired_rows, paired_columns = {r for r, _ in chosen}, {c for _, c in chosen}
    return Pairing(
        pairs=tuple((expected[r], found[c]) for r, c in chosen),
        missed=tuple(e for r, e in enumerate(expected) if r not in paired_rows and not e.optional),
        extra=tuple(f for c, f in enumerate(found) if c not in paired_columns),
    )


def _fit(expected: Expected, finding: Finding, names: Names) -> float:
    right = compare_fields(expected, finding, names=names)
    if not right.component:
        return 0.0
    # 100: one more pair outweighs any better pair. The condition outweighs the place, so that two parts
    # told apart by their conditions and found on each other's side count as swapped sides.
    fit = 100.0 + 4 * (right.condition is True) + 2 * (right.status is True) + (right.action is True)
    fit += 3 if right.location else places_overlap(expected, finding)
    fit += 2 * amounts_right(expected, finding)
    return fit + 0.5 * (not expected.optional)
