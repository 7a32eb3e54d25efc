"""What stands beside the whole finding: amounts with their places, prices, codes and concern links."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation
from typing import Literal, TypeVar

from narrate.records.case import Expected
from narrate.records.walkaround import Answer, Concern, Finding, Measurement
from narrate.score.counts import Counted, Counts
from narrate.score.fields import place_key
from narrate.score.names import name_key, name_keys, split_words

E = TypeVar("E")
F = TypeVar("F")


@dataclass(frozen=True)
class Match:
    """Expected values that were found, and found values that nobody expected."""

    met: int
    beyond: int


@dataclass(frozen=True)
class _Kind:
    name: Counted
    key: str
    """The key of a case that holds the expected values; a finding without it is not scored."""
    owed: Callable[[Expected], int]
    given: Callable[[Finding], int]
    match: Callable[[Expected, Finding, Mapping[str, Concern]], Match]


def count_beside(
    owed: Iterable[Expected],
    pairs: Sequence[tuple[Expected, Finding]],
    extra: Sequence[Finding],
    concerns: Mapping[str, Concern],
) -> dict[Counted, Counts]:
    """Count amounts, prices, codes and concern links over the owed findings, their pairs and the extra ones.

    A key missing from an expected finding is not scored, there and in the finding paired with it. What a
    finding gives beyond the expected is held against it; so is everything in findings nobody expected, in
    a case that has the key at all. One expected amount without a place may be met by several found ones.
    Of suggested links only those are owed that the stated ones miss.
    """
    owed = tuple(owed)
    counts: dict[Counted, Counts] = {}
    for kind in _KINDS:
        wanting = [expected for expected in owed if kind.key in expected.model_fields_set]
        matches = [
            kind.match(expected, finding, concerns)
            for expected, finding in pairs
            if kind.key in expected.model_fields_set
        ]
        met = sum(match.met for match in matches)
        beyond = sum(match.beyond for match in matches)
        unexpected = sum(kind.given(finding) for finding in extra) if wanting else 0
        counts[kind.name] = Counts(
            right=met, given=met + beyond + unexpected, owed=sum(kind.owed(expected) for expected in wanting)
        )
    links = counts["suggested link"]
    counts["suggested link"] = replace(links, owed=links.owed - counts["concern link"].right)
    return counts


def amounts_right(expected: Expected, finding: Finding) -> float:
    """The share of the expected amounts that the finding has, 0 where none is expected."""
    if not expected.measurements:
        return 0.0
    return _amounts(expected, finding, {}).met / len(expected.measurements)


def amounts_taken_back(expected: Expected, finding: Finding) -> int:
    """How many of the finding's amounts are values that may not appear."""
    forbidden = [(value,) if isinstance(value, str) else value for value in expected.not_measured]
    return sum(any(_is_value(number, pair) for pair in forbidden) for number in finding.measurements)


def _is_value(number: Measurement, pair: Sequence[str]) -> bool:
    """Whether a measurement shows a value, given alone or with its unit."""
    value, *unit = pair
    return _decimal(value) in (number.value, number.high) and unit in ([], [number.unit])


def _match(expected: Sequence[E], found: Sequence[F], same: Callable[[E, F], bool]) -> Match:
    return Match(
        met=sum(any(same(wanted, given) for given in found) for wanted in expected),
        beyond=sum(not any(same(wanted, given) for wanted in expected) for given in found),
    )


def _amounts(expected: Expected, finding: Finding, _: Mapping[str, Concern]) -> Match:
    # A number without a place of its own stands where its finding does, if that is one place.
    only = finding.locations[0] if len(finding.locations) == 1 else None

    def same(wanted: tuple[str, ...], given: Measurement) -> bool:
        value, unit, *place = wanted
        there = given.location or only
        return (
            _decimal(value) in (given.value, given.high)
            and unit == given.unit
            and (not place or (there is not None and place_key(place[0]) == place_key(there)))
        )

    return _match(expected.measurements, finding.measurements, same)


def _prices(expected: Expected, finding: Finding, _: Mapping[str, Concern]) -> Match:
    given = [(price.amount, price.for_) for price in finding.quoted_prices]
    return _match(expected.prices, given, lambda wanted, price: wanted == price)


def _codes(expected: Expected, finding: Finding, _: Mapping[str, Concern]) -> Match:
    return _match(expected.codes, finding.codes, lambda wanted, code: wanted.casefold() == code.casefold())


def _stated_links(expected: Expected, finding: Finding, concerns: Mapping[str, Concern]) -> Match:
    return _match(expected.answers, _linked(finding, "stated"), _same_link(concerns))


def _suggested_links(expected: Expected, finding: Finding, concerns: Mapping[str, Concern]) -> Match:
    same = _same_link(concerns)
    stated, suggested = _linked(finding, "stated"), _linked(finding, "suggested")
    missing = [wanted for wanted in expected.answers if not any(same(wanted, given) for given in stated)]
    # One that repeats a stated link is neither right nor wrong.
    beyond = _match(expected.answers, suggested, same).beyond
    return Match(met=_match(missing, suggested, same).met, beyond=beyond)


def _linked(finding: Finding, link: Literal["stated", "suggested"]) -> list[Answer]:
    return [answer for answer in finding.answers if answer.link == link]


def _same_link(concerns: Mapping[str, Concern]) -> Callable[[str, Answer], bool]:
    def same(wanted: str, given: Answer) -> bool:
        concern = concerns.get(given.concern)
        return concern is not None and same_concern(wanted, concern)

    return same


def same_concern(wanted: str, concern: Concern) -> bool:
    """Whether a case means this concern by `wanted`: the same symptom, or all its words in the text."""
    if name_key(wanted) in name_keys(concern.symptoms):
        return True
    return name_keys(split_words(wanted)) <= name_keys(split_words(concern.text))


def _decimal(value: str) -> Decimal | None:
    try:
        return Decimal(value.split()[0])
    except (InvalidOperation, IndexError):
        return None


_KINDS = (
    _Kind("amount", "measurements", lambda e: len(e.measurements), lambda f: len(f.measurements), _amounts),
    _Kind("price", "prices", lambda e: len(e.prices), lambda f: len(f.quoted_prices), _prices),
    _Kind("code", "codes", lambda e: len(e.codes), lambda f: len(f.codes), _codes),
    _Kind("concern link", "answers", lambda e: len(e.answers), lambda f: len(_linked(f, "stated")), _stated_links),
    _Kind(
        "suggested link", "answers", lambda e: len(e.answers), lambda f: len(_linked(f, "suggested")), _suggested_links
    ),
)
