"""How many of a part, and how often the hours: counted from the places that were told."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from narrate.price.places import axles_of, in_order
from narrate.words.lexicon import Lexicon
from narrate.words.phrases import plural

SIDES = "left|right"
AXLES = "front|rear"


@dataclass(frozen=True, slots=True)
class Counted:
    """The single places that work is at, and what is guessed about them."""

    places: tuple[str, ...]
    """Never empty; `""` is a place that was not told."""
    doubts: tuple[str, ...] = ()

    def of(self, per: str) -> Decimal:
        """How many places, axles or jobs these are."""
        if per == "place":
            return Decimal(len(self.places))
        return Decimal(len(axles_of(self.places))) if per == "axle" else Decimal(1)


def count_places(component: str, heard: str, locations: Sequence[str], lexicon: Lexicon, *, per: str) -> Counted:
    """The places of a component where something is to be done, both sides where "front tires" says so.

    heard: the component's name as it was said, whose plural tells of both sides. per: what the operation is for; only
    where it is for each place does a side that was not told matter.
    """
    entry = lexicon.components.get(component)
    axes = entry.places if entry else ()
    name = entry.name if entry else component.replace("_", " ")
    if not locations:
        asked = axes and per == "place"
        doubt = f"No place of the {name} was told: counted as one." if asked and SIDES in axes else None
        if not doubt and per == "axle" and AXLES in axes:
            doubt = f"No axle was told for the {name}: counted as one."
        return Counted(("",), (doubt,) if doubt else ())
    places: list[str] = []
    doubts: list[str] = []
    for location in locations:
        tokens = set(location.split())
        if SIDES not in axes or tokens & {"left", "right"}:
            places.append(location)
        elif per != "place" or _is_plural(heard, name, entry.irregular_plural if entry else None):
            places += [in_order({*tokens, "left"}), in_order({*tokens, "right"})]
        else:
            places.append(location)
            doubts.append(f"Which side of the {location} was not told: counted as one {name}.")
    return Counted(tuple(dict.fromkeys(places)), tuple(doubts))


def _is_plural(heard: str, name: str, irregular: str | None) -> bool:
    words = heard.lower().split()
    if not words:
        return False
    if irregular and heard.lower().endswith(irregular):
        return True
    singular = {name.split()[-1]}
    return words[-1] == plural(name).split()[-1] or (words[-1].endswith("s") and words[-1] not in singular)
