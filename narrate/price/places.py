"""Places on the vehicle as far as prices ask for them: which one a row is for, and how they are said."""

from collections.abc import Iterable, Sequence

OPPOSITE = {
    "front": "rear", "rear": "front", "left": "right", "right": "left",
    "upper": "lower", "lower": "upper", "inner": "outer", "outer": "inner",
}  # fmt: skip
ORDER = ("front", "rear", "left", "right", "upper", "lower", "inner", "outer")


def lies_in(place: str, wanted: Iterable[str]) -> bool:
    """Whether a place lies in one of those a row is for; a row for no place in particular is for all.

    >>> lies_in("front left", ["front"]), lies_in("front", ["front left"]), lies_in("", [])
    (True, False, True)
    """
    rows = list(wanted)
    tokens = set(place.split())
    return not rows or any(set(row.split()) <= tokens for row in rows)


def may_lie_in(place: str, wanted: Iterable[str]) -> bool:
    """Whether a place that is not fully told may be one of those a row is for.

    >>> may_lie_in("left", ["front left"]), may_lie_in("right", ["front left"])
    (True, False)
    """
    rows = list(wanted)
    return not rows or any(meets(place, row) for row in rows)


def meets(one: str, other: str) -> bool:
    """Whether two places may be the same: nothing of one is the opposite of anything of the other."""
    there = set(other.split())
    return not any(OPPOSITE[token] in there for token in one.split() if token in OPPOSITE)


def axle_of(place: str) -> str:
    """`front`, `rear`, or nothing where that is not told."""
    return next((token for token in place.split() if token in ("front", "rear")), "")


def axles_of(places: Sequence[str]) -> tuple[str, ...]:
    """The axles of some places, each once; one that is not told is `""`."""
    return tuple(dict.fromkeys(axle_of(place) for place in places)) or ("",)


def in_order(tokens: Iterable[str]) -> str:
    """Tokens as one place.

    >>> in_order({"left", "front"})
    'front left'
    """
    return " ".join(sorted(tokens, key=ORDER.index))


def say_places(places: Sequence[str]) -> str:
    """Places for a title: both sides of one axle are the axle.

    >>> say_places(("front left", "front right")), say_places(("rear left",)), say_places(("left", "right"))
    ('front', 'rear left', 'left and right')
    """
    left = [set(place.split()) for place in places]
    said: list[str] = []
    for place in left:
        other = {OPPOSITE[t] if t in ("left", "right") else t for t in place}
        rest = place - {"left", "right"}
        said.append(in_order(rest) if other != place and other in left and rest else in_order(place))
    told = tuple(dict.fromkeys(said))
    if set(told) == {"front", "rear"}:
        return "front and rear"
    return " and ".join(told) if len(told) < 3 else f"{', '.join(told[:-1])} and {told[-1]}"
