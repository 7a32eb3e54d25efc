"""A walkaround as the page shows it: what the record holds, and how it is said to people.

The page works with this alone; it never sees the record itself. Everything is JSON.
"""

from typing import Any

from narrate.export.cautions import say_cautions
from narrate.export.phrases import (
    SURE,
    say_action,
    say_broken,
    say_condition,
    say_conditions,
    say_doubt,
    say_how_sure,
    say_locations,
    say_measurement,
    say_number,
    say_option,
    say_price,
    say_recommendation,
    say_status,
    say_urgency,
    say_vehicle,
    say_verdicts,
)
from narrate.hear.clock import clock
from narrate.judge.unsettled import what_blocks
from narrate.records.base import Kept
from narrate.records.capture import Gap
from narrate.records.walkaround import Concern, Evidence, Finding, Walkaround
from narrate.store.walkarounds import Held

Json = dict[str, Any]


def view(held: Held) -> Json:
    """Everything the page of one walkaround shows, but for the words of its recordings and its history."""
    walkaround = held.walkaround
    blocks = what_blocks(walkaround)
    decided = {decision.about: decision for decision in walkaround.decisions}
    return {
        "id": walkaround.id,
        "revision": held.revision,
        "state": held.state,
        "signed": walkaround.signed and _plain(walkaround.signed),
        "market": walkaround.market,
        "head": head_view(walkaround),
        "recordings": [
            {
                "id": recording.id,
                "name": recording.name,
                "sha256": recording.sha256,
                "duration_s": recording.duration_s,
                "notices": [*recording.notices, *map(_gap, recording.gaps)],
            }
            for recording in walkaround.recordings
        ],
        "blocks": [{"kind": each.kind, "about": each.about, "text": each.text} for each in blocks],
        "findings": [_finding(finding, walkaround) for finding in walkaround.findings],
        "concerns": [_concern(concern, walkaround) for concern in walkaround.concerns],
        "contradictions": [
            {"about": "+".join(each.between), "between": list(each.between), "text": each.text}
            for each in walkaround.contradictions
        ],
        "unplaced": [
            {"id": each.id, "why": each.why, "evidence": _evidence(each.evidence)} for each in walkaround.unplaced
        ],
        "suggestions": [
            {
                "id": each.id,
                "kind": each.kind,
                "for": each.for_,
                "text": each.text,
                "source": each.source,
                "evidence": _evidence(each.evidence),
            }
            for each in walkaround.suggestions
        ],
        "commands": [_plain(each) for each in walkaround.commands],
        "decisions": {about: _plain(each) for about, each in decided.items()},
        "not_mentioned": list(walkaround.not_mentioned),
        "without_verdict": list(walkaround.without_verdict),
        "comparisons": list(walkaround.comparisons),
        "poor_stretches": [_plain(each) for each in walkaround.poor_stretches],
        "review_order": list(walkaround.review_order),
        "sure": [finding.id for finding in walkaround.findings if is_sure(finding)],
    }


def _gap(gap: Gap) -> str:
    lasted = "for some time" if gap.missing_s is None else f"for {clock(gap.missing_s)}"
    return f"After {clock(gap.at_s)} there is a gap {lasted}. {gap.why}"


def is_sure(finding: Finding) -> bool:
    """Whether a finding may be confirmed together with the other sure ones, unheard."""
    unreviewed = finding.review.state == "unreviewed"
    return unreviewed and not finding.doubts and finding.confidence.overall >= SURE


def head_view(walkaround: Walkaround) -> Json:
    """What is known of the order and the vehicle."""
    vehicle = walkaround.vehicle
    odometer = vehicle.odometer
    return {
        "order_number": walkaround.order_number,
        "technician": walkaround.technician,
        "vin": vehicle.vin,
        "plate": vehicle.plate,
        "year": vehicle.year,
        "make": vehicle.make,
        "model": vehicle.model,
        "odometer": f"{say_number(odometer.value)} {odometer.unit}" if odometer else None,
        "vehicle": say_vehicle(vehicle),
        "drive_side": vehicle.drive_side,
    }


def _finding(finding: Finding, walkaround: Walkaround) -> Json:
    texts = {concern.id: concern.text for concern in walkaround.concerns}
    return {
        "id": finding.id,
        "component": _plain(finding.component),
        "locations": list(finding.locations),
        "status": finding.status,
        "conditions": [{**_plain(each), "text": say_condition(each)} for each in finding.conditions],
        "recommendation": _plain(finding.recommendation),
        "measurements": [
            {
                **each.model_dump(mode="json", exclude={"verdict", "shop_verdict"}),
                "text": say_measurement(each),
                "verdicts": say_verdicts(each),
                "broken": say_broken(each),
            }
            for each in finding.measurements
        ],
        "position": finding.position,
        "codes": list(finding.codes),
        "tests": list(finding.tests),
        "reason": finding.reason,
        "consequence": finding.consequence,
        "part_options": list(finding.part_options),
        "prices": [{**_plain(each), "text": say_price(each)} for each in finding.quoted_prices],
        "answers": [{**_plain(each), "text": texts.get(each.concern, each.concern)} for each in finding.answers],
        "urgency": finding.urgency and _plain(finding.urgency),
        "cautions": say_cautions([finding]),
        "attachments": list(finding.attachments),
        "plain_words": [_plain(each) for each in finding.plain_words],
        "evidence": _evidence(finding.evidence),
        "confidence": _plain(finding.confidence),
        "doubts": [
            {**_plain(each), "text": say_doubt(each, taken_as=finding.component.name)} for each in finding.doubts
        ],
        "review": _plain(finding.review),
        "said": {
            "places": say_locations(finding.locations),
            "status": say_status(finding.status),
            "conditions": say_conditions(finding),
            "recommendation": say_recommendation(finding.recommendation),
            "action": say_action(finding.recommendation.action) if finding.recommendation.action else "",
            "urgency": say_urgency(finding.urgency) if finding.urgency else "",
            "options": [say_option(option) for option in finding.part_options],
            "sure": say_how_sure(finding),
        },
    }


def _concern(concern: Concern, walkaround: Walkaround) -> Json:
    answered_by = [
        finding.id
        for finding in walkaround.findings
        if finding.review.state != "dropped" and concern.id in {answer.concern for answer in finding.answers}
    ]
    return {
        "id": concern.id,
        "text": concern.text,
        "origin": concern.origin,
        "state": concern.state,
        "answered_by": answered_by,
        "evidence": _evidence(concern.evidence),
    }


def _plain(record: Kept) -> Json:
    return record.model_dump(mode="json")


def _evidence(evidence: tuple[Evidence, ...]) -> list[Json]:
    return [_plain(each) for each in evidence]


def words_view(walkaround: Walkaround) -> Json:
    """The words of every recording as [text, start, end, probability], and the stretches that people corrected."""
    return {
        "recordings": {
            recording.id: [[w.text, w.start_s, w.end_s, w.probability] for w in recording.words]
            for recording in walkaround.recordings
        },
        "edits": [_plain(edit) for edit in walkaround.edits],
    }
