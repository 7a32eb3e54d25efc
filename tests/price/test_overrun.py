"""How far work may go beyond what was agreed: the published rule of each place, and what it stops.

Worked values for estimates of 80, 300 and 900 dollars, calculated from the words in lexicon/rules/places.toml: Florida
559.909(1)(b), Michigan's Secretary of State, Maryland 14-1002(b), Minnesota 325F.58(6), California 16 CCR 3354(a), New
York 15 NYCRR 82.5(a): all read.
"""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from priced_things import estimate, finding

from narrate.errors import UsageError
from narrate.price.authorizing import authorize, record_outcome, total_with
from narrate.price.job_edits import set_payer
from narrate.price.overrun import allowed_overrun, reach_of
from narrate.records.estimate import Consent, Estimate, Outcome
from narrate.words.lexicon import Lexicon
from narrate.words.place_rules import load_places, place_rules


@pytest.mark.parametrize(
    ("place", "allowed"),
    [
        ("FL", ("10", "30", "50")),
        ("MI", ("8", "10", "10")),
        ("MD", ("8", "30", "90")),
        ("MN", ("8", "30", "90")),
        ("CA", ("0", "0", "0")),
        ("NY", ("0", "0", "0")),
        ("unknown", ("0", "0", "0")),
        ("us-tx", ("0", "0", "0")),
    ],
)
def test_the_published_rules(place: str, allowed: tuple[str, ...]) -> None:
    """Florida takes the greater and stops at 50, Michigan the less, and where nothing is known nothing is allowed."""
    rule = place_rules(place).overrun
    found = tuple(allowed_overrun(Decimal(agreed), rule, "USD") for agreed in ("80", "300", "900"))
    assert tuple(map(Decimal, allowed)) == found


@given(st.decimals(0, 100_000, places=2))
def test_a_part_of_a_cent_is_not_allowed(agreed: Decimal) -> None:
    """Ten percent are never rounded up, and no place allows less than nothing."""
    for rules in load_places().values():
        allowed = allowed_overrun(agreed, rules.overrun, "USD")
        assert 0 <= allowed
        if rules.key == "us-md":
            assert allowed <= agreed / 10 < allowed + Decimal("0.01")


def agreed_to(made: Estimate, *jobs: str) -> Estimate:
    """The estimate with some jobs authorized by a customer."""
    answers = {job: {"state": "authorized"} for job in jobs}
    told = {"at": "2026-11-27T11:00:00Z", "by": "Ann", "who": "Lee", "how": "in_person", "document": "a" * 64}
    return authorize(made, Consent(**told, answers=answers, total=total_with(made, answers)))


def done(job: str, what: str = "done") -> Outcome:
    """What came of a job."""
    return Outcome(job=job, at="2026-11-27T15:00:00Z", by="Bo", what=what)


@pytest.fixture
def two(lexicon: Lexicon) -> Estimate:
    """An alternator (j1) and a windshield's chip sent out for 85.00 (j2), in Florida."""
    return estimate(lexicon, finding(1, "alternator"), finding(2, "windshield", action="repair"), place="FL")


def test_work_beyond_the_overrun_waits_for_a_consent(two: Estimate) -> None:
    """85.00 more than about 400 is beyond Florida's ten percent; authorized, it may be done."""
    told = agreed_to(two, "j1")
    with pytest.raises(UsageError, match=r"“Repair windshield” is not authorized: .* Ask the customer"):
        record_outcome(told, done("j2"))
    assert ("done",) == tuple(each.what for each in record_outcome(told, done("j1")).outcomes)
    both = agreed_to(told, "j2")
    assert ("j2",) == tuple(each.job for each in record_outcome(both, done("j2")).outcomes)


def test_a_little_more_is_allowed_where_the_place_says_so(lexicon: Lexicon) -> None:
    """31.71 beyond 700 that were agreed: within the ten percent of Maryland, not of California."""
    tires = finding(1, "alternator"), finding(2, "tire", "rear left"), finding(3, "brake_fluid", action="flush")
    for place, may in (("MD", True), ("CA", False)):
        made = estimate(lexicon, *tires, place=place)
        made = agreed_to(made, "j1", "j2")
        small = made.model_copy(
            update={"consents": (made.consents[0].model_copy(update={"total": Decimal("700.00")}),)}
        )
        reach = reach_of(small, ["j3"])
        assert may == (reach.beyond == 0), place
        assert reach.total == small.totals.total


def test_before_any_consent_nothing_is_done(two: Estimate) -> None:
    """And what was declined is not done either, nor what others pay for."""
    with pytest.raises(UsageError, match="Nothing is authorized yet"):
        record_outcome(two, done("j1"))
    assert 1 == len(record_outcome(two, done("j1", "not_needed")).outcomes)
    declined = agreed_to(two, "j1")
    declined = declined.model_copy(
        update={"jobs": tuple(j.model_copy(update={"state": "declined"}) for j in declined.jobs)}
    )
    with pytest.raises(UsageError, match="was declined"):
        record_outcome(declined, done("j2"))
    warranty = agreed_to(set_payer(two, job="j2", to="warranty", seen="customer"), "j1")
    with pytest.raises(UsageError, match="is not authorized"):
        record_outcome(warranty, done("j2"))
