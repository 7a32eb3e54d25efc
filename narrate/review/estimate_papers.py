"""The papers of an estimate: customer's copy, job sheet, files for the shop's own system; and what was shown."""

from collections.abc import Callable
from typing import Annotated, Literal
from urllib.parse import quote

from fastapi import APIRouter, Body, Query, Request
from fastapi.responses import Response

from narrate.errors import MissingError
from narrate.export.clips_inside import Photo
from narrate.export.cut_out import cut_spans, without_cuts
from narrate.export.estimate_files import paper_of
from narrate.export.estimate_lines import estimate_json, lines_csv, lines_xlsx
from narrate.export.estimate_page import POLICY, Document, estimate_document
from narrate.export.estimate_pdf import pdf_of
from narrate.export.job_sheet import job_sheet
from narrate.export.phrases import say_vehicle
from narrate.export.sums_said import say_day, say_digest, say_sum
from narrate.hear.clips import cut_clip
from narrate.records.estimate import Estimate
from narrate.records.walkaround import Finding, Walkaround
from narrate.review.desk import Desk, desk_of
from narrate.review.signin import Person, needs
from narrate.store.attachments import attachment_file, attachments_of
from narrate.store.estimates import HeldEstimate, history, log_document, read_estimate
from narrate.store.recordings import recording_file
from narrate.store.undoing import BESIDE
from narrate.store.walkarounds import read_walkaround
from narrate.words.place_rules import place_rules

router = APIRouter()
Anyone = Annotated[Person, needs("technician")]
Advisor = Annotated[Person, needs("advisor")]
Clips = Annotated[str, Query(max_length=2000)]
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
FILES: dict[str, tuple[str, Callable[[Estimate], bytes]]] = {
    "lines.csv": ("text/csv", lines_csv),
    "lines.xlsx": (XLSX, lines_xlsx),
    "estimate.json": ("application/json", estimate_json),
}
PICTURES = ("photo", "still")
OWN_POLICY = {"Content-Security-Policy": f"{POLICY}; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"}
"""The paper holds its own style and pictures, and loads nothing."""


@router.get("/estimates/{estimate_id}/paper")
def paper(request: Request, estimate_id: str, person: Anyone) -> Response:
    """The customer's copy as a page, to look at and to print."""
    desk = desk_of(request)
    document = document_of(desk, read_estimate(desk.store, estimate_id))
    log_once(desk, estimate_id, document, kind="html", how="shown", who=person.name)
    return Response(document.html, media_type="text/html; charset=utf-8", headers=OWN_POLICY)


@router.get("/estimates/{estimate_id}/paper.pdf")
def paper_pdf(request: Request, estimate_id: str, person: Anyone) -> Response:
    """The customer's copy as PDF; where Pango is missing, one sentence that says what to do."""
    desk = desk_of(request)
    held = read_estimate(desk.store, estimate_id)
    document = document_of(desk, held)
    content = pdf_of(document, paper=paper_of(_walkaround(desk, held)))
    log_once(desk, estimate_id, document, kind="pdf", how="shown", who=person.name)
    return file_answer(content, "application/pdf", f"estimate-{estimate_id}.pdf", inline=True)


@router.get("/estimates/{estimate_id}/estimate.html")
def singlefile_answer(request: Request, estimate_id: str, person: Anyone, clips: Clips = "") -> Response:
    """The customer's copy as a file that opens anywhere, with the words that the advisor chose, to be heard."""
    desk = desk_of(request)
    document = document_of(desk, read_estimate(desk.store, estimate_id), _ids(clips))
    log_once(desk, estimate_id, document, kind="html", how="taken as a file", who=person.name)
    return file_answer(document.html.encode(), "text/html; charset=utf-8", f"estimate-{estimate_id}.html")


@router.get("/estimates/{estimate_id}/job-sheet")
def sheet(request: Request, estimate_id: str, person: Anyone) -> Response:
    """The technician's sheet: authorized work, parts, boxes to tick."""
    desk = desk_of(request)
    held = read_estimate(desk.store, estimate_id)
    document = job_sheet(held.estimate, _walkaround(desk, held))
    return Response(document.html, media_type="text/html; charset=utf-8", headers=OWN_POLICY)


@router.get("/estimates/{estimate_id}/job-sheet.pdf")
def sheet_pdf(request: Request, estimate_id: str, person: Anyone) -> Response:
    """The technician's sheet as PDF."""
    desk = desk_of(request)
    held = read_estimate(desk.store, estimate_id)
    walkaround = _walkaround(desk, held)
    content = pdf_of(job_sheet(held.estimate, walkaround), paper=paper_of(walkaround))
    return file_answer(content, "application/pdf", f"job-sheet-{estimate_id}.pdf", inline=True)


@router.get("/estimates/{estimate_id}/files/{name}")
def file(request: Request, estimate_id: str, name: str, person: Anyone) -> Response:
    """The lines for the shop's own system."""
    if name not in FILES:
        message = f"There is no file {name}; choose one on the page."
        raise MissingError(message)
    kind, write = FILES[name]
    return file_answer(
        write(read_estimate(desk_of(request).store, estimate_id).estimate), kind, f"{estimate_id}-{name}"
    )


@router.post("/api/estimates/{estimate_id}/shown")
def shown(
    request: Request,
    estimate_id: str,
    person: Advisor,
    how: Annotated[Literal["sent", "printed", "read out"], Body()],
    clips: Annotated[list[str], Body(max_length=200)],
    to: Annotated[str | None, Body(max_length=200)] = None,
) -> dict[str, str]:
    """Log that the customer got a copy, by its digest; answers with what a mail says beside it."""
    desk = desk_of(request)
    held = read_estimate(desk.store, estimate_id)
    document = document_of(desk, held, clips)
    log_document(desk.store, estimate_id, sha256=document.sha256, kind="html", how=how, who=person.name, to=to or None)
    return {"sha256": document.sha256, **_letter(held.estimate, document, _walkaround(desk, held))}


def document_of(desk: Desk, held: HeldEstimate, clips: list[str] | None = None) -> Document:
    """The customer's copy as it is now; the same until the estimate changes. `clips`: ids of findings to be heard."""
    walkaround = _walkaround(desk, held)
    changes = [event for event in history(desk.store, held.id) if event.what not in BESIDE]
    return estimate_document(
        held.estimate,
        walkaround,
        place=place_rules(held.estimate.place),
        photos=_photos(desk, walkaround),
        clips={id_: clip for id_ in clips or () if (clip := _clip(desk, walkaround, id_))},
        chain_head=str((changes[-1].model_extra or {}).get("digest") or "") or None,
    )


def log_once(desk: Desk, id_: str, document: Document, *, kind: str, how: str, who: str) -> None:
    """Log a document unless the same one was shown in the same way before."""
    known = (
        event.what == "document" and (event.more["sha256"], event.more["kind"], event.more["how"])
        for event in history(desk.store, id_)
    )
    if (document.sha256, kind, how) not in known:
        log_document(desk.store, id_, sha256=document.sha256, kind=kind, how=how, who=who)


def clips_there(walkaround: Walkaround) -> list[dict[str, str]]:
    """The findings whose words can be heard, as the page offers them."""
    kept = {each.id for each in walkaround.recordings if each.sha256}
    return [
        {"id": finding.id, "text": f"{finding.component.name}: “{finding.evidence[0].said}”"}
        for finding in walkaround.findings
        if finding.review.state != "dropped" and _spoken(finding, kept)
    ]


def _spoken(finding: Finding, kept: set[str]) -> bool:
    return any(piece.start_s is not None and piece.recording in kept for piece in finding.evidence)


def _photos(desk: Desk, walkaround: Walkaround) -> dict[str, list[Photo]]:
    kept = {each.id: each for each in attachments_of(desk.store, walkaround.id) if each.kind in PICTURES}
    shown = ((f.id, [kept[id_] for id_ in f.attachments if id_ in kept]) for f in walkaround.findings)
    dropped = {f.id for f in walkaround.findings if f.review.state == "dropped"}
    return {
        id_: [Photo(attachment_file(desk.store, each).read_bytes(), each.text) for each in pictures]
        for id_, pictures in shown
        if pictures and id_ not in dropped
    }


def _clip(desk: Desk, walkaround: Walkaround, finding_id: str) -> bytes | None:
    finding = next((each for each in walkaround.findings if each.id == finding_id), None)
    sounds = {each.id: each.sha256 for each in walkaround.recordings if each.sha256}
    for piece in finding.evidence if finding else ():
        if piece.recording in sounds and piece.start_s is not None and piece.end_s is not None:
            path = recording_file(desk.store, sounds[piece.recording] or "")
            return cut_clip(path, piece.start_s, piece.end_s, silent=cut_spans(walkaround, piece.recording))
    return None


def _letter(estimate: Estimate, document: Document, walkaround: Walkaround) -> dict[str, str]:
    shop = str(estimate.shop.get("name") or "the shop")
    vehicle = say_vehicle(walkaround.vehicle)
    whose = f"the estimate for your vehicle ({vehicle})" if vehicle else "the estimate"
    total = say_sum(estimate.totals.total, estimate.currency)
    lines = (
        f"Hello {estimate.customer['name']}," if estimate.customer.get("name") else "Hello,",
        f"{whose} comes to {total}, tax included, if all of it is done.",
        f"Its prices hold until {say_day(estimate.expires_on)}." if estimate.expires_on else "",
        f"The document's number is {say_digest(document.sha256)}.",
        shop,
    )
    return {"subject": f"Estimate {estimate.id} of {shop}", "text": "\n\n".join(line for line in lines if line)}


def _walkaround(desk: Desk, held: HeldEstimate) -> Walkaround:
    return without_cuts(read_walkaround(desk.store, held.estimate.walkaround_id).walkaround)


def _ids(told: str) -> list[str]:
    return [each for each in told.split(",") if each]


def file_answer(content: bytes, kind: str, name: str, *, inline: bool = False) -> Response:
    """A file, to be shown where `inline`, else kept."""
    how = "inline" if inline else "attachment"
    return Response(content, media_type=kind, headers={"Content-Disposition": f'{how}; filename="{quote(name)}"'})
