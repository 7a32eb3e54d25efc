"""A job of an estimate from work that has its prices."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from narrate.price.choices import Pricing, Ways
from narrate.price.overlaps import Off
from narrate.price.sums import amount_of
from narrate.price.wanted import Wanted
from narrate.records.estimate import Choice, Job, Line


@dataclass(slots=True)
class Ids:
    """New ids, never one that was used before."""

    used: dict[str, int] = field(default_factory=dict)

    def new(self, letter: str) -> str:
        """`j1`, then `j2`."""
        self.used[letter] = self.used.get(letter, 0) + 1
        return f"{letter}{self.used[letter]}"


def job_of(
    wanted: Wanted,
    title: str,
    ways: Ways,
    names: Mapping[int, str],
    number: int,
    off: Off | None,
    titles: Sequence[str],
    pricing: Pricing,
    ids: Ids,
) -> Job:
    """The job, with ids for its choices and lines, and overlapping hours taken off its labor.

    names: ids of the jobs by their number in the list; `number` is this one's.
    """
    choices = []
    for choice in ways.choices:
        lines = tuple(choice.lines)
        if off is not None:
            lines = tuple(_less(line, wanted, off, names, titles, pricing) for line in lines)
        lines = tuple(line.model_copy(update={"id": ids.new("n")}) for line in lines)
        choices.append(Choice(id=ids.new("k"), label=choice.label, lines=lines, spoken=choice.spoken))
    return Job(
        id=names[number],
        title=title,
        finding_ids=wanted.finding_ids,
        component=wanted.operation.component,
        action=wanted.action,
        locations=wanted.locations,
        requires=tuple(names[each] for each in wanted.requires if each in names),
        optional=wanted.optional,
        choices=tuple(choices),
        why=" ".join(dict.fromkeys((*wanted.why, *ways.notes))),
        doubts=wanted.doubts,
        operation=wanted.operation.key,
    )


def _less(
    line: Line, wanted: Wanted, off: Off, names: Mapping[int, str], titles: Sequence[str], pricing: Pricing
) -> Line:
    if line.kind != "labor" or line.row != wanted.operation.key:
        return line
    with_ = " and ".join(f"“{titles[each]}”" for each in off.together) or "the other side"
    left = max(line.quantity - off.hours, Decimal(0))
    made = line.model_copy(
        update={
            "quantity": left,
            "alone": line.quantity,
            "together_with": tuple(names[each] for each in off.together),
            "note": f"{line.quantity - left} h taken off: done together with {with_}. Alone: {line.quantity} h.",
        }
    )
    return made.model_copy(update={"amount": amount_of(made, pricing.currency, pricing.rules)})
