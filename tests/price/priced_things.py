"""A small book and walkarounds made by hand, for tests of matching, sums, editing and consents."""

from decimal import Decimal
from typing import Any

from narrate.price.estimating import make_estimate
from narrate.records.estimate import Estimate
from narrate.records.price_book import (
    Book,
    Fee,
    Fluid,
    LaborRate,
    Markup,
    Operation,
    Part,
    Scope,
    Supplies,
    TaxRule,
)
from narrate.records.reviewed import Review
from narrate.records.walkaround import (
    Component,
    Confidence,
    Evidence,
    Finding,
    MadeBy,
    QuotedPrice,
    Recommendation,
    Suggestion,
    Vehicle,
    Walkaround,
)
from narrate.words.lexicon import Lexicon

AT = "2026-11-27T10:00:00Z"
SURE = Confidence(overall=1, component=1, location=1, condition=1, recommendation=1)
SAID = (Evidence(recording="r1", first_word=0, last_word=1, said="so said"),)

OPERATIONS = (
    Operation(
        key="pads.front",
        component="brake_pad",
        action="replace",
        locations=("front",),
        per="axle",
        hours=Decimal("1.2"),
        overlaps="front brakes",
        overlap_hours=Decimal("0.5"),
        with_parts=("brake_hardware",),
    ),
    Operation(
        key="pads.rear",
        component="brake_pad",
        action="replace",
        locations=("rear",),
        per="axle",
        hours=Decimal("1.4"),
    ),
    Operation(
        key="rotor",
        component="brake_rotor",
        action="replace",
        hours=Decimal("0.6"),
        overlaps="front brakes",
        overlap_hours=Decimal("0.3"),
    ),
    Operation(key="bearing", component="wheel_bearing", action="replace", hours=Decimal("1.6")),
    Operation(key="tie", component="tie_rod_end", action="replace", hours=Decimal("0.8"), requires=("align",)),
    Operation(key="align", component="wheel_alignment", action="align", per="job", hours=Decimal(1)),
    Operation(key="shock", component="shock_absorber", action="replace", hours=Decimal("0.9")),
    Operation(
        key="fluid",
        component="brake_fluid",
        action="flush",
        per="job",
        hours=Decimal("0.7"),
        fluids=("dot4*2",),
    ),
    Operation(key="alternator", component="alternator", action="replace", per="job", hours=Decimal("1.3")),
    Operation(key="alternator.repair", component="alternator", action="repair", per="job", hours=Decimal("2.5")),
    Operation(
        key="alternator.subaru",
        component="alternator",
        action="replace",
        per="job",
        hours=Decimal("0.9"),
        scope=Scope(make="Subaru", year_from=2010, year_to=2014),
    ),
    Operation(key="muffler", component="muffler", action="replace", per="job", hours=Decimal("1.1")),
    Operation(key="tire", component="tire", action="replace", hours=Decimal("0.3")),
    Operation(key="glass", component="windshield", action="repair", per="job", sublet=Decimal("85.00")),
)
PARTS = (
    Part(
        key="pads.f",
        component="brake_pad",
        locations=("front",),
        text="Front pads",
        part_maker="other_maker",
        per="axle",
        cost=Decimal("30.00"),
    ),
    Part(
        key="pads.f.om",
        component="brake_pad",
        locations=("front",),
        text="Front pads",
        part_maker="original_maker",
        per="axle",
        price=Decimal("81.40"),
    ),
    Part(
        key="pads.r",
        component="brake_pad",
        locations=("rear",),
        text="Rear pads",
        per="axle",
        price=Decimal("52.00"),
    ),
    Part(key="hardware", component="brake_hardware", text="Hardware kit", per="axle", price=Decimal("12.00")),
    Part(key="rotor.p", component="brake_rotor", text="Rotor", price=Decimal("49.99")),
    Part(key="bearing.l", component="wheel_bearing", text="Bearing", price=Decimal("96.40")),
    Part(key="tie.p", component="tie_rod_end", text="Tie rod end", price=Decimal("39.00")),
    Part(key="shock.new", component="shock_absorber", text="Shock", price=Decimal("60.00")),
    Part(
        key="shock.reb",
        component="shock_absorber",
        text="Shock, rebuilt",
        part_is="rebuilt",
        price=Decimal("70.00"),
        core=Decimal("15.00"),
    ),
    Part(key="alt.new", component="alternator", text="Alternator", cost=Decimal("200.00"), per="job"),
    Part(
        key="alt.reb",
        component="alternator",
        text="Alternator, rebuilt",
        part_is="rebuilt",
        price=Decimal("190.00"),
        core=Decimal("60.00"),
        per="job",
    ),
    Part(key="tire.p", component="tire", text="Tire", price=Decimal("110.00")),
)
BOOK = Book(
    currency="USD",
    operations=OPERATIONS,
    parts=PARTS,
    fluids=(Fluid(key="dot4", text="DOT 4", unit="qt", price=Decimal("9.00")),),
    rates=(LaborRate(name="standard", price=Decimal("135.00")),),
    markups=(
        Markup(cost_from=Decimal(0), percent=Decimal(60)),
        Markup(cost_from=Decimal(100), percent=Decimal(35)),
    ),
    supplies=Supplies(percent=Decimal(5), at_most=Decimal(30)),
    fees=(Fee(key="tire.fee", text="Disposal of tires", price=Decimal("3.50"), per="component", component="tire"),),
    taxes=(TaxRule(name="Sales tax", percent=Decimal("7.25"), on=("part", "fluid", "supplies")),),
    digest="sha256:b",
)


def finding(
    number: int,
    component: str,
    *places: str,
    action: str | None = "replace",
    heard: str | None = None,
    status: str = "fault",
    review: str = "confirmed",
    otherwise: tuple[str, ...] = (),
    timing: str | None = None,
    options: tuple[str, ...] = (),
    prices: tuple[tuple[str, str], ...] = (),
) -> Finding:
    """A finding as a technician's words would make it."""
    name = component.replace("_", " ")
    return Finding(
        id=f"f{number}",
        component=Component(id=component, name=name, system="s", heard=heard or name),
        locations=places,
        status=status,
        recommendation=Recommendation(action=action, otherwise=otherwise, timing=timing),
        part_options=options,
        quoted_prices=tuple(
            QuotedPrice(amount=Decimal(amount), currency="USD", for_=what, said=amount) for amount, what in prices
        ),
        evidence=SAID,
        confidence=SURE,
        review=Review(state=review),
    )


def walkaround(*findings: Finding, vehicle: Vehicle | None = None, suggest: tuple[Suggestion, ...] = ()) -> Walkaround:
    """A walkaround that holds nothing else."""
    made = MadeBy(program="narrate", lexicon="l", settings="s")
    return Walkaround(made_by=made, findings=findings, vehicle=vehicle or Vehicle(), suggestions=suggest)


def estimate(lexicon: Lexicon, *findings: Finding, book: Book = BOOK, **more: Any) -> Estimate:
    """The estimate for some findings."""
    walk = walkaround(*findings, vehicle=more.pop("vehicle", None), suggest=more.pop("suggest", ()))
    return make_estimate(walk, book, lexicon, made_at=AT, **more)


def rows_of(made: Estimate, job: int = 0, choice: int = 0) -> list[tuple[str, str, str]]:
    """(kind, quantity, amount) of the lines of one way."""
    lines = made.jobs[job].choices[choice].lines
    return [(line.kind, format(line.quantity.normalize(), "f"), str(line.amount)) for line in lines]
