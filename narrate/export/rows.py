"""The rows of the spreadsheet formats, with numbers still numbers."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from narrate.export.phrases import (
    say_condition,
    say_doubt,
    say_measurement,
    say_option,
    say_price,
    say_recommendation,
    say_urgency,
    say_verdicts,
    say_words,
)
from narrate.records.walkaround import Concern, Evidence, Finding, Unplaced, Walkaround

Cell = str | Decimal | float | None
Row = tuple[Cell, ...]


@dataclass(frozen=True)
class Column:
    """One column: its heading, what its cells are and how many characters wide it is shown."""

    name: str
    kind: Literal["text", "number", "time"] = "text"
    """`time` is a number of seconds."""
    width: int = 16


FINDING_COLUMNS = (
    Column("kind", width=14),
    Column("id", width=6),
    Column("component", width=24),
    Column("locations", width=24),
    Column("status", width=10),
    Column("conditions", width=24),
    Column("recommendation", width=24),
    Column("measurements", width=28),
    Column("verdicts", width=36),
    Column("price", "number", 10),
    Column("currency", width=9),
    Column("prices", width=24),
    Column("urgency", width=24),
    Column("start_s", "time", 9),
    Column("end_s", "time", 9),
    Column("recording", width=18),
    Column("said", width=60),
    Column("position", width=14),
    Column("codes", width=12),
    Column("tests", width=24),
    Column("reason", width=24),
    Column("consequence", width=24),
    Column("part_options", width=18),
    Column("answers", width=24),
    Column("cautions", width=24),
    Column("confidence", "number", 11),
    Column("doubts", width=30),
    Column("review", width=12),
    Column("why", width=30),
)
MEASUREMENT_COLUMNS = (
    Column("finding", width=8),
    Column("component", width=24),
    Column("location", width=20),
    Column("quantity", width=18),
    Column("value", "number", 10),
    Column("high", "number", 10),
    Column("unit", width=8),
    Column("about", width=8),
    Column("said_limit", "number", 10),
    Column("verdict", width=36),
    Column("said", width=40),
)
CONCERN_COLUMNS = (
    Column("id", width=6),
    Column("concern", width=48),
    Column("state", width=10),
    Column("origin", width=10),
    Column("start_s", "time", 9),
    Column("end_s", "time", 9),
    Column("recording", width=18),
    Column("said", width=60),
)
UNPLACED_COLUMNS = (
    Column("id", width=6),
    Column("why", width=40),
    Column("start_s", "time", 9),
    Column("end_s", "time", 9),
    Column("recording", width=18),
    Column("said", width=60),
)
RECORDING_COLUMNS = (
    Column("id", width=6),
    Column("name", width=28),
    Column("duration_s", "time", 11),
    Column("recorded_at", width=22),
    Column("words", "number", 8),
    Column("model", width=14),
    Column("language", width=10),
    Column("speech_to_noise_db", "number", 20),
    Column("clipped", "number", 10),
    Column("notices", width=60),
)


def rows_of_everything(walkaround: Walkaround) -> list[Row]:
    """Findings, then what was heard but not understood, then concerns, all in FINDING_COLUMNS."""
    rows = rows_of_findings(walkaround)
    for unplaced in walkaround.unplaced:
        cells = _where(walkaround, unplaced.evidence) | {"id": unplaced.id, "why": unplaced.why}
        rows.append(_in_order(cells | {"kind": "not understood"}))
    for concern in walkaround.concerns:
        cells = _where(walkaround, concern.evidence) | {"id": concern.id, "status": concern.state}
        cells["said"] = cells["said"] or concern.text
        rows.append(_in_order(cells | {"kind": "concern", "component": concern.text}))
    return rows


def rows_of_findings(walkaround: Walkaround) -> list[Row]:
    """One row a finding in FINDING_COLUMNS."""
    return [_in_order(_cells(walkaround, finding)) for finding in walkaround.findings]


def rows_of_measurements(walkaround: Walkaround) -> list[Row]:
    """One row a number in MEASUREMENT_COLUMNS."""
    return [
        (
            finding.id,
            finding.component.name,
            measurement.location or _joined(finding.locations),
            measurement.quantity,
            measurement.value,
            measurement.high,
            measurement.unit,
            "about" if measurement.about else None,
            measurement.spoken_limit,
            _joined(tuple(say_verdicts(measurement))) or None,
            measurement.said,
        )
        for finding in walkaround.findings
        for measurement in finding.measurements
    ]


def rows_of_concerns(walkaround: Walkaround) -> list[Row]:
    """One row a concern in CONCERN_COLUMNS."""
    return [
        (concern.id, concern.text, concern.state, concern.origin, *_place(walkaround, concern))
        for concern in walkaround.concerns
    ]


def rows_of_unplaced(walkaround: Walkaround) -> list[Row]:
    """One row for each stretch not understood, in UNPLACED_COLUMNS."""
    return [(unplaced.id, unplaced.why, *_place(walkaround, unplaced)) for unplaced in walkaround.unplaced]


def rows_of_recordings(walkaround: Walkaround) -> list[Row]:
    """One row a recording in RECORDING_COLUMNS."""
    return [
        (
            recording.id,
            recording.name,
            recording.duration_s,
            recording.recorded_at,
            Decimal(len(recording.words)),
            recording.model,
            recording.language,
            recording.signal.speech_to_noise_db,
            recording.signal.clipped,
            _joined(recording.notices),
        )
        for recording in walkaround.recordings
    ]


def _cells(walkaround: Walkaround, finding: Finding) -> dict[str, Cell]:
    concerns = {concern.id: concern.text for concern in walkaround.concerns}
    # A column of numbers can be added up; with several prices nobody knows which one to add.
    price = finding.quoted_prices[0] if len(finding.quoted_prices) == 1 else None
    return _where(walkaround, finding.evidence) | {
        "kind": "finding",
        "id": finding.id,
        "component": finding.component.name,
        "locations": _joined(finding.locations),
        "status": finding.status,
        "conditions": _joined(tuple(say_condition(condition) for condition in finding.conditions)),
        "recommendation": say_recommendation(finding.recommendation),
        "measurements": _joined(tuple(say_measurement(number) for number in finding.measurements)),
        "verdicts": _joined(tuple(v for number in finding.measurements for v in say_verdicts(number))),
        "price": price.amount if price else None,
        "currency": price.currency if price else None,
        "prices": _joined(tuple(say_price(quoted) for quoted in finding.quoted_prices)),
        "urgency": say_urgency(finding.urgency) if finding.urgency else None,
        "position": finding.position,
        "codes": _joined(finding.codes),
        "tests": _joined(finding.tests),
        "reason": finding.reason,
        "consequence": finding.consequence,
        "part_options": _joined(tuple(say_option(option) for option in finding.part_options)),
        "answers": _joined(tuple(concerns.get(answer.concern, answer.concern) for answer in finding.answers)),
        "cautions": _joined(finding.cautions),
        "confidence": finding.confidence.overall,
        "doubts": _joined(tuple(say_doubt(d, taken_as=finding.component.name) for d in finding.doubts)),
        "review": finding.review.state,
        "why": finding.review.why,
    }


def _where(walkaround: Walkaround, evidence: tuple[Evidence, ...]) -> dict[str, Cell]:
    """When and in which recording something was first said, and all its words."""
    if not evidence:
        return {"start_s": None, "end_s": None, "recording": None, "said": None}
    first = evidence[0]
    names = {recording.id: recording.name for recording in walkaround.recordings}
    return {
        "start_s": first.start_s,
        "end_s": first.end_s,
        "recording": names.get(first.recording, first.recording),
        "said": say_words(evidence),
    }


def _place(walkaround: Walkaround, told: Concern | Unplaced) -> Row:
    return tuple(_where(walkaround, told.evidence).values())


def _in_order(cells: dict[str, Cell]) -> Row:
    return tuple(cells.get(column.name) for column in FINDING_COLUMNS)


def _joined(items: tuple[str, ...]) -> str:
    return "; ".join(items)
