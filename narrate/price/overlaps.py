"""Labor that two operations share, taken off once: data of the book (`overlaps`, `overlap_hours`), nothing else.

Two operations of a group overlap where their places meet: rotors and pads of one axle. The same operation at both
sides of one axle overlaps with itself. Of what overlaps the longest keeps its hours; each other one loses its own
overlap hours.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from narrate.price.places import axle_of, axles_of, meets
from narrate.price.wanted import Wanted


@dataclass(frozen=True, slots=True)
class Off:
    """Hours to be taken off a job, and the numbers of the jobs it shares them with."""

    hours: Decimal
    together: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Unit:
    """One time the hours of an operation are worked."""

    job: int
    key: str
    place: str
    hours: Decimal
    overlap: Decimal
    optional: bool


def hours_off(wanted: Sequence[Wanted]) -> dict[int, Off]:
    """What overlapping takes off each job, by its number in the list."""
    groups: dict[str, list[_Unit]] = defaultdict(list)
    for number, each in enumerate(wanted):
        if each.operation.overlaps and each.operation.sublet is None:
            groups[each.operation.overlaps] += _units(number, each)
    off: dict[int, Decimal] = defaultdict(Decimal)
    together: dict[int, set[int]] = defaultdict(set)
    for units in groups.values():
        for cluster in _clusters(units):
            # What is optional may be declined, and takes nothing off what is needed.
            longest = max(cluster, key=lambda unit: (not unit.optional, unit.hours))
            for unit in cluster:
                if unit is not longest:
                    off[unit.job] += min(unit.overlap, unit.hours)
                    together[unit.job] |= {other.job for other in cluster} - {unit.job}
    return {job: Off(hours, tuple(sorted(together[job]))) for job, hours in off.items() if hours}


def _units(number: int, wanted: Wanted) -> list[_Unit]:
    operation = wanted.operation
    if operation.per == "place":
        places: Sequence[str] = wanted.counted.places
    else:
        places = axles_of(wanted.counted.places) if operation.per == "axle" else ("",)
    return [
        _Unit(number, operation.key, place, operation.hours, operation.overlap_hours, wanted.optional)
        for place in places
    ]


def _clusters(units: Sequence[_Unit]) -> list[list[_Unit]]:
    """Units that overlap with one another, by way of others too."""
    clusters: list[list[_Unit]] = []
    for unit in units:
        touched = [cluster for cluster in clusters if any(_overlap(unit, other) for other in cluster)]
        clusters = [cluster for cluster in clusters if cluster not in touched]
        clusters.append([*(other for cluster in touched for other in cluster), unit])
    return [cluster for cluster in clusters if len(cluster) > 1]


def _overlap(one: _Unit, other: _Unit) -> bool:
    if one.key == other.key:
        return axle_of(one.place) == axle_of(other.place)
    return meets(one.place, other.place)
