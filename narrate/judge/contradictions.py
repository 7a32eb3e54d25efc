"""What cannot both be right: two verdicts or two amounts for one place, a place the part does not have.

Both are quoted with their times; the advisor alone decides.
"""

from collections.abc import Iterator
from itertools import combinations

from narrate.judge.places import covers, place_of
from narrate.judge.quoting import quoted
from narrate.records.walkaround import Contradiction, Finding, Measurement, Walkaround
from narrate.words.conversion import convertible, in_unit
from narrate.words.lexicon import Lexicon

SIDES = ("left", "right")
WHOLE = frozenset({"fluid", "pump", "filter", "battery", "belt", "sensor", "module", "motor", "switch"})
"""Kinds of part that are seen to as a whole: an oil pan may leak on its left, but no alternator is a left one."""


def find_contradictions(walkaround: Walkaround, lexicon: Lexicon) -> Walkaround:
    """Fill `contradictions`."""
    findings = [f for f in walkaround.findings if f.review.state != "dropped" and f.recommendation.timing != "done"]
    found = (*_verdicts(findings), *_amounts(findings), *_places(findings, lexicon))
    return walkaround.model_copy(update={"contradictions": found})


def _verdicts(findings: list[Finding]) -> Iterator[Contradiction]:
    for one, other in combinations(findings, 2):
        if {one.status, other.status} == {"ok", "fault"} and _one_thing(one, other):
            name = one.component.name
            text = f"The {name} is called fine and faulty: {quoted(one)} and {quoted(other)}."
            yield Contradiction(between=(one.id, other.id), about="verdict", text=text)


def _one_thing(one: Finding, other: Finding) -> bool:
    if one.component.id != other.component.id or one.position != other.position:
        return False
    here, there = one.locations, other.locations
    return (not here and not there) or covers(here, there) or covers(there, here)


def _amounts(findings: list[Finding]) -> Iterator[Contradiction]:
    told = [(f, m, place) for f in findings for m in f.measurements if m.high is None and (place := place_of(f, m))]
    for (one, first, here), (other, second, there) in combinations(told, 2):
        same = one.component.id == other.component.id and first.quantity == second.quantity and here == there
        if same and one.position == other.position and _differ(first, second):
            text = (
                f"Two amounts for the {one.component.name}, {here}: '{first.said}' in {quoted(one)} "
                f"and '{second.said}' in {quoted(other)}."
            )
            yield Contradiction(between=tuple(dict.fromkeys((one.id, other.id))), about="amount", text=text)


def _differ(one: Measurement, other: Measurement) -> bool:
    if not convertible(one.unit, other.unit):
        return False
    return in_unit(one.value, one.unit, other.unit) != other.value


def _places(findings: list[Finding], lexicon: Lexicon) -> Iterator[Contradiction]:
    for finding in findings:
        entry = lexicon.components.get(finding.component.id)
        tokens = {token for place in finding.locations for token in place.split()}
        sides = tokens.intersection(SIDES)
        if (
            entry
            and entry.kind in WHOLE
            and sides
            and "left|right" not in entry.places
            and not sides.intersection(entry.at)
        ):
            name, side = finding.component.name, " and ".join(sorted(sides))
            text = f"There is only one {name}, none on the {side}: {quoted(finding)}."
            yield Contradiction(between=(finding.id,), about="location", text=text)
