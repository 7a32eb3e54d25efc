"""Drivers' complaints: whether narrate sees a part of the system that the agency filed each one under."""

from collections.abc import Sequence
from dataclasses import dataclass

from asking import Asked

from narrate.score.counts import Share

# The first level of NHTSA's component descriptions -> narrate's systems (file names of lexicon/systems). Made for
# this check: the agency's heads are wider than a system, so any of those named will do; more exact beginnings go
# first. UNKNOWN OR OTHER is asked nothing.
SYSTEMS = {
    "AIR BAGS": ("restraints",),
    "ELECTRICAL SYSTEM: INSTRUMENT PANEL": ("instruments", "electrical"),
    "ELECTRICAL SYSTEM": ("electrical", "ignition", "lighting"),
    "ENGINE AND ENGINE COOLING": ("engine", "cooling", "lubrication", "intake", "ignition"),
    "ENGINE": ("engine", "cooling", "lubrication", "intake", "ignition"),
    "EXTERIOR LIGHTING": ("lighting",),
    "FUEL/PROPULSION SYSTEM": ("fuel", "intake", "hybrid"),
    "LATCHES/LOCKS/LINKAGES": ("body", "interior"),
    "POWER TRAIN": ("transmission", "driveline"),
    "SERVICE BRAKES": ("brakes",),
    "STEERING": ("steering",),
    "STRUCTURE": ("body",),
    "SUSPENSION": ("suspension",),
    "TIRES": ("wheels",),
    "TRACTION CONTROL SYSTEM": ("brakes",),
    "WHEELS": ("wheels",),
}


@dataclass(frozen=True)
class ComplaintScores:
    """Of the complaints asked: a part of the system is mentioned; a finding is about one."""

    mentioned: Share
    missed: tuple[str, ...]
    found: Share


def score_complaints(asked: Asked, complaints: Sequence[tuple[str, str]]) -> ComplaintScores:
    """Ask for each complaint with a mapped head."""
    mentioned, found = Share(), Share()
    missed: list[str] = []
    for head, narrative in complaints:
        systems = systems_of(head)
        if not systems:
            continue
        parts = {m.key for m in asked.understand(narrative).mentions if m.family == "component"}
        met = any(asked.lexicon.system_of[part] in systems for part in parts)
        mentioned += Share(met, 1)
        found += Share(any(f.component.system in systems for f in asked.find(narrative)), 1)
        missed += [] if met else [f"{head}: {narrative}"]
    return ComplaintScores(mentioned, tuple(missed), found)


def systems_of(head: str) -> tuple[str, ...]:
    """The systems a component description stands for; none where it says nothing."""
    return next((systems for name, systems in SYSTEMS.items() if head.startswith(name)), ())
