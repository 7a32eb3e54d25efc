"""Findings that have something of everything, made by hand."""

from decimal import Decimal

from narrate.records.reviewed import Review
from narrate.records.walkaround import (
    Answer,
    Component,
    Condition,
    Confidence,
    Doubt,
    Evidence,
    Finding,
    Measurement,
    QuotedPrice,
    Recommendation,
    Urgency,
    Verdict,
)

CERTAIN = Confidence(overall=0.95, component=0.95, location=1.0, condition=0.95, recommendation=0.97)


def heard(first: int, last: int, said: str, *, start_s: float | None = None) -> Evidence:
    end_s = None if start_s is None else start_s + 4.5
    return Evidence(recording="r1", first_word=first, last_word=last, start_s=start_s, end_s=end_s, said=said)


BEARING = Finding(
    id="f1",
    component=Component(id="wheel_bearing", name="wheel bearing", system="wheels", heard="will bearing"),
    locations=("front right",),
    status="fault",
    conditions=(Condition(id="play", name="play", certainty="suspected", said="play"),),
    recommendation=Recommendation(action="replace", otherwise=("adjust",)),
    measurements=(
        Measurement(
            quantity="play",
            value=Decimal("0.4"),
            unit="mm",
            about=True,
            location="front right",
            said="about point four",
            verdict=Verdict(result="above", limit=Decimal("0.1"), unit="mm", rule_set="maker", source="book"),
        ),
    ),
    part_options=("new", "other_maker"),
    quoted_prices=(QuotedPrice(amount=Decimal("140.00"), currency="USD", for_="rebuilt", said="one forty"),),
    answers=(Answer(concern="c1"),),
    urgency=Urgency(when="before_driving", why="the wheel may come off"),
    cautions=("lifting",),
    evidence=(
        heard(0, 4, "the will bearing has play", start_s=69.2),
        heard(9, 11, "=that bearing again", start_s=80.0),
    ),
    confidence=CERTAIN,
    doubts=(Doubt(field="component", why="heard 'will bearing'", instead=("wheel bearing", "ball joint")),),
)
TIRES = Finding(
    id="f2",
    component=Component(id="tire", name="tire", system="wheels", heard="tires"),
    locations=("rear left", "rear right"),
    status="ok",
    measurements=(Measurement(value=Decimal("5"), high=Decimal("6"), unit="1/32in", said="five to six"),),
    cautions=("lifting",),
    evidence=(heard(5, 8, "rear tires are five to six", start_s=75.0),),
    confidence=CERTAIN,
    review=Review(state="confirmed", by="ann"),
)
SEAL = Finding(
    id="f3",
    component=Component(id="output_shaft_seal", name="output shaft seal", system="gearbox", heard="seal"),
    status="fault",
    conditions=(Condition(id="seeping", name="seeping", certainty="starting", said="a weep"),),
    recommendation=Recommendation(action="monitor"),
    evidence=(heard(12, 13, "seal weeps <a little>"),),
    confidence=CERTAIN,
)
DROPPED = Finding(
    id="f4",
    component=Component(id="horn", name="horn", system="electrical", heard="horn"),
    status="unchecked",
    evidence=(heard(14, 14, "horn"),),
    confidence=CERTAIN,
    review=Review(state="dropped", why="another car"),
)
