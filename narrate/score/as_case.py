"""A reviewed walkaround as a case (`narrate.case/1`), so that a shop can measure narrate on its own speech.

What was said is the words as they were heard: whoever scores the case sees how much of what the advisor decided
is found in them. What was never said (findings and concerns typed in, the order's number) is left out.
"""

import json
import textwrap
from collections.abc import Iterable, Sequence
from typing import get_args

from narrate.errors import UsageError
from narrate.records.case import PartOption
from narrate.records.walkaround import Concern, Finding, Urgency, Walkaround

WIDTH = 110
_STRING = str.maketrans({"\x7f": "\\u007F"})
"""What TOML wants escaped and JSON leaves."""


def case_of(walkaround: Walkaround) -> str:
    """Return the case as TOML. Raises UsageError while a finding is unreviewed: it would be an answer nobody gave."""
    open_ = [finding.id for finding in walkaround.findings if finding.review.state == "unreviewed"]
    if open_:
        message = f"{open_[0]} is not reviewed yet; a case holds what a person decided, so go through all findings."
        raise UsageError(message)
    kept = [finding for finding in walkaround.findings if finding.review.state != "dropped" and finding.evidence]
    spoken = {concern.id: concern for concern in walkaround.concerns if concern.origin == "spoken"}
    head = [
        ("schema", "narrate.case/1"),
        ("id", walkaround.id),
        ("origin", "heard"),
        ("drive_side", walkaround.vehicle.drive_side),
        ("market", walkaround.market),
    ]
    lines = [f"{key} = {_toml(value)}" for key, value in head]
    lines.append(f"said = {_said(walkaround)}")
    lines += _heading(walkaround)
    lines.append(f"concerns = {_toml([_wording(concern) for concern in spoken.values()])}")
    lines.append(f"must_not = {_toml(_not_found(walkaround, kept))}")
    for finding in kept:
        lines += ["", "[[finding]]", *_finding(finding, spoken)]
    return "\n".join(lines) + "\n"


def _finding(finding: Finding, concerns: dict[str, Concern]) -> list[str]:
    """The keys of one finding; what has no default in a case is always told, so that nothing may be given beside it."""
    todo = finding.recommendation
    told: list[tuple[str, object]] = [
        ("component", list(dict.fromkeys((finding.component.name, finding.component.id.replace("_", " "))))),
        ("locations", [list(finding.locations)]),
        ("status", finding.status),
        ("conditions", [condition.name for condition in finding.conditions]),
        ("actions", [todo.action, *todo.otherwise] if todo.action else []),
        ("measurements", [_measured(finding, number) for number in range(len(finding.measurements))]),
        ("prices", [[str(price.amount), price.for_] for price in finding.quoted_prices]),
        ("codes", list(finding.codes)),
        ("answers", [_wording(concerns[answer.concern]) for answer in finding.answers if answer.concern in concerns]),
    ]
    details: list[tuple[str, object]] = [
        ("reason", _one(finding.reason)),
        ("consequence", _one(finding.consequence)),
        ("timing", _one(todo.timing)),
        ("while_open", _one(todo.conditional_on)),
        ("tests", list(finding.tests)),
        ("part_options", [option for option in finding.part_options if option in get_args(PartOption)]),
        ("urgency", _said_urgency(finding.urgency)),
    ]
    return [f"{key} = {_toml(value)}" for key, value in (*told, *((k, v) for k, v in details if v))]


def _measured(finding: Finding, number: int) -> list[str]:
    measurement = finding.measurements[number]
    place = [measurement.location] if measurement.location else []
    return [str(measurement.value), measurement.unit, *place]


def _heading(walkaround: Walkaround) -> list[str]:
    """What was said of the job and the vehicle, by the values that stand there after review."""
    said = {value.field for value in walkaround.heading}
    vehicle = walkaround.vehicle
    lines = [
        f"{key} = {_toml(value)}"
        for key, value in (
            ("order_number", walkaround.order_number),
            ("plate", vehicle.plate),
            ("technician", walkaround.technician),
        )
        if key in said and value
    ]
    if "odometer" in said and vehicle.odometer:
        lines.append(f"odometer = {_toml([str(vehicle.odometer.value), vehicle.odometer.unit])}")
    named = {key: getattr(vehicle, key) for key in ("year", "make", "model") if key in said}
    parts = ", ".join(f"{key} = {_toml(value)}" for key, value in named.items() if value)
    return [*lines, f"vehicle = {{ {parts} }}"] if parts else lines


def _not_found(walkaround: Walkaround, kept: Sequence[Finding]) -> list[str]:
    """Components that someone dropped as a fault and that are at fault nowhere else."""
    faults = {finding.component.id for finding in kept if finding.status == "fault"}
    dropped = (f for f in walkaround.findings if f.review.state == "dropped" and f.status == "fault")
    return list(dict.fromkeys(f.component.name for f in dropped if f.component.id not in faults))


def _wording(concern: Concern) -> str:
    """How a case names a concern: by its symptom, else by its whole text."""
    return concern.symptoms[0] if concern.symptoms else concern.text


def _said_urgency(urgency: Urgency | None) -> str | None:
    if urgency and urgency.origin == "rule":
        urgency = urgency.said
    return urgency.when if urgency else None


def _one(text: str | None) -> list[str]:
    return [text] if text else []


def _said(walkaround: Walkaround) -> str:
    """All words, one recording below the other, wrapped to be read."""
    paragraphs = (" ".join(word.text for word in recording.words) for recording in walkaround.recordings)
    wrapped = (line for text in paragraphs for line in _wrapped(text))
    return '"""\n' + "\n".join(_escaped(line) for line in wrapped) + '\n"""'


def _wrapped(text: str) -> Iterable[str]:
    return textwrap.wrap(text, WIDTH, break_long_words=False, break_on_hyphens=False)


def _escaped(text: str) -> str:
    # Inside a JSON string every quote and control character is escaped, as TOML wants it too.
    return json.dumps(text, ensure_ascii=False)[1:-1].translate(_STRING)


def _toml(value: object) -> str:
    """A string, a number or a list of such as TOML."""
    if isinstance(value, list):
        return f"[{', '.join(map(_toml, value))}]"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).translate(_STRING)
    return str(value)
