"""Whatever is in an estimate, its totals are the sum of its lines, in any order and however they were answered."""

from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st
from priced_things import BOOK, estimate, finding

from narrate.price.sums import lines_total, summed, totals_of
from narrate.records.estimate import Choice, Estimate, Job, Line, SumRules
from narrate.records.price_book import Fee, Minimum, Supplies, TaxRule
from narrate.words.lexicon import Lexicon

KINDS = ("labor", "part", "fluid", "sublet", "core")
MONEY = st.decimals(0, 5000, places=2)
QUANTITIES = st.decimals(0, 40, places=2)
LINES = st.builds(
    Line,
    kind=st.sampled_from(KINDS),
    text=st.just("line"),
    quantity=QUANTITIES,
    unit=st.just("each"),
    unit_price=MONEY,
    amount=st.just(Decimal(0)),
    taxable=st.booleans(),
    component=st.sampled_from((None, "tire")),
)
JOBS = st.builds(
    Job,
    id=st.just("j"),
    title=st.just("job"),
    state=st.sampled_from(("offered", "authorized", "declined", "decide_by")),
    payer=st.sampled_from(("customer", "warranty")),
    optional=st.booleans(),
    choices=st.lists(
        st.builds(Choice, id=st.sampled_from(("k1", "k2")), label=st.just(""), lines=st.lists(LINES, max_size=5)),
        min_size=1,
        max_size=2,
        unique_by=lambda choice: choice.id,
    ),
    chosen=st.sampled_from((None, "k1", "k2")),
)
RULES = st.builds(
    SumRules,
    basis=st.sampled_from(("line", "document")),
    rounding=st.sampled_from(("half_up", "half_even", "down")),
    supplies=st.none()
    | st.builds(
        Supplies,
        percent=st.decimals(0, 20, places=1),
        of=st.sampled_from(("labor", "labor_and_parts")),
        at_most=st.none() | MONEY,
    ),
    fees=st.lists(
        st.builds(
            Fee,
            key=st.just("fee"),
            text=st.just("fee"),
            price=st.decimals(0, 20, places=2),
            per=st.sampled_from(("document", "component")),
            component=st.just("tire"),
            taxable=st.booleans(),
        ),
        max_size=2,
    ),
    taxes=st.lists(
        st.builds(
            TaxRule,
            name=st.sampled_from(("state", "local", "city")),
            percent=st.decimals(0, 25, places=3),
            on=st.lists(st.sampled_from((*KINDS, "supplies", "fee")), min_size=1, max_size=6),
        ),
        max_size=3,
        unique_by=lambda rule: rule.name,
    ),
    minimums=st.lists(
        st.builds(Minimum, of=st.sampled_from(("job", "document")), price=st.decimals(0, 300, places=2)), max_size=2
    ),
)


@st.composite
def estimates(draw: st.DrawFn) -> Estimate:
    """An estimate of anything."""
    jobs = draw(st.lists(JOBS, max_size=5))
    named = tuple(job.model_copy(update={"id": f"j{n}"}) for n, job in enumerate(jobs, 1))
    return Estimate(
        walkaround_id="w1",
        draft=False,
        currency=draw(st.sampled_from(("USD", "JPY", "BHD"))),
        place="unknown",
        made_at="2026-11-27",
        jobs=named,
        rules=draw(RULES),
        discount=draw(st.just(Decimal(0)) | MONEY),
        tax_exempt=draw(st.sampled_from((None, None, "T-1"))),
    )


@settings(max_examples=150, deadline=None)
@given(estimates())
def test_lines_and_what_is_added_are_the_total(made: Estimate) -> None:
    """Lines + supplies + fees - discount + tax = total, and by kind, to the smallest unit."""
    made = summed(made)
    for told, jobs in (
        (made.offered, made.jobs),
        (made.totals, [job for job in made.jobs if job.state != "declined"]),
    ):
        assert told.total == lines_total(jobs) + told.supplies + told.fees - told.discount + told.tax
        kinds = told.parts + told.labor + told.fluids + told.sublet
        assert kinds == lines_total(jobs)
        assert told.total >= 0
    assert made.totals.tax == sum((tax.amount for tax in made.taxes), Decimal(0))
    assert made.totals.fees + made.totals.supplies == sum((line.amount for line in made.lines), Decimal(0))


@settings(max_examples=100, deadline=None)
@given(estimates(), st.randoms())
def test_the_order_of_jobs_and_lines_changes_nothing(made: Estimate, random: object) -> None:
    """Sums are sets."""
    jobs = []
    for job in made.jobs:
        choices = []
        for choice in job.choices:
            lines = list(choice.lines)
            random.shuffle(lines)
            choices.append(choice.model_copy(update={"lines": tuple(lines)}))
        jobs.append(job.model_copy(update={"choices": tuple(choices)}))
    random.shuffle(jobs)
    other = summed(made.model_copy(update={"jobs": tuple(jobs)}))
    same = summed(made)
    assert (same.totals, same.offered, same.needed) == (other.totals, other.offered, other.needed)


@settings(max_examples=100, deadline=None)
@given(estimates())
def test_answers_part_the_lines_offered(made: Estimate) -> None:
    """Line amounts of authorized, declined and undecided jobs are those of all jobs; twice summed is once summed."""
    made = summed(made)
    parts = [
        [job for job in made.jobs if job.state in states]
        for states in (("authorized",), ("declined",), ("offered", "decide_by"))
    ]
    assert sum((lines_total(jobs) for jobs in parts), Decimal(0)) == lines_total(made.jobs)
    assert summed(made) == made
    assert Estimate.model_validate_json(made.model_dump_json(by_alias=True)) == made


def test_every_total_of_an_estimate(lexicon: Lexicon) -> None:
    """By hand: labor 216.00 + 81.00, parts 96.40 + 220.00, supplies 5 % of 297.00, two tires of 3.50, tax 7.25 %."""
    bearing = finding(1, "wheel_bearing", "front left")
    tires = finding(2, "tire", "rear left", "rear right", heard="tires")
    told = estimate(lexicon, bearing, tires).totals
    assert (Decimal("297.00"), Decimal("316.40")) == (told.labor, told.parts)
    assert (Decimal("14.85"), Decimal("7.00")) == (told.supplies, told.fees)
    # 331.25 x 7.25 % = 24.015625
    assert (Decimal("24.02"), Decimal("659.27")) == (told.tax, told.total)
    assert ["Shop supplies", "Disposal of tires"] == [line.text for line in told.lines]


def test_the_least_charged_for_labor(lexicon: Lexicon) -> None:
    """A job below the least has a line up to it; once only, however often it is summed."""
    least = (Minimum(of="job", price=Decimal(60)), Minimum(of="document", price=Decimal(200)))
    made = estimate(lexicon, finding(1, "tire", "rear left"), book=BOOK.model_copy(update={"minimums": least}))
    lines = made.jobs[0].choices[0].lines
    assert [Decimal("40.50"), Decimal("19.50")] == [line.amount for line in lines if line.kind == "labor"]
    # The document's least: 140 more, as a fee beside the tire's 3.50.
    assert (Decimal("60.00"), Decimal("143.50")) == (made.totals.labor, made.totals.fees)
    assert made == summed(made)


def test_who_pays_is_summed_apart(lexicon: Lexicon) -> None:
    """Each payer's jobs by themselves, with their own tax."""
    made = estimate(lexicon, finding(1, "wheel_bearing", "front left"), finding(2, "alternator"))
    assert {} == made.by_payer
    jobs = (made.jobs[0], made.jobs[1].model_copy(update={"payer": "warranty"}))
    split = summed(made.model_copy(update={"jobs": jobs}))
    assert {"customer", "warranty"} == set(split.by_payer)
    assert split.by_payer["customer"].total == totals_of(split, [jobs[0]]).total


def test_smallest_units_of_other_currencies(lexicon: Lexicon) -> None:
    """Yen have none, Bahraini dinars three digits (ISO 4217, from memory)."""
    yen = estimate(lexicon, finding(1, "shock_absorber", "rear left"), book=BOOK.model_copy(update={"currency": "JPY"}))
    assert "122" == str(yen.jobs[0].choices[0].lines[0].amount)
    dinar = estimate(lexicon, finding(1, "alternator"), book=BOOK.model_copy(update={"currency": "BHD"}))
    assert "175.500" == str(dinar.jobs[0].choices[0].lines[0].amount)
