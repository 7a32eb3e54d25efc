"""Work that will be a job: what the book does, where, for which findings, before it has prices."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal

from narrate.price.matching import Match
from narrate.price.places import axle_of, lies_in, say_places
from narrate.price.quantities import Counted
from narrate.records.price_book import Operation
from narrate.records.walkaround import Finding, QuotedPrice
from narrate.words.lexicon import Lexicon
from narrate.words.phrases import plural


@dataclass(frozen=True, slots=True)
class Wanted:
    """One job to be. `action` is what was recommended, which the operation may name otherwise."""

    operation: Operation
    counted: Counted
    action: str
    name: str
    """What the part is called in the walkaround's market."""
    why: tuple[str, ...]
    doubts: tuple[str, ...] = ()
    finding_ids: tuple[str, ...] = ()
    locations: tuple[str, ...] = ()
    """As they were told."""
    part_options: tuple[str, ...] = ()
    spoken: tuple[QuotedPrice, ...] = ()
    otherwise: tuple[str, ...] = ()
    optional: bool = False
    requires: tuple[int, ...] = ()
    """Numbers of others in the list."""


def joined(wanted: Iterable[Wanted]) -> list[Wanted]:
    """The list with what one operation serves made one, all its findings named."""
    made: list[Wanted] = []
    for each in wanted:
        number = next((n for n, other in enumerate(made) if served_at_once(other, each)), None)
        if number is None:
            made.append(each)
        else:
            made[number] = _united(made[number], each)
    return made


def served_at_once(one: Wanted, other: Wanted) -> bool:
    """Whether one operation, done once, is both."""
    if one.operation.key != other.operation.key:
        return False
    here, there = one.counted.places, other.counted.places
    per = one.operation.per
    if per == "job" or "" in here or "" in there:
        return True
    if per == "axle":
        return bool({axle_of(place) for place in here} & {axle_of(place) for place in there})
    return any(lies_in(a, [b]) or lies_in(b, [a]) for a in here for b in there)


def _united(one: Wanted, other: Wanted) -> Wanted:
    places = tuple(dict.fromkeys((*one.counted.places, *other.counted.places)))
    # The closer one of two names of a place is the place; one that was not told is among those that were.
    single = tuple(p for p in places if not any(q != p and lies_in(q, [p]) for q in places))
    return replace(
        one,
        counted=Counted(single or places, tuple(dict.fromkeys((*one.counted.doubts, *other.counted.doubts)))),
        why=tuple(dict.fromkeys((*one.why, *other.why))),
        doubts=tuple(dict.fromkeys((*one.doubts, *other.doubts))),
        finding_ids=tuple(dict.fromkeys((*one.finding_ids, *other.finding_ids))),
        locations=tuple(dict.fromkeys((*one.locations, *other.locations))),
        part_options=tuple(dict.fromkeys((*one.part_options, *other.part_options))),
        spoken=tuple(dict.fromkeys((*one.spoken, *other.spoken))),
        otherwise=tuple(dict.fromkeys((*one.otherwise, *other.otherwise))),
        optional=one.optional and other.optional,
    )


def wanted_for(finding: Finding, found: Match) -> Wanted:
    """The work that a finding asks for, by the operation found for it."""
    told = finding.recommendation
    condition = (f"Only if: {told.conditional_on}.",) if told.conditional_on else ()
    return Wanted(
        operation=found.operation,
        counted=found.counted,
        action=told.action or found.operation.action,
        name=finding.component.name,
        why=(found.why,),
        doubts=(*found.doubts, *condition),
        finding_ids=(finding.id,),
        locations=tuple(place for place in found.counted.places if place),
        part_options=finding.part_options,
        spoken=finding.quoted_prices,
        otherwise=told.otherwise,
        optional=told.optional,
    )


def title_of(action: str, component: str, name: str, places: Iterable[str], lexicon: Lexicon) -> str:
    """`Replace front brake pads`; what is only ever done in one way is named alone: `Wheel alignment`."""
    told = [place for place in places if place]
    entry = lexicon.components.get(component)
    if entry and entry.asked == action:
        return _capital(name)
    mass = entry is not None and lexicon.kinds[entry.kind].mass
    many = len(told) > 1 and not mass
    thing = (entry.irregular_plural if entry and entry.irregular_plural else plural(name)) if many else name
    verb = lexicon.actions[action].name if action in lexicon.actions else action.replace("_", " ")
    return _capital(" ".join(word for word in (verb, say_places(told), thing) if word))


def quantity_of(text: str) -> tuple[str, Decimal]:
    """`key*quantity` taken apart; one where no quantity is told.

    >>> quantity_of("crush_washer*2"), quantity_of("brake_hardware")
    (('crush_washer', Decimal('2')), ('brake_hardware', Decimal('1')))
    """
    key, _, quantity = text.partition("*")
    return key.strip(), Decimal(quantity.strip() or 1)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
