"""Findings become jobs by the book: the right operation, parts and quantities; what has no price is named."""

from decimal import Decimal

import pytest
from priced_things import BOOK, estimate, finding, rows_of

from narrate.records.price_book import Book, Operation, Part, Scope
from narrate.records.walkaround import Suggestion, Vehicle
from narrate.words.lexicon import Lexicon


def with_rows(*, operations: tuple[Operation, ...] = (), parts: tuple[Part, ...] = ()) -> Book:
    """The small book with rows more."""
    return BOOK.model_copy(update={"operations": (*BOOK.operations, *operations), "parts": (*BOOK.parts, *parts)})


def test_a_finding_becomes_a_job_with_labor_and_part(lexicon: Lexicon) -> None:
    """Hours times rate and the part's price, under a title that says what and where."""
    made = estimate(lexicon, finding(1, "wheel_bearing", "front right"))
    [job] = made.jobs
    assert "Replace front right wheel bearing" == job.title
    assert ("f1",) == job.finding_ids
    assert [("labor", "1.6", "216.00"), ("part", "1", "96.40")] == rows_of(made)
    assert ("bearing", "bearing") == (job.operation, job.choices[0].lines[0].row)
    assert not made.draft


@pytest.mark.parametrize(
    ("status", "action", "review"),
    [
        ("fault", "monitor", "confirmed"),
        ("fault", None, "confirmed"),
        ("ok", "replace", "confirmed"),
        ("fault", "replace", "dropped"),
        ("fault", "stop_driving", "confirmed"),
        ("unchecked", "replace", "confirmed"),
    ],
)
def test_what_asks_for_no_work_is_no_job(lexicon: Lexicon, status: str, action: str | None, review: str) -> None:
    """Watched, fine, dropped: told to the customer elsewhere, never summed."""
    made = estimate(lexicon, finding(1, "wheel_bearing", "front right", status=status, action=action, review=review))
    assert ((), ()) == (made.jobs, made.to_be_priced)
    assert 0 == made.totals.total


def test_work_without_a_price_is_named_and_costs_nothing_yet(lexicon: Lexicon) -> None:
    """No operation, no part, no part for that vehicle: three sentences, no zero line."""
    made = estimate(
        lexicon,
        finding(1, "quarter_glass", "left"),
        finding(2, "muffler"),
    )
    assert () == made.jobs
    first, second = made.to_be_priced
    assert "The book has no operation to replace a quarter glass." == first.why
    assert "The book has the work but no part for the muffler." == second.why
    assert (("f2",), "Replace muffler", "p2") == (second.finding_ids, second.title, second.id)
    only = with_rows(
        parts=(
            Part(key="m", component="muffler", text="Muffler", price=Decimal(9), scope=Scope(make="Subaru"), per="job"),
        )
    )
    [third] = estimate(lexicon, finding(1, "muffler"), book=only).to_be_priced
    assert "The book has parts for the muffler of other vehicles only." == third.why


def test_what_was_done_already_waits_for_a_word(lexicon: Lexicon) -> None:
    """Nothing is authorized afterward, and nothing said is lost."""
    made = estimate(lexicon, finding(1, "wheel_bearing", "front right", timing="done"))
    assert () == made.jobs
    assert "Done already: charged only if you say so." == made.to_be_priced[0].why


@pytest.mark.parametrize(
    ("places", "heard", "quantity", "doubted"),
    [
        (("front left",), "rotor", "1", False),
        (("front left", "front right"), "rotors", "2", False),
        (("front",), "rotors", "2", False),
        (("front",), "rotor", "1", True),
        ((), "rotor", "1", True),
        (("front left", "front right", "rear left", "rear right"), "rotors", "4", False),
    ],
)
def test_quantity_comes_from_the_places(
    lexicon: Lexicon, places: tuple[str, ...], heard: str, quantity: str, doubted: bool
) -> None:
    """Each place told is one; a plural at an axle is both sides; a side not told is one, with a doubt."""
    made = estimate(lexicon, finding(1, "brake_rotor", *places, heard=heard))
    assert quantity == rows_of(made)[1][1]
    assert doubted == bool(made.jobs[0].doubts)


def test_an_axle_is_one_set(lexicon: Lexicon) -> None:
    """Pads left and right are one set and one time of labor; front and rear are jobs of their own."""
    made = estimate(
        lexicon, finding(1, "brake_pad", "front left", "front right", "rear left", "rear right", heard="pads")
    )
    assert ["pads.front", "pads.rear"] == [job.operation for job in made.jobs]
    assert [("labor", "1.2", "162.00"), ("part", "1", "48.00"), ("part", "1", "12.00")] == rows_of(made)
    assert ["Replace front brake pads", "Replace rear brake pads"] == [job.title for job in made.jobs]


def test_an_axle_not_told_is_not_guessed(lexicon: Lexicon) -> None:
    """The book has front and rear: which one is for a person to say."""
    made = estimate(lexicon, finding(1, "brake_pad", heard="pads"))
    assert () == made.jobs
    assert "The book can replace a brake pad at front and rear only, not where no place is told." == (
        made.to_be_priced[0].why
    )


def test_the_only_place_the_book_has_is_taken_with_a_doubt(lexicon: Lexicon) -> None:
    """One row for front: “left” is told, so front left is meant, perhaps."""
    rows = with_rows(
        operations=(
            Operation(key="strut", component="strut", action="replace", locations=("front",), hours=Decimal(2)),
        ),
        parts=(Part(key="strut.p", component="strut", text="Strut", price=Decimal(100)),),
    )
    made = estimate(lexicon, finding(1, "strut", "left"), book=rows)
    assert "strut" == made.jobs[0].operation
    assert any("front only" in doubt for doubt in made.jobs[0].doubts)


def test_one_operation_serves_several_findings(lexicon: Lexicon) -> None:
    """Both findings are named by one job; the same operation at another corner is a job of its own."""
    pads = estimate(lexicon, finding(1, "brake_pad", "front left"), finding(2, "brake_pad", "front right"))
    assert [("f1", "f2")] == [job.finding_ids for job in pads.jobs]
    corners = estimate(lexicon, finding(1, "wheel_bearing", "front left"), finding(2, "wheel_bearing", "front right"))
    assert [("f1",), ("f2",)] == [job.finding_ids for job in corners.jobs]


def test_choices_stand_one_under_the_other(lexicon: Lexicon) -> None:
    """Cheapest first; what the technician spoke of before, with the price they said."""
    plain = estimate(lexicon, finding(1, "shock_absorber", "rear left"))
    assert ["new", "rebuilt"] == [choice.label for choice in plain.jobs[0].choices]
    spoken = estimate(
        lexicon,
        finding(1, "shock_absorber", "rear left", options=("rebuilt", "new"), prices=(("140", "rebuilt"),)),
    )
    first, second = spoken.jobs[0].choices
    assert (["rebuilt", "new"], Decimal(140), None) == ([first.label, second.label], first.spoken, second.spoken)
    assert [("labor", "0.9", "121.50"), ("part", "1", "70.00"), ("core", "1", "15.00")] == rows_of(spoken)
    assert first.subtotal == Decimal("206.50")


def test_a_spoken_kind_that_the_book_lacks_is_told(lexicon: Lexicon) -> None:
    """Nothing said is lost."""
    said = finding(1, "wheel_bearing", "front left", options=("used",), prices=(("40", "used"),))
    why = estimate(lexicon, said).jobs[0].why
    assert why is not None
    assert "Spoken of: used; the book has none." in why
    assert "Spoken price 40 USD for used" in why


def test_what_else_may_be_done_is_a_choice(lexicon: Lexicon) -> None:
    """Repair instead of replace, after every kind of part."""
    made = estimate(lexicon, finding(1, "alternator", otherwise=("repair", "clean")))
    labels = [choice.label for choice in made.jobs[0].choices]
    assert ["rebuilt", "new", "repair instead"] == labels
    assert [("labor", "2.5", "337.50")] == rows_of(made, choice=2)


def test_markup_is_that_of_the_costs_range(lexicon: Lexicon) -> None:
    """A part that cost 200 carries 35 percent, one that cost 30 carries 60."""
    made = estimate(lexicon, finding(1, "alternator"), finding(2, "brake_pad", "front left"))
    prices = {line.row: line.unit_price for job in made.jobs for choice in job.choices for line in choice.lines}
    assert (Decimal("270.00"), Decimal("48.00")) == (prices["alt.new"], prices["pads.f"])


@pytest.mark.parametrize(
    ("vehicle", "operation"),
    [
        (Vehicle(make="SUBARU", year=2012), "alternator.subaru"),
        (Vehicle(make="Subaru", year=2016), "alternator"),
        (Vehicle(make="Subaru"), "alternator"),
        (Vehicle(), "alternator"),
    ],
)
def test_the_narrowest_vehicle_wins(lexicon: Lexicon, vehicle: Vehicle, operation: str) -> None:
    """A row that names the vehicle goes first, and is not taken where the vehicle is not known."""
    assert operation == estimate(lexicon, finding(1, "alternator"), vehicle=vehicle).jobs[0].operation


def test_overlapping_labor_is_taken_off_once_and_shown(lexicon: Lexicon) -> None:
    """Rotors and pads of the front axle share hours; at the rear nothing does."""
    rotors = finding(2, "brake_rotor", "front left", "front right", heard="rotors")
    made = estimate(lexicon, finding(1, "brake_pad", "front left", "front right"), rotors)
    labor = [job.choices[0].lines[0] for job in made.jobs]
    assert [Decimal("1.2"), Decimal("0.6")] == [line.quantity for line in labor]
    assert (Decimal("1.2"), ("j1",)) == (labor[1].alone, labor[1].together_with)
    assert labor[1].note is not None
    assert labor[1].note.startswith("0.6 h taken off: done together with “Replace front brake pads”")
    rear = finding(2, "brake_rotor", "rear left", heard="rotor")
    apart = estimate(lexicon, finding(1, "brake_pad", "front left", "front right"), rear)
    assert Decimal("0.6") == apart.jobs[1].choices[0].lines[0].quantity


def test_half_a_repair_names_the_other_half(lexicon: Lexicon) -> None:
    """A tie rod end wants an alignment: a job of its own, once for both sides, or the one that is there."""
    both = estimate(lexicon, finding(1, "tie_rod_end", "left outer"), finding(2, "tie_rod_end", "right outer"))
    left, right, aligned = both.jobs
    assert (("j3",), ("j3",), ()) == (left.requires, right.requires, aligned.finding_ids)
    assert "Wheel alignment" == aligned.title
    there = estimate(lexicon, finding(1, "tie_rod_end", "left outer"), finding(2, "wheel_alignment", action="align"))
    assert [("j2",), ()] == [job.requires for job in there.jobs]
    assert ("f2",) == there.jobs[1].finding_ids


def test_what_goes_with_it_is_optional(lexicon: Lexicon) -> None:
    """A suggestion the book can price is a job of its own, marked so, and not summed as needed."""
    text = "Replace shocks in axle pairs. (the other side: rear right)"
    suggested = Suggestion(id="s1", kind="goes_with", for_="f1", text=text, source="common practice, no source")
    made = estimate(lexicon, finding(1, "shock_absorber", "rear left"), suggest=(suggested,))
    needed, optional = made.jobs
    assert (False, True, "Replace rear right shock absorber") == (needed.optional, optional.optional, optional.title)
    assert made.needed.total < made.totals.total
    said = estimate(lexicon, finding(1, "shock_absorber", "rear left", "rear right"), suggest=(suggested,))
    assert 1 == len(said.jobs)


def test_a_part_that_goes_in_anyway_is_not_charged_twice(lexicon: Lexicon) -> None:
    """Hardware found wanting by itself stands in its own job only."""
    rows = with_rows(
        operations=(Operation(key="hw", component="brake_hardware", action="replace", per="axle", hours=Decimal(1)),)
    )
    made = estimate(
        lexicon, finding(1, "brake_pad", "front left"), finding(2, "brake_hardware", "front left"), book=rows
    )
    kits = [line for job in made.jobs for line in job.choices[0].lines if line.row == "hardware"]
    assert 1 == len(kits)
    assert made.jobs[0].why is not None
    assert "stands in a job of its own" in made.jobs[0].why


def test_a_part_that_goes_in_and_has_no_price_is_named(lexicon: Lexicon) -> None:
    """The job is priced without it, which is told."""
    without = BOOK.model_copy(update={"parts": tuple(part for part in BOOK.parts if part.key != "hardware")})
    made = estimate(lexicon, finding(1, "brake_pad", "front left"), book=without)
    assert 1 == len(made.jobs)
    assert "Brake hardware for: Replace front left brake pad" == made.to_be_priced[0].title


def test_the_same_work_under_another_name(lexicon: Lexicon) -> None:
    """A fluid replaced is a fluid flushed; a part missing is a part put in."""
    fluid = estimate(lexicon, finding(1, "brake_fluid", action="replace"))
    assert ("fluid", "Replace brake fluid") == (fluid.jobs[0].operation, fluid.jobs[0].title)
    assert [("labor", "0.7", "94.50"), ("fluid", "2", "18.00")] == rows_of(fluid)
    install = estimate(lexicon, finding(1, "wheel_bearing", "front left", action="install"))
    assert "bearing" == install.jobs[0].operation
    other = estimate(lexicon, finding(1, "wheel_bearing", "front left", action="lubricate"))
    assert () == other.jobs


@pytest.mark.parametrize(
    ("asked", "has", "doubted"),
    [
        (("valve_cover_gasket", "reseal"), ("valve_cover_gasket", "replace"), False),
        (("refrigerant", "recharge"), ("air_conditioning", "recharge"), True),
        (("parking_brake_cable", "adjust"), ("parking_brake", "adjust"), True),
        (("turn_signal", "replace"), ("turn_signal_bulb", "replace"), True),
        (("wheel_alignment", "adjust"), ("wheel_alignment", "align"), False),
    ],
)
def test_near_work_is_taken_with_a_doubt(
    lexicon: Lexicon, asked: tuple[str, str], has: tuple[str, str], doubted: bool
) -> None:
    """Under the system, under the bulb of the lamp: priced, and to be looked at."""
    rows = Book(
        currency="USD",
        operations=(Operation(key="near", component=has[0], action=has[1], per="job", hours=Decimal(1)),),
        parts=(Part(key="p", component=has[0], text="Part", price=Decimal(5), per="job"),),
        rates=BOOK.rates,
    )
    made = estimate(lexicon, finding(1, asked[0], action=asked[1]), book=rows)
    assert ["near"] == [job.operation for job in made.jobs], made.to_be_priced
    assert doubted == bool(made.jobs[0].doubts)


def test_work_sent_out_has_its_price_instead_of_hours(lexicon: Lexicon) -> None:
    """One line, no labor of the shop."""
    made = estimate(lexicon, finding(1, "windshield", action="repair"))
    assert [("sublet", "1", "85.00")] == rows_of(made)


def test_unreviewed_findings_make_a_draft(lexicon: Lexicon) -> None:
    """Even where they cost nothing; a dropped one is settled."""
    sure = finding(1, "alternator")
    assert estimate(lexicon, sure, finding(2, "tire", status="ok", review="unreviewed")).draft
    assert not estimate(lexicon, sure, finding(2, "tire", review="dropped")).draft
