"""What a customer sees who has a link: one estimate, its paper, and a form to answer it. Nobody signs in here."""

from typing import Annotated, Any

from fastapi import APIRouter, Body, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from narrate.errors import ConflictError, MissingError, UsageError
from narrate.export.estimate_files import paper_of
from narrate.export.estimate_pdf import pdf_of
from narrate.export.sums_said import say_day, say_sum
from narrate.price.authorizing import agreed_total, answered_estimate
from narrate.review.desk import Desk, desk_of
from narrate.review.estimate_answers import answers_of, keep_answer
from narrate.review.estimate_asked import AskAnswer, parse_answer
from narrate.review.estimate_making import walkaround_of
from narrate.review.estimate_page import answer, view_of
from narrate.review.estimate_papers import OWN_POLICY, document_of, file_answer, log_once
from narrate.review.estimate_view import Json
from narrate.review.refusals import status_of
from narrate.review.signin import Person, needs
from narrate.store.estimates import HeldEstimate, read_estimate
from narrate.store.links import LinkError, end_links, estimate_by_link, links_of, new_link

router = APIRouter()
Advisor = Annotated[Person, needs("advisor")]
BY_LINK = "by link"
CHANGED = "The estimate was changed since you opened it; look at it again before you answer."


@router.post("/api/estimates/{estimate_id}/links")
def make_link(
    request: Request, estimate_id: str, person: Advisor, days: Annotated[int, Body(embed=True, ge=1, le=90)]
) -> dict[str, str]:
    """A link that shows this estimate alone; told once, and kept by its digest only."""
    store = desk_of(request).store
    token = new_link(store, estimate_id, days, person.name)
    return {"path": f"/e/{token}", "until": say_day(links_of(store, estimate_id)[0].until[:10])}


@router.post("/api/estimates/{estimate_id}/links/end")
def end(request: Request, estimate_id: str, person: Advisor) -> Json:
    """End all links of an estimate."""
    desk = desk_of(request)
    end_links(desk.store, estimate_id, person.name)
    return answer(desk, read_estimate(desk.store, estimate_id))


@router.get("/e/{token}")
def shown(request: Request, token: str) -> HTMLResponse:
    """The estimate in short, with the form to answer it."""
    desk = desk_of(request)
    return _page(request, token, _held(desk, request, token))


@router.get("/e/{token}/paper")
def paper(request: Request, token: str) -> Response:
    """The paper itself."""
    desk = desk_of(request)
    held = _held(desk, request, token)
    document = document_of(desk, held)
    log_once(desk, held.id, document, kind="html", how="shown", who=BY_LINK)
    return Response(document.html, media_type="text/html; charset=utf-8", headers=OWN_POLICY)


@router.get("/e/{token}/paper.pdf")
def paper_pdf(request: Request, token: str) -> Response:
    """The paper as PDF."""
    desk = desk_of(request)
    held = _held(desk, request, token)
    document = document_of(desk, held)
    log_once(desk, held.id, document, kind="pdf", how="shown", who=BY_LINK)
    return file_answer(pdf_of(document, paper=paper_of(walkaround_of(desk, held))), "application/pdf", "estimate.pdf")


@router.post("/e/{token}")
async def answered(request: Request, token: str) -> Response:
    """First what the answer comes to, to be looked at; then, sent once more, it is kept."""
    form = {key: str(value).strip() for key, value in (await request.form()).items()}
    return await run_in_threadpool(_answer, request, token, form)


def _answer(request: Request, token: str, form: dict[str, str]) -> Response:
    desk = desk_of(request)
    held = _held(desk, request, token)
    document = document_of(desk, held).sha256
    try:
        if form.get("document") != document:
            raise ConflictError(CHANGED)
        asked = _asked(held, form)
        after = answered_estimate(held.estimate, answers_of(asked))
        if form.get("sure") != "yes":
            total = agreed_total(after)
            told = {"total": say_sum(total, after.currency), "plain": str(total)}
            return _page(request, token, held, form=form, agree=told)
        keep_answer(desk, held.id, asked, who=BY_LINK, by_link=True, document=document)
    except (UsageError, ConflictError) as error:
        return _page(request, token, held, form=form, wrong=str(error), status=status_of(error))
    return RedirectResponse(f"/e/{token}?thanks=1", status_code=303)


def _asked(held: HeldEstimate, form: dict[str, str]) -> AskAnswer:
    answers: dict[str, dict[str, Any]] = {}
    for job in held.estimate.jobs:
        state = form.get(f"state-{job.id}")
        if not state:
            continue
        way = form.get(f"way-{job.id}") if state != "declined" else None
        day = form.get(f"day-{job.id}") if state == "decide_by" else None
        answers[job.id] = {"state": state, "choice": way or None, "decide_by_date": day or None}
    if not form.get("who"):
        message = "Type your name."
        raise UsageError(message)
    asked = {"who": form["who"], "how": "in_person", "words": form.get("words") or None, "answers": answers}
    return parse_answer({**asked, "read_back": form.get("sure") == "yes", "total": form.get("total") or None})


def _page(
    request: Request,
    token: str,
    held: HeldEstimate,
    *,
    form: dict[str, str] | None = None,
    agree: dict[str, str] | None = None,
    wrong: str = "",
    status: int = 200,
) -> HTMLResponse:
    desk = desk_of(request)
    asked = {
        "token": token,
        "view": view_of(desk, held),
        "shop": held.estimate.shop,
        "document": document_of(desk, held).sha256,
        "form": form or {},
        "agree": agree,
        "wrong": wrong,
        "thanks": bool(request.query_params.get("thanks")),
    }
    return desk.templates.TemplateResponse(request, "customer.html", asked, status_code=status)


def _held(desk: Desk, request: Request, token: str) -> HeldEstimate:
    try:
        return estimate_by_link(desk.store, token, asker=request.client.host if request.client else "")
    except LinkError as error:
        raise MissingError(str(error)) from error
