"""What a checked lexicon is told of."""

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Remark:
    """One thing to look at: an `error` makes findings wrong, a `warning` may."""

    level: Literal["error", "warning"]
    message: str
    place: str
    """The entry, as `component.brake_rotor`."""
