"""The customer's estimate as one page that needs nothing beside it, and the digest that tells which page it was."""

import hashlib
import re
from base64 import b64encode
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from narrate.export.cautions import DEFER, say_cautions
from narrate.export.clips_inside import Photo, drawing_address
from narrate.export.estimate_facts import facts_of
from narrate.export.estimate_parts import OPEN_STATES, shown_consents, shown_jobs, shown_sums
from narrate.export.findings_shown import not_offered, shown_findings
from narrate.export.phrases import say_list, say_vehicle
from narrate.export.picture import findings_picture
from narrate.export.sums_said import say_day, say_digest, say_sum
from narrate.records.estimate import Estimate
from narrate.records.walkaround import Walkaround
from narrate.words.place_rules import UNKNOWN, PlaceRules

_EMPTY = '<data class="document" value=""></data>'
_FILLED = re.compile('<data class="document" value="([0-9a-f]{64})">[0-9a-f ]{19}</data>')
_STATES = {"open": "not answered yet", "partly": "answered in part", "answered": "answered"}
_UNWRITABLE = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""Characters that a page has no way to hold."""


@dataclass(frozen=True)
class Document:
    """A page, and the sha256 by which it is known.

    The digest is that of the page with its own places for the digest left empty; PDF and HTML share it, for the PDF
    is this page printed.
    """

    html: str
    sha256: str


def estimate_document(
    estimate: Estimate,
    walkaround: Walkaround,
    *,
    place: PlaceRules,
    photos: Mapping[str, Sequence[Photo]] | None = None,
    clips: Mapping[str, bytes] | None = None,
    chain_head: str | None = None,
) -> Document:
    """The customer's copy. `photos` and `clips` (Ogg) go by finding id; no clip is inside unless given.

    chain_head: the digest that the store's chain ends with, printed at the foot.
    Raises UsageError for a photo or clip that is none, or that belongs to no finding.
    """
    findings = shown_findings(walkaround, photos or {}, clips or {})
    others = not_offered(walkaround, estimate)
    svg = findings_picture(walkaround) if any(f.number for f in findings.values()) else ""
    return document(
        "estimate.html",
        language=language(walkaround),
        title=_title(estimate, walkaround),
        estimate=estimate,
        in_short=_in_short(estimate),
        draft_why=_draft_why(walkaround),
        facts=facts_of(estimate, place),
        place=place,
        place_is_known=place.key != UNKNOWN,
        answered=_answered(walkaround),
        picture=drawing_address(svg) if svg else "",
        picture_text=_told(svg),
        jobs=[{"optional": job.optional, "shown": shown} for job, shown in shown_jobs(estimate)],
        findings=findings,
        may_answer=not estimate.draft and any(job.state in OPEN_STATES for job in estimate.jobs),
        to_be_priced=[
            {
                "title": thing.title,
                "why": thing.why,
                "findings": [findings[f] for f in thing.finding_ids if f in findings],
            }
            for thing in estimate.to_be_priced
        ],
        counted=_counted(estimate),
        sums=shown_sums(estimate, place.required),
        consents=shown_consents(estimate),
        others=[(heading, [findings[i] for i in ids]) for heading, ids in others.items() if ids],
        cautions=say_cautions(f for f in walkaround.findings if f.id in findings),
        defer=DEFER,
        chain_head=say_digest(chain_head) if chain_head else "",
    )


def document(template: str, **texts: Any) -> Document:  # noqa: ANN401 - what the template asks for
    """A template of this package, filled in and given its digest."""
    style = style_sheet("paper.css")
    page = (
        _templates()
        .get_template(template)
        .render(**texts, style=Markup(style), policy=POLICY, fingerprint=Markup(_EMPTY))
    )
    page = _UNWRITABLE.sub(" ", page)
    sha256 = hashlib.sha256(page.encode("utf-8")).hexdigest()
    filled = f'<data class="document" value="{sha256}">{say_digest(sha256)}</data>'
    return Document(page.replace(_EMPTY, filled), sha256)


def digest_holds(html: str) -> bool:
    """Whether a page is still the one that its digest tells of."""
    told = set(_FILLED.findall(html))
    return told == {hashlib.sha256(_FILLED.sub(_EMPTY, html).encode("utf-8")).hexdigest()}


def language(walkaround: Walkaround) -> str:
    """The language of a page, by the market."""
    return "en-US" if walkaround.market == "us" else "en-GB"


def _title(estimate: Estimate, walkaround: Walkaround) -> str:
    vehicle = say_vehicle(walkaround.vehicle)
    name = f"{'Draft estimate' if estimate.draft else 'Estimate'} {estimate.id}"
    return f"{name}: {vehicle}" if vehicle else name


def _draft_why(walkaround: Walkaround) -> str:
    listed = [finding for finding in walkaround.findings if finding.review.state != "dropped"]
    waiting = sum(finding.review.state == "unreviewed" for finding in listed)
    if not waiting:
        return "The findings have not been signed by a person yet."
    return f"{waiting} of {len(listed)} findings have not been checked by a person yet."


def _answered(walkaround: Walkaround) -> list[tuple[str, str]]:
    answers = [
        (
            concern,
            tuple(
                f.component.name
                for f in walkaround.findings
                if f.review.state != "dropped" and concern.id in {answer.concern for answer in f.answers}
            ),
        )
        for concern in walkaround.concerns
    ]
    return [
        (concern.text, f"{_STATES[concern.state]}{f'; see {say_list(names)}' if names else ''}.")
        for concern, names in answers
    ]


def _in_short(estimate: Estimate) -> str:
    jobs, waiting = len(estimate.jobs), len(estimate.to_be_priced)
    if not jobs and not waiting:
        return "Nothing was found that needs work."
    texts = [f"{jobs} job{'' if jobs == 1 else 's'} priced here"] if jobs else []
    if waiting:
        texts.append(f"{waiting} still to be priced")
    total = say_sum(estimate.totals.total, estimate.currency)
    return f"{'; '.join(texts)}. Total, tax included: {total}."


def _counted(estimate: Estimate) -> str:
    declined = sum(job.state == "declined" for job in estimate.jobs)
    optional = sum(job.optional and job.state != "declined" for job in estimate.jobs)
    several = any(len(job.choices) > 1 for job in estimate.jobs)
    texts = (
        "All jobs above",
        " but the declined ones" if declined else "",
        ", the optional ones too" if optional else "",
        ", each in the way that is marked as counted" if several else "",
    )
    return "".join(texts) + "."


def _told(svg: str) -> str:
    """The drawing's own description, for who cannot see it."""
    found = re.search("<desc>(.*?)</desc>", svg, re.DOTALL)
    return Markup(found.group(1)).unescape() if found else ""


@cache
def _templates() -> Environment:
    templates = Environment(
        loader=PackageLoader("narrate.export"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    templates.filters["digest"] = say_digest
    templates.filters["day"] = lambda day: say_day(day.isoformat())
    return templates


@cache
def style_sheet(name: str) -> str:
    """A style sheet of this package."""
    return resources.files("narrate.export").joinpath("templates", name).read_text("utf-8")


def _policy() -> str:
    digest = b64encode(hashlib.sha256(style_sheet("paper.css").encode("utf-8")).digest()).decode("ascii")
    return f"default-src 'none'; style-src 'sha256-{digest}'; img-src data:; media-src data:"


POLICY = _policy()
"""What a page may load: its own style by digest, and what lies inside it; for whoever serves it, too."""
