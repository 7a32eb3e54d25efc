"""What the customer said is kept as it was given, and is about exactly what was read to them."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from priced_things import AT, BOOK, estimate, finding, walkaround

from narrate.errors import ConflictError, NarrateError, UsageError
from narrate.price.authorizing import agreed_total, authorize, total_with
from narrate.price.editing import change_line
from narrate.price.estimating import make_estimate
from narrate.price.job_edits import add_job, set_payer
from narrate.price.sums import lines_total
from narrate.price.whole_edits import set_expiry
from narrate.records.estimate import Consent, Estimate
from narrate.words.lexicon import Lexicon


@pytest.fixture
def made(lexicon: Lexicon) -> Estimate:
    """A tie rod end (j1) that needs an alignment (j3), and an alternator (j2) in two ways."""
    return estimate(lexicon, finding(1, "tie_rod_end", "left outer"), finding(2, "alternator"))


def consent(made: Estimate, answers: dict[str, dict[str, Any]], **more: Any) -> Consent:
    """A consent by telephone, its total worked out as the advisor's page does."""
    told = {
        "at": "2026-11-27T11:00:00Z",
        "by": "Ann",
        "who": "Mr. Lee",
        "how": "telephone",
        "number": "555 0100",
        "words": "go ahead",
        "read_back": True,
        "document": "a" * 64,
        "answers": answers,
    }
    told |= more
    if "total" not in told:
        told["total"] = total_with(made, answers)
    return Consent(**told)


def yes(choice: str | None = None) -> dict[str, Any]:
    """Authorized, in one way."""
    return {"state": "authorized", **({"choice": choice} if choice else {})}


NO: dict[str, Any] = {"state": "declined"}


def test_each_job_is_answered_and_the_totals_follow(made: Estimate) -> None:
    """Authorized with a choice, put off to a day; the consent keeps choice, amount, total and document."""
    other = made.jobs[1].choices[1]
    answers = {"j1": yes(), "j3": yes(), "j2": {"state": "decide_by", "decide_by_date": "2027-01-10"}}
    told = authorize(made, consent(made, answers))
    assert ["authorized", "decide_by", "authorized"] == [job.state for job in told.jobs]
    assert "2027-01-10" == told.jobs[1].decide_by_date
    [kept] = told.consents
    assert kept.total == agreed_total(told)
    assert str(told.jobs[0].choices[0].subtotal) == kept.answers["j1"]["amount"]
    later = authorize(told, consent(told, {"j2": yes(other.id)}, at="2026-12-01T09:00:00Z"))
    assert ("authorized", None, other.id) == (
        later.jobs[1].state,
        later.jobs[1].decide_by_date,
        later.jobs[1].chosen,
    )
    assert [kept] == list(later.consents[:1])
    assert later.totals.total == later.consents[1].total == agreed_total(later)


def test_what_is_declined_leaves_the_total(made: Estimate) -> None:
    """Declining the tie rod end declines the alignment that was only there for it."""
    told = authorize(made, consent(made, {"j1": NO, "j2": yes()}))
    assert ["declined", "authorized", "declined"] == [job.state for job in told.jobs]
    assert told.totals.total == agreed_total(told)
    assert lines_total(told.jobs[1:2]) == told.totals.parts + told.totals.labor
    assert told.offered == made.offered


def test_nobody_buys_half_a_repair(made: Estimate) -> None:
    """Authorizing one without what it requires is refused by name."""
    with pytest.raises(UsageError, match="cannot be done without “Wheel alignment”"):
        authorize(made, consent(made, {"j1": yes(), "j3": NO}, total=Decimal(0)))
    told = authorize(made, consent(made, {"j1": yes(), "j3": yes()}))
    with pytest.raises(UsageError, match="cannot be done without"):
        authorize(told, consent(told, {"j3": NO}, total=Decimal(0)))


def test_a_draft_is_refused(lexicon: Lexicon) -> None:
    """Unreviewed findings cannot be authorized."""
    draft = estimate(lexicon, finding(1, "alternator", review="unreviewed"))
    with pytest.raises(UsageError, match="is a draft"):
        authorize(draft, consent(draft, {"j1": yes()}))


@pytest.mark.parametrize(
    ("answers", "more", "sentence"),
    [
        ({}, {}, "No job is answered"),
        ({"j9": yes()}, {}, "There is no job j9"),
        ({"j2": {"state": "maybe"}}, {}, "must be authorized, declined or decide_by"),
        ({"j2": {"state": "decide_by"}}, {}, "a day to decide by"),
        ({"j2": {"state": "declined", "decide_by_date": "2027-01-01"}}, {}, "a day to decide by"),
        ({"j2": {"state": "decide_by", "decide_by_date": "soon"}}, {}, "'soon' is no day"),
        ({"j2": yes("k99")}, {}, "has no way k99"),
        ({"j2": yes()}, {"number": None}, "number that was called"),
        ({"j2": yes()}, {"who": " "}, "Write down who answered"),
        ({"j2": yes()}, {"document": ""}, "name the very document"),
    ],
)
def test_an_answer_that_cannot_be_is_refused(
    made: Estimate, answers: dict[str, dict[str, Any]], more: dict[str, Any], sentence: str
) -> None:
    """One sentence, nothing kept."""
    with pytest.raises(UsageError, match=sentence):
        authorize(made, consent(made, answers, total=Decimal(0), **more))


def test_what_was_read_out_must_be_what_stands_there(made: Estimate) -> None:
    """Another amount or another total asks again."""
    with pytest.raises(ConflictError, match="ask the customer again"):
        authorize(made, consent(made, {"j2": {**yes(), "amount": "1.00"}}, total=Decimal(0)))
    with pytest.raises(ConflictError, match="The total agreed was given as 1"):
        authorize(made, consent(made, {"j2": yes()}, total=Decimal(1)))


def test_an_estimate_that_has_expired_is_refused(made: Estimate) -> None:
    """The last day itself still holds."""
    held = set_expiry(made, to="2026-11-27", seen=None)
    assert 1 == len(authorize(held, consent(held, {"j2": yes()})).consents)
    with pytest.raises(UsageError, match="held until 2026-11-27"):
        authorize(held, consent(held, {"j2": yes()}, at="2026-11-28T08:00:00Z"))


def test_a_changed_price_needs_a_consent_of_its_own(made: Estimate) -> None:
    """The consent of before stays in the list; the job is offered again."""
    told = authorize(made, consent(made, {"j2": yes()}))
    line = told.jobs[1].choices[0].lines[0]
    dearer = change_line(told, line=line.id, field="quantity", to="3", seen=str(line.quantity))
    assert ("offered", told.consents) == (dearer.jobs[1].state, dearer.consents)
    again = authorize(dearer, consent(dearer, {"j2": yes()}))
    assert 2 == len(again.consents)
    assert again.consents[1].total > again.consents[0].total


def test_work_found_later_is_marked(lexicon: Lexicon, made: Estimate) -> None:
    """After the first consent, by hand or found."""
    told = authorize(made, consent(made, {"j2": yes()}))
    assert add_job(told, title="More").jobs[-1].added_later
    more = finding(3, "wheel_bearing", "front left")
    walk = walkaround(finding(1, "tie_rod_end", "left outer"), finding(2, "alternator"), more)
    again = make_estimate(walk, BOOK, lexicon, made_at=AT, previous=told)
    assert {"j1": False, "j2": False, "j3": False} == {
        job.id: job.added_later for job in again.jobs if job.id in ("j1", "j2", "j3")
    }
    assert [True] == [job.added_later for job in again.jobs if job.operation == "bearing"]
    assert ("authorized", told.consents) == (
        next(job.state for job in again.jobs if job.id == "j2"),
        again.consents,
    )


def test_the_customer_agrees_to_what_the_customer_pays(made: Estimate) -> None:
    """A job under warranty is not in the total that is read back."""
    split = set_payer(made, job="j2", to="warranty", seen="customer")
    told = authorize(split, consent(split, {"j1": yes(), "j2": yes(), "j3": yes()}))
    assert told.consents[0].total == told.by_payer["customer"].total < told.totals.total


ANSWERS = st.dictionaries(
    st.sampled_from(("j1", "j2", "j3")),
    st.sampled_from((yes(), NO, {"state": "decide_by", "decide_by_date": "2027-01-10"})),
    min_size=1,
)


@settings(max_examples=60, deadline=None)
@given(rounds=st.lists(ANSWERS, max_size=4))
def test_any_answers_keep_the_sums(lexicon: Lexicon, rounds: list[dict[str, dict[str, Any]]]) -> None:
    """Lines of authorized, declined and undecided jobs are those offered; consents are only ever added."""
    made = estimate(lexicon, finding(1, "tie_rod_end", "left outer"), finding(2, "alternator"))
    offered = lines_total(made.jobs)
    for answers in rounds:
        before = made.consents
        try:
            made = authorize(made, consent(made, answers))
        except NarrateError:
            continue
        assert made.consents[:-1] == before
        states = [job.state for job in made.jobs]
        assert not (states[0] == "authorized" and states[2] != "authorized")
        assert offered == sum((lines_total([job]) for job in made.jobs), Decimal(0))
        assert made.consents[-1].total == agreed_total(made)
