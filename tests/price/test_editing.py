"""What a person changes: totals follow, others' changes are not overwritten, the customer is asked again."""

from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from priced_things import BOOK, estimate, finding

from narrate.errors import ConflictError, NarrateError, UsageError
from narrate.price.by_hand import price_by_hand, with_rows
from narrate.price.editing import add_line, change_line, remove_line
from narrate.price.estimating import make_estimate
from narrate.price.job_edits import (
    add_job,
    choose,
    order_jobs,
    price_alone,
    remove_choice,
    remove_job,
    rename_job,
    set_payer,
)
from narrate.price.sums import lines_total, summed
from narrate.price.whole_edits import set_deposit, set_discount, set_expiry, set_old_parts, set_tax_exempt
from narrate.records.estimate import Estimate
from narrate.records.price_book import Book
from narrate.words.lexicon import Lexicon


@pytest.fixture
def made(lexicon: Lexicon) -> Estimate:
    """A bearing (j1: n1 labor, n2 part) and an alternator (j2) in two ways."""
    return estimate(lexicon, finding(1, "wheel_bearing", "front left"), finding(2, "alternator"))


def authorized(made: Estimate, *jobs: str) -> Estimate:
    """The estimate with some jobs authorized, by no consent."""
    changed = tuple(j.model_copy(update={"state": "authorized"}) if j.id in jobs else j for j in made.jobs)
    return summed(made.model_copy(update={"jobs": changed}))


def state(made: Estimate, job: str) -> str:
    """How a job was answered."""
    return next(each.state for each in made.jobs if each.id == job)


def test_hours_price_and_words_of_a_line(made: Estimate) -> None:
    """Each followed by amount, subtotal and total."""
    hours = change_line(made, line="n1", field="quantity", to="2.0", seen="1.6")
    assert Decimal("270.00") == hours.jobs[0].choices[0].lines[0].amount
    assert hours.totals.labor == made.totals.labor + Decimal("54.00")
    price = change_line(hours, line="n2", field="unit_price", to="90", seen="96.40")
    assert Decimal("360.00") == price.jobs[0].choices[0].subtotal
    words = change_line(price, line="n2", field="text", to="Bearing with hub", seen="Bearing")
    assert "Bearing with hub" == words.jobs[0].choices[0].lines[1].text
    assert words.totals == price.totals


def test_what_someone_else_changed_is_not_overwritten(made: Estimate) -> None:
    """Seen is no longer what is there; the same change twice is no conflict."""
    other = change_line(made, line="n1", field="quantity", to="2.0", seen="1.6")
    with pytest.raises(ConflictError, match=r"was changed to 2\.0 since you saw 1\.6"):
        change_line(other, line="n1", field="quantity", to="1.8", seen="1.6")
    assert other == change_line(other, line="n1", field="quantity", to="2.00", seen="1.6")
    with pytest.raises(ConflictError, match="discount"):
        set_discount(set_discount(made, to="5", why="a friend", seen="0"), to="6", why="a friend", seen="0")
    with pytest.raises(ConflictError, match="amount"):
        remove_line(other, line="n1", seen="216.00")


@pytest.mark.parametrize(
    ("field", "to", "sentence"),
    [
        ("quantity", "-1", "must be a number from 0"),
        ("quantity", "NaN", "must be a number from 0"),
        ("unit_price", "cheap", "'cheap' is none"),
        ("unit_price", "1e12", "must be a number from 0"),
        ("text", "  ", "needs words"),
    ],
)
def test_what_cannot_be_is_refused(made: Estimate, field: str, to: str, sentence: str) -> None:
    """One sentence, nothing changed."""
    with pytest.raises(UsageError, match=sentence):
        change_line(made, line="n1", field=field, to=to, seen="1.6")


def test_lines_are_added_and_taken_out(made: Estimate) -> None:
    """Work sent out, a core, a discount with its reason; the only line stays."""
    sent = add_line(made, job="j1", kind="sublet", text="Press the hub", unit_price="40")
    assert sent.totals.sublet == Decimal("40.00")
    core = add_line(sent, job="j1", kind="core", text="Core", unit_price="15")
    assert core.totals.parts == made.totals.parts + 15
    off = add_line(core, job="j1", kind="discount", text="Discount", unit_price="20", note="waited a day")
    assert (Decimal("20.00"), core.totals.total) == (off.totals.discount, off.totals.total + off.totals.discount
            + core.totals.tax - off.totals.tax)  # fmt: skip
    line = off.jobs[0].choices[0].lines[-1]
    assert Decimal("-20.00") == line.amount
    less = change_line(off, line=line.id, field="unit_price", to="10", seen="20")
    assert Decimal("10.00") == less.totals.discount
    assert core.totals == remove_line(off, line=line.id, seen="-20.00").totals
    with pytest.raises(UsageError, match="needs a reason"):
        add_line(made, job="j1", kind="discount", text="Discount", unit_price="20")
    with pytest.raises(UsageError, match="more than"):
        add_line(made, job="j1", kind="discount", text="Discount", unit_price="2000", note="all")
    one = remove_line(made, line="n2", seen="96.40")
    with pytest.raises(UsageError, match="only line"):
        remove_line(one, line="n1", seen="216")


def test_ids_are_never_given_twice(made: Estimate) -> None:
    """A line taken out does not lend its id to the next."""
    added = add_line(made, job="j1", kind="part", text="Bolt", unit_price="1")
    new = added.jobs[0].choices[0].lines[-1].id
    again = add_line(remove_line(added, line=new, seen="1.00"), job="j1", kind="part", text="Nut", unit_price="1")
    assert again.jobs[0].choices[0].lines[-1].id != new


def test_another_way_is_chosen(made: Estimate) -> None:
    """The total is that of the way chosen; a way that is not offered can go, the last cannot."""
    first, second = made.jobs[1].choices
    chosen = choose(made, job="j2", choice=second.id, seen=None)
    assert lines_total(chosen.jobs) == lines_total(made.jobs) - first.subtotal + second.subtotal
    left = remove_choice(chosen, job="j2", choice=second.id)
    assert (first,) == left.jobs[1].choices
    assert left.totals == made.totals
    with pytest.raises(UsageError, match="one way only"):
        remove_choice(left, job="j2", choice=first.id)
    with pytest.raises(UsageError, match="has no way"):
        choose(made, job="j1", choice=second.id, seen=None)


def test_a_changed_price_asks_again(made: Estimate) -> None:
    """The job whose price changes, and no other; words do not."""
    both = authorized(made, "j1", "j2")
    assert "offered" == state(change_line(both, line="n1", field="quantity", to="1", seen="1.6"), "j1")
    assert "authorized" == state(change_line(both, line="n1", field="quantity", to="1", seen="1.6"), "j2")
    assert "authorized" == state(change_line(both, line="n1", field="text", to="Hub", seen=both.jobs[0].title), "j1")
    other = both.jobs[1].choices[1]
    unchosen = change_line(both, line=other.lines[0].id, field="quantity", to="9", seen=str(other.lines[0].quantity))
    assert "authorized" == state(unchosen, "j2")
    assert "offered" == state(choose(both, job="j2", choice=other.id, seen=None), "j2")
    assert "offered" == state(add_line(both, job="j1", kind="part", text="Bolt", unit_price="1"), "j1")
    assert "offered" == state(set_payer(both, job="j1", to="warranty", seen="customer"), "j1")


def test_only_a_dearer_whole_asks_again(made: Estimate) -> None:
    """A discount given later is welcome; one taken back is not."""
    both = authorized(made, "j1", "j2")
    cheaper = set_discount(both, to="50", why="long wait", seen="0")
    assert "authorized" == state(cheaper, "j1")
    assert "offered" == state(set_discount(cheaper, to="0", why=None, seen="50.00"), "j1")
    exempt = set_tax_exempt(both, to="ST-5", seen=None)
    assert "authorized" == state(exempt, "j1")
    assert "offered" == state(set_tax_exempt(exempt, to=None, seen="ST-5"), "j1")


def test_the_whole(made: Estimate) -> None:
    """Discount with a reason, deposit, expiry, old parts."""
    with pytest.raises(UsageError, match="needs a reason"):
        set_discount(made, to="5", why=" ", seen="0")
    with pytest.raises(UsageError, match="more than the work"):
        set_discount(made, to="50000", why="gift", seen="0")
    paid = set_deposit(made, to="100", seen="0")
    assert (Decimal("100.00"), made.totals.total) == (paid.totals.deposit, paid.totals.total)
    assert "2027-01-10" == set_expiry(made, to="2027-01-10", seen=None).expires_on
    with pytest.raises(UsageError, match="is no day"):
        set_expiry(made, to="10.1.2027", seen=None)
    assert "asked_back" == set_old_parts(made, to="asked_back", seen="not_stated").old_parts


def test_a_fleet_pays_under_its_number(made: Estimate) -> None:
    """The number is asked for, and kept."""
    with pytest.raises(UsageError, match="order number"):
        set_payer(made, job="j1", to="fleet", seen="customer")
    fleet = set_payer(made, job="j1", to="fleet", order_number="PO 88", seen="customer")
    assert ("fleet", "PO 88") == (fleet.jobs[0].payer, fleet.jobs[0].payer_order)


def test_jobs_are_made_named_ordered_and_removed(lexicon: Lexicon, made: Estimate) -> None:
    """What another needs, or what is authorized, stays."""
    own = add_job(made, title="Wash the engine")
    assert ("j3", "Wash the engine", False) == (own.jobs[-1].id, own.jobs[-1].title, own.jobs[-1].added_later)
    priced = add_line(own, job="j3", kind="labor", text="Wash", quantity="0.5", unit="h", unit_price="135")
    assert Decimal("67.50") == priced.jobs[-1].choices[0].subtotal
    assert "Wash" == rename_job(priced, job="j3", to="Wash", seen="Wash the engine").jobs[-1].title
    turned = order_jobs(priced, to=["j3", "j1", "j2"], seen=["j1", "j2", "j3"])
    assert (["j3", "j1", "j2"], priced.totals) == ([job.id for job in turned.jobs], turned.totals)
    with pytest.raises(UsageError, match="every job once"):
        order_jobs(priced, to=["j3", "j1"], seen=["j1", "j2", "j3"])
    assert ["j1", "j2"] == [job.id for job in remove_job(priced, job="j3", seen="offered").jobs]
    with pytest.raises(UsageError, match="is authorized"):
        remove_job(authorized(made, "j1"), job="j1", seen="authorized")
    tie = estimate(lexicon, finding(1, "tie_rod_end", "left outer"))
    with pytest.raises(UsageError, match="needs “Wheel alignment”"):
        remove_job(tie, job="j2", seen="offered")


def test_a_job_by_itself_costs_its_own_hours(lexicon: Lexicon) -> None:
    """Overlapping hours come back when a person asks for it."""
    rotors = finding(2, "brake_rotor", "front left", "front right", heard="rotors")
    both = estimate(lexicon, finding(1, "brake_pad", "front left", "front right"), rotors)
    alone = price_alone(both, job="j2")
    line = alone.jobs[1].choices[0].lines[0]
    assert (Decimal("1.2"), None, None) == (line.quantity, line.alone, line.note)
    assert alone == price_alone(alone, job="j2")


def test_a_price_filled_in_by_hand_can_be_kept(lexicon: Lexicon) -> None:
    """A shop that starts with an empty book prices it the next time by itself: one side by half of both."""
    empty = Book(currency="USD", rates=BOOK.rates)
    both = estimate(lexicon, finding(1, "wheel_bearing", "front left", "front right", heard="bearings"), book=empty)
    assert 1 == len(both.to_be_priced)
    told, kept = price_by_hand(
        both, id="p1", hours="3.2", rate="135", part="Bearing", part_price="96.40", part_quantity="2"
    )
    assert () == told.to_be_priced
    assert Decimal("624.80") == told.jobs[0].choices[0].subtotal
    assert ("f1",) == told.jobs[0].finding_ids
    book = with_rows(empty, kept)
    again = estimate(lexicon, finding(1, "wheel_bearing", "front right"), book=book)
    assert [Decimal("216.00"), Decimal("96.40")] == [line.amount for line in again.jobs[0].choices[0].lines]
    assert () == estimate(lexicon, finding(1, "wheel_bearing", "rear right"), book=book).jobs
    assert book.operations == with_rows(book, kept).operations
    with pytest.raises(UsageError, match="has no price yet"):
        price_by_hand(both, id="p1")


def test_made_again_what_people_did_stays(lexicon: Lexicon) -> None:
    """Ids, edits and answers are kept; what is found later is new and, after a consent, marked so."""
    from priced_things import AT, walkaround

    first = estimate(lexicon, finding(1, "wheel_bearing", "front left"))
    edited = change_line(first, line="n1", field="quantity", to="2.0", seen="1.6")
    walk = walkaround(finding(2, "alternator"), finding(1, "wheel_bearing", "front left"))
    again = make_estimate(walk, BOOK, lexicon, made_at=AT, previous=edited)
    new, old = again.jobs
    assert ("j1", Decimal("2.0")) == (old.id, old.choices[0].lines[0].quantity)
    assert new.id not in ("j1", "")
    assert not new.added_later
    ids = [line.id for job in again.jobs for choice in job.choices for line in choice.lines]
    assert len(ids) == len(set(ids))


EDITS = st.lists(
    st.tuples(
        st.sampled_from(("quantity", "unit_price", "add", "remove", "choose", "discount", "job", "order", "payer")),
        st.integers(0, 20),
        st.decimals(0, 300, places=2),
    ),
    max_size=12,
)


@settings(max_examples=60, deadline=None)
@given(edits=EDITS)
def test_any_edits_keep_the_sums(lexicon: Lexicon, edits: list[tuple[str, int, Decimal]]) -> None:
    """After any run of edits the totals are those of the lines, ids are unique, and the record reads back."""
    made = estimate(lexicon, finding(1, "shock_absorber", "rear left"), finding(2, "alternator"))
    for what, which, value in edits:
        try:
            made = edit(made, what, which, str(value))
        except NarrateError:
            continue
    assert made == summed(made)
    ids = [line.id for job in made.jobs for choice in job.choices for line in choice.lines]
    assert len(ids) == len(set(ids))
    assert Estimate.model_validate_json(made.model_dump_json(by_alias=True)) == made


def edit(made: Estimate, what: str, which: int, value: str) -> Estimate:
    """One edit of a kind somewhere."""
    job = made.jobs[which % len(made.jobs)]
    choice = job.choices[which % len(job.choices)]
    lines = choice.lines
    if what == "add":
        return add_line(made, job=job.id, kind="part", text="Part", unit_price=value)
    if what == "choose":
        return choose(made, job=job.id, choice=choice.id, seen=job.chosen)
    if what == "discount":
        return set_discount(made, to=value, why="why", seen=str(made.discount))
    if what == "job":
        return add_job(made, title="More")
    if what == "order":
        ids = [each.id for each in made.jobs]
        return order_jobs(made, to=ids[::-1], seen=ids)
    if what == "payer":
        return set_payer(made, job=job.id, to="warranty", seen=job.payer)
    if not lines:
        return made
    line = lines[which % len(lines)]
    if what == "remove":
        return remove_line(made, line=line.id, seen=str(line.amount))
    return change_line(made, line=line.id, field=what, to=value, seen=str(getattr(line, what)))
