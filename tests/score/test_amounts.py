"""Amounts with their places, prices, codes and concern links."""

from collections.abc import Callable
from decimal import Decimal

import pytest

from narrate.records.case import Case
from narrate.records.walkaround import Answer, Concern, Finding, Measurement, Walkaround
from narrate.score.counts import Counts
from narrate.score.measure import measure_case
from narrate.score.names import Names

MakeFinding = Callable[..., Finding]
MakeWalk = Callable[..., Walkaround]
MakeCase = Callable[..., Case]


def mm(value: str, location: str | None = None) -> Measurement:
    return Measurement(value=Decimal(value), unit="mm", location=location, said=value)


@pytest.mark.parametrize(
    ("found", "counts"),
    [
        ((mm("2", "front left"), mm("3", "front right")), Counts(2, 2, 2)),
        ((mm("2.0", "left front"), mm("3.00", "front right")), Counts(2, 2, 2)),
        ((mm("3", "front left"), mm("2", "front right")), Counts(0, 2, 2)),
        ((mm("2", "front left"), mm("9")), Counts(1, 2, 2)),
        ((mm("2"), mm("3")), Counts(0, 2, 2)),
        ((), Counts(0, 0, 2)),
    ],
)
def test_amounts_count_with_their_places(
    found: tuple[Measurement, ...],
    counts: Counts,
    names: Names,
    finding: MakeFinding,
    walkaround: MakeWalk,
    case: MakeCase,
) -> None:
    """A swapped side is wrong, another amount is held against, trailing zeros make no difference."""
    wanted = case({"component": ["tire"], "measurements": [["2", "mm", "front left"], ["3", "mm", "front right"]]})
    tire = finding("tire", "front left", "front right", measurements=found)
    assert counts == measure_case(wanted, walkaround(tire), names=names).counts["amount"]


def test_one_amount_for_both_sides_may_be_given_twice(
    names: Names, finding: MakeFinding, walkaround: MakeWalk, case: MakeCase
) -> None:
    """Seven all round is met by one number a side as well."""
    wanted = case({"component": ["tire"], "measurements": [["7", "mm"]]})
    tire = finding("tire", measurements=(mm("7", "rear left"), mm("7", "rear right")))
    assert Counts(1, 1, 1) == measure_case(wanted, walkaround(tire), names=names).counts["amount"]


def test_amounts_taken_back_are_counted(
    names: Names, finding: MakeFinding, walkaround: MakeWalk, case: MakeCase
) -> None:
    """A value that may not appear is counted where it does."""
    wanted = case({"component": ["tire"], "not_measured": ["4"]})
    tire = finding("tire", measurements=(mm("4.0"), mm("3")))
    assert 1 == measure_case(wanted, walkaround(tire), names=names).taken_back


def test_prices_codes_and_links_stand_beside(
    names: Names, finding: MakeFinding, walkaround: MakeWalk, case: MakeCase
) -> None:
    """A price counts with what it is for, a code in any case, a link by the concern's words."""
    wanted = case(
        {
            "component": ["gas cap"],
            "prices": [["22.00", ""], ["30.00", "new"]],
            "codes": ["P0442"],
            "answers": ["check engine light"],
        }
    )
    prices = [{"amount": "22", "currency": "USD", "said": "x"}]
    prices += [{"amount": "30", "currency": "USD", "for": "used", "said": "x"}]
    found = walkaround(
        finding("gas cap", quoted_prices=prices, codes=("p0442",), answers=(Answer(concern="c1"),)),
        concerns=(Concern(id="c1", text="The check-engine light was on"),),
    )
    counts = measure_case(wanted, found, names=names).counts
    assert [Counts(1, 2, 2), Counts(1, 1, 1), Counts(1, 1, 1)] == [
        counts["price"],
        counts["code"],
        counts["concern link"],
    ]


@pytest.mark.parametrize(
    ("answers", "stated", "suggested"),
    [
        (("stated c1",), Counts(1, 1, 2), Counts(0, 0, 1)),
        (("stated c1", "suggested c2"), Counts(1, 1, 2), Counts(1, 1, 1)),
        (("suggested c1", "suggested c3"), Counts(0, 0, 2), Counts(1, 2, 2)),
        (("stated c1", "suggested c1"), Counts(1, 1, 2), Counts(0, 0, 1)),
        (("stated c3",), Counts(0, 1, 2), Counts(0, 0, 2)),
    ],
)
def test_suggested_links_are_counted_apart(
    answers: tuple[str, ...],
    stated: Counts,
    suggested: Counts,
    names: Names,
    finding: MakeFinding,
    walkaround: MakeWalk,
    case: MakeCase,
) -> None:
    """A suggestion may meet what the stated links miss; one that repeats a stated link counts nowhere."""
    wanted = case({"component": ["wheel bearing"], "answers": ["hum", "vibration"]})
    links = [dict(zip(("link", "concern"), answer.split(), strict=True)) for answer in answers]
    concerns = [Concern(id=f"c{n}", text=text) for n, text in enumerate(("hum", "vibration", "squeal"), 1)]
    found = walkaround(finding("wheel bearing", answers=links), concerns=concerns)
    counts = measure_case(wanted, found, names=names).counts
    assert (stated, suggested) == (counts["concern link"], counts["suggested link"])
