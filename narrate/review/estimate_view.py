"""An estimate as its page shows it: what the record holds, and how it is said to people. Amounts are strings."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from narrate.export.estimate_parts import OPEN_STATES, chosen, numbered, shown_consents, shown_jobs, shown_sums
from narrate.export.phrases import say_conditions, say_locations, say_recommendation, say_vehicle
from narrate.export.sums_said import say_day, say_sum
from narrate.price.overrun import reach_of
from narrate.records.estimate import Estimate, Job, Line, Outcome, Totals
from narrate.records.walkaround import Finding, Walkaround

Json = dict[str, Any]
PAYERS = {"customer": "the customer", "warranty": "warranty", "fleet": "the fleet"}
OUTCOMES = {
    "done": "done",
    "not_needed": "not needed",
    "found_worse": "found worse",
    "part_ordered": "part ordered",
    "part_here": "part is here",
}


def estimate_view(estimate: Estimate, walkaround: Walkaround, *, revision: int, state: str) -> Json:
    """Everything the page of one estimate shows."""
    findings = {finding.id: finding for finding in walkaround.findings}
    return {
        "id": estimate.id,
        "revision": revision,
        "state": state,
        "walkaround": estimate.walkaround_id,
        "draft": estimate.draft,
        "to_check": _to_check(walkaround),
        "currency": estimate.currency,
        "head": _head(estimate, walkaround),
        "jobs": _jobs(estimate, findings),
        "order": [job.id for job in estimate.jobs],
        "to_be_priced": [
            {**each.model_dump(mode="json"), "found": _found(each.finding_ids, findings)}
            for each in estimate.to_be_priced
        ],
        "sums": [{"name": row.name, "amount": row.amount, "whole": row.whole} for row in shown_sums(estimate)],
        "payers": [
            {"payer": payer, "name": PAYERS[payer], "total": say_sum(totals.total, estimate.currency)}
            for payer, totals in estimate.by_payer.items()
        ],
        "total": _total(estimate.totals, estimate.currency),
        "agreed": say_sum(estimate.consents[-1].total, estimate.currency) if estimate.consents else None,
        "needed": _total(estimate.needed, estimate.currency),
        "consents": [
            {"head": each.head, "words": each.words, "answers": each.answers, "total": each.total}
            for each in shown_consents(estimate)
        ],
        "reach": _reach(estimate),
        "unanswered": [job.id for job in estimate.jobs if job.state in OPEN_STATES and not job.optional],
        "open": [job.id for job in estimate.jobs if job.state in OPEN_STATES],
        "authorized": [job.id for job in estimate.jobs if job.state == "authorized"],
    }


def _head(estimate: Estimate, walkaround: Walkaround) -> Json:
    return {
        "vehicle": say_vehicle(walkaround.vehicle),
        "order_number": estimate.order_number,
        "made_at": say_day(estimate.made_at),
        "promised": estimate.promised,
        "promised_said": say_day(estimate.promised),
        "expires_on": estimate.expires_on,
        "expires_said": say_day(estimate.expires_on),
        "place": estimate.place,
        "customer": {key: estimate.customer.get(key) for key in ("name", "phone", "email")},
        "discount": _plain(estimate.discount),
        "discount_said": say_sum(estimate.discount, estimate.currency) if estimate.discount else "",
        "discount_why": estimate.discount_why,
        "deposit": _plain(estimate.deposit),
        "deposit_said": say_sum(estimate.deposit, estimate.currency) if estimate.deposit else "",
        "tax_exempt": estimate.tax_exempt,
        "old_parts": estimate.old_parts,
    }


def _reach(estimate: Estimate) -> Json | None:
    """How far the work may go beyond what was agreed, before the customer is asked again; None: nothing is agreed."""
    if not estimate.consents:
        return None
    reach = reach_of(estimate)
    return {
        "allowed": say_sum(reach.allowed, estimate.currency),
        "agreed": say_sum(reach.agreed, estimate.currency),
        "place": reach.place,
        "words": reach.words,
        "source": reach.source,
    }


def _jobs(estimate: Estimate, findings: Mapping[str, Finding]) -> list[Json]:
    numbers = {job.id: number for number, job in numbered(estimate)}
    notes = {job.id: shown for job, shown in shown_jobs(estimate)}
    return [
        {
            "id": job.id,
            "number": numbers[job.id],
            "title": job.title,
            "where": notes[job.id].where,
            "state": job.state,
            "state_said": notes[job.id].state,
            "decide_by_date": job.decide_by_date,
            "optional": job.optional,
            "payer": job.payer,
            "payer_order": job.payer_order,
            "payer_said": PAYERS[job.payer] + (f", order {job.payer_order}" if job.payer_order else ""),
            "requires": list(job.requires),
            "notes": list(notes[job.id].notes),
            "doubts": list(job.doubts),
            "why": job.why,
            "by_hand": job.operation is None,
            "found": _found(job.finding_ids, findings),
            "chosen": best.id if (best := chosen(job)) else None,
            "seen_chosen": job.chosen,
            "amount": notes_amount(job, estimate.currency),
            "choices": [_choice(job, place, estimate.currency) for place in range(len(job.choices))],
            "outcomes": _outcomes(job, estimate.outcomes),
        }
        for _, job in numbered(estimate)
    ]


def notes_amount(job: Job, currency: str) -> str:
    """What the counted way of a job comes to, before supplies, fees and tax."""
    best = chosen(job)
    return say_sum(best.subtotal, currency) if best else ""


def _choice(job: Job, place: int, currency: str) -> Json:
    choice = job.choices[place]
    return {
        "id": choice.id,
        "label": choice.label,
        "subtotal": say_sum(choice.subtotal, currency),
        "subtotal_plain": _plain(choice.subtotal),
        "spoken": say_sum(choice.spoken, currency) if choice.spoken is not None else None,
        "lines": [_line(line, currency) for line in choice.lines],
    }


def _line(line: Line, currency: str) -> Json:
    return {
        "id": line.id,
        "kind": line.kind,
        "text": line.text,
        "quantity": _plain(line.quantity),
        "unit": line.unit,
        "unit_price": _plain(line.unit_price),
        "unit_price_said": say_sum(line.unit_price, currency),
        "amount": say_sum(line.amount, currency),
        "amount_plain": _plain(line.amount),
        "taxable": line.taxable,
        "part_is": line.part_is,
        "part_maker": line.part_maker,
        "part_number": line.part_number,
        "note": line.note,
        "by_hand": line.row is None,
    }


def _found(ids: Iterable[str], findings: Mapping[str, Finding]) -> list[Json]:
    return [{"id": each, "text": _say(findings[each])} for each in ids if each in findings]


def _say(finding: Finding) -> str:
    name = " ".join(part for part in (say_locations(finding.locations), finding.component.name) if part)
    parts = (name, say_conditions(finding), say_recommendation(finding.recommendation))
    text = " – ".join(part for part in parts if part)
    return text[:1].upper() + text[1:]


def _outcomes(job: Job, outcomes: Sequence[Outcome]) -> list[Json]:
    return [
        {
            "what": each.what,
            "text": OUTCOMES[each.what],
            "by": each.by,
            "at": say_day(each.at[:10]),
            "note": each.note,
            "promised": each.promised,
        }
        for each in outcomes
        if each.job == job.id
    ]


def _total(totals: Totals, currency: str) -> str:
    return say_sum(totals.total, currency)


def _to_check(walkaround: Walkaround) -> int:
    return sum(finding.review.state == "unreviewed" for finding in walkaround.findings)


def _plain(amount: Any) -> str:  # noqa: ANN401 - Decimal
    """`1.6`, never `1.60E+1`: what stands in an editor and is sent back as seen."""
    return f"{amount.normalize() if amount else 0:f}"
