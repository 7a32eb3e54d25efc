"""The technician's sheet: the authorized work, the parts to order for it, and boxes to tick."""

from dataclasses import dataclass

from narrate.export.estimate_page import Document, document, language
from narrate.export.estimate_parts import STATES, JobShown, LineShown, chosen, shown_jobs
from narrate.export.findings_shown import FindingShown, shown_findings
from narrate.export.phrases import say_vehicle
from narrate.export.sums_said import figure, say_day
from narrate.records.estimate import Estimate, Job, Line, Outcome
from narrate.records.walkaround import Walkaround

OUTCOMES = {
    "done": "done",
    "not_needed": "not needed",
    "found_worse": "found worse",
    "part_ordered": "parts ordered",
    "part_here": "parts here",
}
TO_FIT = ("part", "fluid")


@dataclass(frozen=True)
class PartShown:
    """One part or fluid to have ready."""

    what: str
    number: str
    quantity: str
    job: int
    there: str


@dataclass(frozen=True)
class WorkShown:
    """One authorized job in its chosen way. Prices are left out: they are the advisor's."""

    job: JobShown
    way: str
    labor: tuple[LineShown, ...]
    findings: tuple[FindingShown, ...]
    outcomes: tuple[str, ...]


def job_sheet(estimate: Estimate, walkaround: Walkaround) -> Document:
    """The sheet as a page of its own, made for paper."""
    findings = shown_findings(walkaround, {}, {})
    jobs = shown_jobs(estimate)
    vehicle = say_vehicle(walkaround.vehicle)
    plate = str(estimate.vehicle.get("plate") or "")
    return document(
        "job_sheet.html",
        language=language(walkaround),
        title=" ".join(text for text in ("Job sheet", estimate.id) if text) + (f": {vehicle}" if vehicle else ""),
        known=[
            (name, text)
            for name, text in (
                ("Order", estimate.order_number or ""),
                ("Plate", plate),
                ("Vehicle number (VIN)", str(estimate.vehicle.get("vin") or "")),
                ("Promised for", say_day(estimate.promised)),
                ("Replaced parts", "keep for the customer" if estimate.old_parts == "asked_back" else ""),
            )
            if text
        ],
        work=[_work(job, shown, findings, estimate) for job, shown in jobs if job.state == "authorized"],
        parts=[
            part for job, shown in jobs if job.state == "authorized" for part in _parts(job, shown.number, estimate)
        ],
        rest=[(shown, STATES[job.state]) for job, shown in jobs if job.state != "authorized"],
        waiting=[work.title for work in estimate.to_be_priced],
    )


def _work(job: Job, shown: JobShown, findings: dict[str, FindingShown], estimate: Estimate) -> WorkShown:
    way = chosen(job)
    place = job.choices.index(way) if way else 0
    lines = shown.choices[place].lines if way else ()
    kinds = [line.kind for line in way.lines] if way else []
    return WorkShown(
        job=shown,
        way=way.label if way else "",
        labor=tuple(line for line, kind in zip(lines, kinds, strict=True) if kind in ("labor", "sublet")),
        findings=tuple(findings[id_] for id_ in job.finding_ids if id_ in findings),
        outcomes=tuple(_outcome(outcome) for outcome in estimate.outcomes if outcome.job == job.id),
    )


def _parts(job: Job, number: int, estimate: Estimate) -> list[PartShown]:
    way = chosen(job)
    there = _there([outcome for outcome in estimate.outcomes if outcome.job == job.id])
    return [
        PartShown(_what(line), line.part_number or "", f"{figure(line.quantity)} {line.unit}", number, there)
        for line in (way.lines if way else ())
        if line.kind in TO_FIT
    ]


def _what(line: Line) -> str:
    return f"{line.text} ({line.part_is})" if line.part_is else line.text


def _there(outcomes: list[Outcome]) -> str:
    """What was last told of the job's parts; nothing was told: a box to tick."""
    told = [outcome for outcome in outcomes if outcome.what in ("part_ordered", "part_here")]
    if not told:
        return ""
    last = told[-1]
    if last.what == "part_here":
        return "here"
    return f"ordered, promised for {say_day(last.promised)}" if last.promised else "ordered"


def _outcome(outcome: Outcome) -> str:
    note = f": {outcome.note}" if outcome.note else ""
    return f"{say_day(outcome.at)}, {outcome.by}: {OUTCOMES[outcome.what]}{note}"
