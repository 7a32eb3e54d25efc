"""The findings as the customer's estimate tells them: plain words, numbers against limits, guesses as guesses."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from narrate.errors import UsageError
from narrate.export.clips_inside import Photo, clip_address, photo_address
from narrate.export.phrases import (
    say_amount,
    say_condition,
    say_doubt,
    say_locations,
    say_price,
    say_recommendation,
    say_status,
    say_urgency,
    say_verdicts,
)
from narrate.export.picture import numbers_in_picture
from narrate.records.estimate import Estimate
from narrate.records.walkaround import Finding, Measurement, Walkaround

PLAIN = {"matters": "Why it matters", "if_left": "If it is left"}
WATCH = "To keep an eye on"
FINE = "Looked at and fine"
DONE = "Already done"
OPEN = "Found, with no work offered for it"
UNSETTLED = "Not settled or not looked at"
NOT_OFFERED = (OPEN, WATCH, UNSETTLED, DONE, FINE)
"""Headings of what is not in the jobs, in the order of the paper."""


@dataclass(frozen=True)
class Picture:
    """A photo as the page holds it."""

    address: str
    text: str


@dataclass(frozen=True)
class FindingShown:
    """One finding, every text ready to be printed."""

    id: str
    title: str
    number: int | None
    """Its number in the picture of the vehicle."""
    found: str
    texts: tuple[tuple[str, str], ...]
    """What there is to tell, each with its name."""
    measured: tuple[str, ...]
    program_words: tuple[tuple[str, str], ...]
    guesses: tuple[str, ...]
    unchecked: bool
    """Whether no person has checked it yet."""
    photos: tuple[Picture, ...]
    clip: str | None


def shown_findings(
    walkaround: Walkaround, photos: Mapping[str, Sequence[Photo]], clips: Mapping[str, bytes]
) -> dict[str, FindingShown]:
    """Every finding that nobody dropped, by its id.

    Raises UsageError for a photo or clip that is none, or belongs to no finding.
    """
    numbers = numbers_in_picture(walkaround)
    kept = {finding.id for finding in walkaround.findings if finding.review.state != "dropped"}
    strange = sorted({*photos, *clips} - kept)
    if strange:
        message = f"There is no finding {strange[0]} to put a photo or clip to; name findings of this walkaround."
        raise UsageError(message)
    return {
        finding.id: _shown(finding, numbers.get(finding.id), photos.get(finding.id, ()), clips.get(finding.id))
        for finding in walkaround.findings
        if finding.id in kept
    }


def not_offered(walkaround: Walkaround, estimate: Estimate) -> dict[str, list[str]]:
    """Ids of the findings that are in no job and wait for no price, by their heading of NOT_OFFERED."""
    taken = {found for job in estimate.jobs for found in job.finding_ids}
    taken |= {found for waiting in estimate.to_be_priced for found in waiting.finding_ids}
    by_heading: dict[str, list[str]] = {heading: [] for heading in NOT_OFFERED}
    for finding in walkaround.findings:
        if finding.review.state != "dropped" and finding.id not in taken:
            by_heading[_heading(finding)].append(finding.id)
    return by_heading


def _heading(finding: Finding) -> str:
    if finding.recommendation.timing == "done":
        return DONE
    if finding.recommendation.action == "monitor":
        return WATCH
    if finding.status == "ok":
        return FINE
    return UNSETTLED if finding.status in ("unclear", "unchecked") else OPEN


def _shown(finding: Finding, number: int | None, photos: Sequence[Photo], clip: bytes | None) -> FindingShown:
    conditions = ", ".join(say_condition(condition) for condition in finding.conditions)
    texts = (
        ("The technician recommends", say_recommendation(finding.recommendation)),
        ("How soon", say_urgency(finding.urgency) if finding.urgency else ""),
        ("Why", finding.reason or ""),
        ("What may follow", finding.consequence or ""),
        ("Trouble codes", ", ".join(finding.codes)),
        ("Tested", ", ".join(finding.tests)),
        ("Price the technician said", ", ".join(say_price(price) for price in finding.quoted_prices)),
    )
    return FindingShown(
        id=finding.id,
        title=", ".join(p for p in (_capital(finding.component.name), _where(finding)) if p),
        number=number,
        found=conditions or say_status(finding.status),
        texts=tuple((name, text.rstrip(".")) for name, text in texts if text),
        measured=tuple(_measured(number) for number in finding.measurements),
        program_words=tuple((PLAIN[words.about], words.text) for words in finding.plain_words),
        guesses=tuple(say_doubt(doubt, taken_as=finding.component.name) for doubt in finding.doubts),
        unchecked=finding.review.state == "unreviewed",
        photos=tuple(Picture(photo_address(photo), photo.text) for photo in photos),
        clip=clip_address(finding.id, clip) if clip is not None else None,
    )


def _where(finding: Finding) -> str:
    return ", ".join(part for part in (say_locations(finding.locations), finding.position or "") if part)


def _measured(number: Measurement) -> str:
    """`play about 0.4 mm front right: above the limit of 0.1 mm (United States), 49 CFR 570.7(a)`."""
    amount = say_amount(number.value, number.unit, high=number.high)
    words = (number.quantity or "", "about" if number.about else "", amount, number.location or "")
    said = " ".join(word for word in words if word)
    limits = []
    if number.spoken_limit is not None:
        limits.append(f"the technician's limit is {say_amount(number.spoken_limit, number.unit)}")
    verdicts = [v for v in (number.verdict, number.shop_verdict) if v and v.result != "no_rule"]
    for verdict, told in zip(verdicts, say_verdicts(number), strict=True):
        named = bool(verdict.source) and verdict.source != verdict.rule_set
        limits.append(f"{told}, {verdict.source}" if named else told)
    return f"{said}: {'; '.join(limits)}" if limits else said


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
