"""Places on the vehicle, compared: "front left" lies in "front"; nothing said may be anywhere."""

from collections.abc import Iterable

from narrate.records.walkaround import Finding, Measurement

OPPOSITE = {
    "front": "rear", "rear": "front", "left": "right", "right": "left",
    "upper": "lower", "lower": "upper", "inner": "outer", "outer": "inner",
}  # fmt: skip


def covers(wanted: Iterable[str], places: Iterable[str]) -> bool:
    """Whether one of the places lies in one of those wanted, token by token: `front` takes `front left`."""
    told = [set(place.split()) for place in places]
    return any(set(one.split()) <= place for one in wanted for place in told)


def may_meet(some: Iterable[str], others: Iterable[str]) -> bool:
    """Whether two things may be in one place: no token of one is the opposite of one of the other.

    Without a place a thing may be anywhere.
    """
    here, there = [set(place.split()) for place in some], [set(place.split()) for place in others]
    if not here or not there:
        return True
    return any(not any(OPPOSITE.get(token) in theirs for token in mine) for mine in here for theirs in there)


def across(place: str) -> str | None:
    """The other side of the axle: `front left` and `front right`; None where no side is told."""
    tokens = place.split()
    if not {"left", "right"} & set(tokens):
        return None
    return " ".join(OPPOSITE[token] if token in ("left", "right") else token for token in tokens)


def place_of(finding: Finding, number: Measurement) -> str | None:
    """The one place a number is of, if that is told."""
    if number.location:
        return number.location
    return finding.locations[0] if len(finding.locations) == 1 else None
