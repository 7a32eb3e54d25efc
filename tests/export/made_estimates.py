"""Estimates made by hand: of a few findings, of none, and of many with long names and many choices."""

from decimal import Decimal

from made_findings import BEARING, CERTAIN, DROPPED, SEAL, TIRES, heard

from narrate.records.estimate import Choice, Consent, Estimate, Job, Line, TaxLine, ToBePriced, Totals
from narrate.records.reviewed import Review
from narrate.records.walkaround import (
    Component,
    Concern,
    Condition,
    Finding,
    MadeBy,
    Measurement,
    Odometer,
    PlainWords,
    Recommendation,
    Urgency,
    Vehicle,
    Verdict,
    Walkaround,
)

D = Decimal
MADE_BY = MadeBy(program="narrate 0.1.0", lexicon="sha256:0", settings="sha256:0")
CONFIRMED = Review(state="confirmed", by="ann")
VEHICLE = Vehicle(year=2014, make="Ford", model="F-150", odometer=Odometer(value=D("48210"), unit="mi"))


def labor(hours: str, rate: str, amount: str, text: str = "Fit it", note: str | None = None) -> Line:
    line = Line(
        kind="labor", text=text, quantity=D(hours), unit="h", unit_price=D(rate), amount=D(amount), taxable=False
    )
    return line.model_copy(update={"note": note})


def part(price: str, text: str, quantity: str = "1", **more: str) -> Line:
    amount = D(price) * D(quantity)
    told = {"kind": "part", "text": text, "quantity": quantity, "unit": "each", "unit_price": price, "amount": amount}
    return Line.model_validate({**told, "taxable": True, **more})


def worn_pads() -> Finding:
    below = Verdict(result="below", limit=D("2"), unit="mm", rule_set="United States", source="49 CFR 570.5(a)")
    return Finding(
        id="f5",
        component=Component(id="brake_pad", name="brake pad", system="brakes", heard="pads"),
        locations=("rear left", "rear right"),
        status="fault",
        conditions=(Condition(id="worn", name="worn out", said="worn out"),),
        recommendation=Recommendation(action="replace"),
        measurements=(
            Measurement(quantity="thickness", value=D("1"), unit="mm", location="rear left", said="one", verdict=below),
        ),
        urgency=Urgency(when="before_driving", why="metal runs on metal"),
        cautions=("brakes",),
        plain_words=(
            PlainWords(about="matters", text="The brakes slow the car and hold it still.", source="common practice"),
            PlainWords(about="if_left", text="It wears on until it no longer works.", source="common practice"),
        ),
        evidence=(heard(20, 24, "rear pads are worn out", start_s=90.0),),
        confidence=CERTAIN,
        review=CONFIRMED,
    )


BEARING_JOB = Job(
    id="j1",
    title="Replace wheel bearing",
    finding_ids=("f1",),
    component="wheel_bearing",
    action="replace",
    locations=("front right",),
    choices=(
        Choice(
            id="k1",
            label="new, original maker's part",
            lines=(
                labor("1.6", "135", "216.00"),
                part("96.40", "Wheel bearing", part_number="HB-201", part_is="new", part_maker="original_maker"),
            ),
            spoken=D("140"),
            subtotal=D("312.40"),
        ),
        Choice(
            id="k2",
            label="rebuilt",
            lines=(labor("1.6", "135", "216.00"), part("50", "=cmd|' /c calc'!A1", part_is="rebuilt")),
            subtotal=D("266.00"),
        ),
    ),
)
PADS_JOB = Job(
    id="j2",
    title="Replace brake pads, rear left and rear right",
    finding_ids=("f5",),
    locations=("rear left", "rear right"),
    requires=("j1",),
    choices=(
        Choice(
            id="k1",
            label="",
            lines=(
                labor("1.2", "135", "162.00", note="0.4 h are done with job 1"),
                part("61.25", "Brake pads, rear set"),
            ),
            subtotal=D("223.25"),
        ),
    ),
)
HUB_NUT_JOB = Job(
    id="j3",
    title="Hub nut <new>",
    optional=True,
    choices=(Choice(id="k1", label="", lines=(part("4.50", "Hub nut", part_is="new"),), subtotal=D("4.50")),),
)
TOTALS = Totals(
    parts=D("162.15"),
    labor=D("378.00"),
    supplies=D("18.90"),
    tax=D("11.35"),
    total=D("570.40"),
    taxes=(TaxLine(name="Sales tax", rate=D("7"), base=D("162.15"), amount=D("11.35")),),
)
CONSENT = Consent(
    at="2026-11-27T10:05:00.000Z",
    by="Ann",
    who="J. Doe",
    how="telephone",
    number="555 0100",
    words="Go ahead & do <both>",
    read_back=True,
    answers={"j1": {"state": "authorized", "choice": "k1"}, "j2": {"state": "declined"}},
    total=D("570.40"),
    document="ab" * 32,
)


def some_walkaround() -> Walkaround:
    """Three findings that need something, one that is fine, one dropped."""
    confirmed = tuple(f.model_copy(update={"review": CONFIRMED}) for f in (BEARING, TIRES, SEAL))
    return Walkaround(
        made_by=MADE_BY,
        vehicle=VEHICLE,
        concerns=(Concern(id="c1", text="grinding when turning", state="answered"),),
        findings=(*confirmed, DROPPED, worn_pads(), weatherstrip()),
    )


def weatherstrip() -> Finding:
    return Finding(
        id="f6",
        component=Component(id="weatherstrip", name="quarter glass weatherstrip", system="body", heard="strip"),
        locations=("left",),
        status="fault",
        conditions=(Condition(id="torn", name="torn", said="torn"),),
        recommendation=Recommendation(action="replace"),
        evidence=(heard(25, 27, "weatherstrip is torn", start_s=99.0),),
        confidence=CERTAIN,
        review=CONFIRMED,
    )


def some_estimate(**more: object) -> Estimate:
    """Two jobs, an optional one, and one that waits for its price."""
    made = Estimate(
        walkaround_id="w1",
        draft=False,
        currency="USD",
        place="unknown",
        made_at="2026-11-27T09:50:00.000Z",
        expires_on="2026-12-27",
        shop={"name": "Hill & Dale Garage", "address": "1 Hill Rd\nDale", "licenses": "ARD 12345"},
        customer={"name": "J. <Doe>"},
        vehicle=VEHICLE.model_dump(mode="json"),
        order_number="4711",
        concerns=("grinding when turning",),
        jobs=(BEARING_JOB, PADS_JOB, HUB_NUT_JOB),
        totals=TOTALS,
        offered=TOTALS.model_copy(update={"taxes": ()}),
        needed=TOTALS.model_copy(update={"total": D("565.59"), "taxes": ()}),
        to_be_priced=(
            ToBePriced(finding_ids=("f6",), title="Replace weatherstrip, left", why="The book has no such job."),
        ),
    )
    return made.model_copy(update=more)


def nothing_found() -> tuple[Estimate, Walkaround]:
    """A walk-round that found nothing."""
    empty = {"jobs": (), "to_be_priced": (), "totals": Totals(), "offered": Totals(), "concerns": (), "vehicle": {}}
    return some_estimate(**empty), Walkaround(made_by=MADE_BY)


def many(count: int, ways: int = 4) -> tuple[Estimate, Walkaround]:
    """So many findings, each with a job of so many ways, with names as long as names get."""
    places = ("front left", "front right", "rear left", "rear right")
    name = "lower control arm rear hydraulic bushing and bracket assembly with heat shield"
    findings = tuple(
        worn_pads().model_copy(
            update={
                "id": f"f{number}",
                "locations": (places[number % 4],),
                "component": Component(id=f"part_{number}", name=f"{name} {number}", system="suspension", heard="arm"),
            }
        )
        for number in range(1, count + 1)
    )
    lines = (labor("2.25", "135", "303.75", f"Take out and fit: {name}"), part("1204.5", name, "2", part_is="new"))
    choices = tuple(
        Choice(id=f"k{way}", label=f"way {way}: {name}", lines=lines, subtotal=D("2712.75"))
        for way in range(1, ways + 1)
    )
    jobs = tuple(
        Job(id=f"j{n}", title=f"Replace {name} {n}", finding_ids=(f"f{n}",), choices=choices)
        for n in range(1, count + 1)
    )
    total = Totals(parts=D("2409") * count, labor=D("303.75") * count, total=D("2712.75") * count)
    made = some_estimate(jobs=jobs, totals=total, offered=total, to_be_priced=())
    return made, Walkaround(made_by=MADE_BY, vehicle=VEHICLE, findings=findings)
