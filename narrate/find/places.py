"""Places: from words for places to the canonical locations of a finding."""

from collections.abc import Iterable, Sequence
from itertools import product

from narrate.words.lexicon import Lexicon

AXES = (("front", "rear"), ("left", "right"), ("upper", "lower"), ("inner", "outer"))
ORDER = {token: number for number, token in enumerate(token for axis in AXES for token in axis)}


def resolve(lexicon: Lexicon, key: str, drive_side: str) -> frozenset[str]:
    """The canonical tokens one place word stands for; `both`, `all` and `other` stand for themselves."""
    entry = lexicon.locations[key]
    tokens = {token for place in entry.places for token in place.split()}
    left_is_driver = drive_side == "left"
    sides = {
        "driver": "left" if left_is_driver else "right",
        "passenger": "right" if left_is_driver else "left",
        # Cars keep to the side away from the driver, so the kerb is on the passenger's side.
        "nearside": "right" if left_is_driver else "left",
        "offside": "left" if left_is_driver else "right",
    }
    if entry.means in sides:
        tokens.add(sides[entry.means])
    elif entry.means != "place":
        tokens.add(entry.means)
    return frozenset(tokens)


def compose(said: Sequence[frozenset[str]], axes: Iterable[str]) -> tuple[str, ...]:
    """The locations that place words said of one finding add up to.

    >>> compose([frozenset({"front"}), frozenset({"both"})], ["front|rear", "left|right"])
    ('front left', 'front right')
    >>> compose([frozenset({"front", "left"}), frozenset({"right"})], ["front|rear", "left|right"])
    ('front left', 'front right')
    """
    legal = {token for axis in axes for token in axis.split("|")}
    whole = [place for place in said if sum(bool(place & set(axis)) for axis in AXES[:2]) == 2]
    values: list[list[str | None]] = []
    pair = _pair_axis(said, legal)
    everywhere = any("all" in place for place in said)
    both = any("both" in place for place in said)
    for number, axis in enumerate(AXES):
        named = [token for token in axis if any(token in place for place in said)]
        if not named and everywhere and number < 2 and axis[0] in legal:
            named = list(axis)
        if not named and both and axis == pair:
            named = list(axis)
        values.append([*named] if named else [None])
    if whole and not everywhere and not both:
        return _corners(said, whole, values)
    combined = (" ".join(token for token in place if token) for place in product(*values))
    return tuple(place for place in combined if place)


def _pair_axis(said: Sequence[frozenset[str]], legal: set[str]) -> tuple[str, str] | None:
    """The axis "both" means: sides, unless one side is named or there are no sides; then front and rear."""
    sides = {token for place in said for token in place & {"left", "right"}}
    if len(sides) == 2:
        return None
    if not sides and "left" in legal:
        return AXES[1]
    return AXES[0] if "front" in legal and not any(p & {"front", "rear"} for p in said) else None


def _corners(
    said: Sequence[frozenset[str]], whole: Sequence[frozenset[str]], values: list[list[str | None]]
) -> tuple[str, ...]:
    """Corners named in full stand as they are; a lone side or end is read with the corner's other half."""
    corners: list[tuple[str | None, str | None]] = []
    for place in said:
        end = next((token for token in AXES[0] if token in place), None)
        side = next((token for token in AXES[1] if token in place), None)
        if end and side:
            corners.append((end, side))
        elif side and not any(side in corner for corner in whole):
            corners.append((next(t for t in AXES[0] if t in whole[-1]), side))
        elif end and not any(end in corner for corner in whole):
            corners.append((end, next(t for t in AXES[1] if t in whole[-1])))
    finer = list(product(*values[2:]))
    ordered = sorted(dict.fromkeys(corners), key=lambda corner: [ORDER[token] for token in corner if token])
    return tuple(" ".join(t for t in (*corner, *more) if t) for corner in ordered for more in finer)


def covers(location: str, tokens: frozenset[str]) -> bool:
    """Whether a location is one the place tokens can mean: "front left" is covered by {"left"}."""
    return all(token in location.split() for token in tokens if token in ORDER)
