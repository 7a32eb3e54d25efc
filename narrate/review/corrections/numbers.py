"""The numbers of a finding, corrected, and where they are when its places change."""

from collections.abc import Sequence
from decimal import Decimal

from narrate.records.walkaround import Finding, Measurement
from narrate.review.corrections.asked_fields import MeasurementTo
from narrate.review.corrections.checks import legal_place, unit_of
from narrate.words.lexicon import Lexicon


def measurements_of(finding: Finding, asked: Sequence[MeasurementTo], lexicon: Lexicon) -> tuple[Measurement, ...]:
    """The numbers asked for, each with the words of the one that it takes the place of; verdicts come with judging."""
    unmatched = list(finding.measurements)
    matched: list[Measurement | None] = []
    for each in asked:
        same = next((old for old in unmatched if _is_that(old, each)), None)
        if same is not None:
            unmatched.remove(same)
        matched.append(same)
    # As many as before: the others are the old ones in their order, read otherwise.
    rest = iter(unmatched if len(asked) == len(finding.measurements) else ())
    return tuple(_made(each, old or next(rest, None), lexicon) for each, old in zip(asked, matched, strict=True))


def _is_that(old: Measurement, asked: MeasurementTo) -> bool:
    return (old.value, old.unit, old.location) == (asked.value, asked.unit, asked.location)


def _made(asked: MeasurementTo, old: Measurement | None, lexicon: Lexicon) -> Measurement:
    limit: Decimal | None = asked.spoken_limit
    if old and "spoken_limit" not in asked.model_fields_set:
        limit = old.spoken_limit
    fields = {
        "quantity": asked.quantity,
        "value": asked.value,
        "high": asked.high,
        "unit": unit_of(lexicon, asked.unit),
        "about": asked.about,
        "location": legal_place(asked.location) if asked.location else None,
        "spoken_limit": limit,
    }
    return old.model_copy(update=fields) if old else Measurement(**fields, said="")


def moved(numbers: Sequence[Measurement], before: Sequence[str], after: Sequence[str]) -> tuple[Measurement, ...]:
    """The numbers where as many places take the place of others; a number of a place that is only gone stays there.

    Left corrected to right takes its number along; "both sides" corrected to "left" must not give it two numbers.
    """
    gone, come = [p for p in before if p not in after], [p for p in after if p not in before]
    new = dict(zip(gone, come, strict=True)) if len(gone) == len(come) else {}
    return tuple(
        each.model_copy(update={"location": new[each.location]}) if each.location in new else each for each in numbers
    )
