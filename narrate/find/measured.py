"""The numbers told of a part: what they measure, in which unit, and at which of its places."""

from bisect import bisect_left

from narrate.find.draft import Amount, Mention
from narrate.find.evidence import said_tokens
from narrate.find.fields import Said, places_of
from narrate.find.places import covers
from narrate.find.scene import Scene
from narrate.records.walkaround import Measurement
from narrate.words.entries import Measure

DEGREES, SCALES = "deg", ("degC", "degF")
"""An angle, unless the part is measured by its temperature: then the degrees of the market."""
IMPERIAL = ("1/32in", "degF", "psi")
"""Units that are not meant where tires are tyres and none is said."""
CARRIED = 25
"""How many tokens on a unit said once holds for numbers said without one."""
JUST_BEHIND, CLAUSE = 3, 0.3


def measurements_of(
    scene: Scene, said: Said, locations: tuple[str, ...], market: str, drive_side: str
) -> tuple[Measurement, ...]:
    """The measurements of one finding; a number whose unit is neither said nor plain is none."""
    places = _runs(scene, said, drive_side)
    found = []
    for item, _ in said.of("amount", "bare"):
        if not isinstance(item, Amount):
            continue
        options = _options(scene, said.part, item, market)
        unit = options[0].unit if options and item.unit in (None, DEGREES) else item.unit
        if unit is None:
            continue
        found.append(
            Measurement(
                quantity=options[0].quantity if options else None,
                value=item.value,
                high=item.high,
                unit=unit,
                about=item.about,
                location=_place_of(scene, item, places, locations),
                spoken_limit=item.limit,
                said=said_tokens(scene.draft, item.first, item.last),
            )
        )
    return tuple(found)


def _options(scene: Scene, part: Mention, item: Amount, market: str) -> list[Measure]:
    """What a number can measure of a part, likeliest first: in the unit said, said just before, or usual there."""
    measures = scene.vocabulary.lexicon.components[part.key].measures
    units = (item.unit, *SCALES) if item.unit == DEGREES else (item.unit,)
    options = [m for m in measures if m.allows(item.value) and (item.unit is None or m.unit in units)]
    carried = _unit_before(scene, item) if item.unit is None else None
    return sorted(options, key=lambda m: (m.unit != carried, market != "us" and m.unit in IMPERIAL))


def _unit_before(scene: Scene, item: Amount) -> str | None:
    """The unit of the number said before this one: "two point one mil, offside's three point four"."""
    starts = scene.number_starts
    near = scene.numbers[bisect_left(starts, item.first - CARRIED) : bisect_left(starts, item.first)]
    return next((earlier.unit for earlier in reversed(near) if earlier.unit), None)


def _runs(scene: Scene, said: Said, drive_side: str) -> list[tuple[int, int, frozenset[str]]]:
    """(first token, last token, place tokens) of its places; "nearside rear" is two words for one place."""
    runs: list[tuple[int, int, frozenset[str]]] = []
    for word, tokens in places_of(scene, said, drive_side):
        near = runs and word.first - runs[-1][1] <= 2
        if near and scene.mass[word.first] - scene.mass[runs[-1][1]] < CLAUSE:
            runs[-1] = (runs[-1][0], word.last, runs[-1][2] | tokens)
        else:
            runs.append((word.first, word.last, tokens))
    return runs


def _place_of(
    scene: Scene, item: Amount, places: list[tuple[int, int, frozenset[str]]], locations: tuple[str, ...]
) -> str | None:
    """Of several locations the one a number was said of: named right behind it ("two on the left"), else before it."""
    if len(locations) < 2:
        return None
    behind = [
        tokens
        for first, _, tokens in places
        if 0 < first - item.last <= JUST_BEHIND and scene.mass[first] - scene.mass[item.last] < CLAUSE
    ]
    before = [tokens for _, last, tokens in places if last < item.first]
    chosen = behind[0] if behind else before[-1] if before else None
    fitting = [location for location in locations if chosen and covers(location, chosen)]
    return fitting[0] if len(fitting) == 1 else None
