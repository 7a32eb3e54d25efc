"""The usual cautions: what to say where a fault can hurt someone. Common practice, no source."""

from collections.abc import Iterable

from narrate.records.walkaround import Finding

USUAL_CAUTIONS = {
    "brakes": "Brakes: worn or leaking brakes can fail without warning; have them put right first.",
    "steering": "Steering: play or damage can grow suddenly; drive no further than needed.",
    "suspension": "Suspension: springs and struts hold a great force; only the proper tools take them apart.",
    "tires": "Tires: a worn or damaged tire can lose its hold or burst; do not load or speed the vehicle.",
    "restraints": "Airbags and belts: they can go off while being worked on; leave them to trained people.",
    "fuel": "Fuel: keep flames, sparks and cigarettes away wherever fuel may leak.",
    "high_voltage": "High voltage: orange cables and all behind them can kill; leave them to trained people.",
    "lifting": "Lifting: never get under a vehicle that stands on a jack alone.",
    "visibility": "Sight: what hinders seeing or being seen matters most at night and in rain.",
}
"""The caution printed for each subject a finding may name in `cautions`; other texts are printed as given."""

DEFER = "Follow local codes; leave to licensed people what the law leaves to them."


def say_cautions(findings: Iterable[Finding]) -> list[str]:
    """Each caution once, however many findings carry it."""
    carried = dict.fromkeys(caution for finding in findings for caution in finding.cautions)
    return [USUAL_CAUTIONS.get(caution, caution) for caution in carried]
