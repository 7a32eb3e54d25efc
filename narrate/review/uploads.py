"""Recordings in: the page on which they are dropped, and the list of jobs that hear them."""

from dataclasses import asdict
from typing import Annotated, Any

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from narrate.hear.clock import clock
from narrate.review.desk import Desk, desk_of
from narrate.review.receiving import Form, received
from narrate.review.signin import Person, needs
from narrate.review.taking import MOST_BYTES, Answer, take
from narrate.store.jobs import Job, list_jobs, retry, stop
from narrate.store.orders import list_orders, read_visit
from narrate.store.queue_state import left_to_hear

router = APIRouter()
Anyone = Annotated[Person, needs("technician")]
LISTED = 50
"""Jobs on the page, the newest first."""


@router.get("/uploads", response_class=HTMLResponse)
def uploads_page(request: Request, person: Anyone, visit: int | None = None) -> Response:
    """Where recordings are dropped, and what becomes of them; `visit` chooses an order beforehand."""
    return _page(request, visit=visit)


@router.get("/uploads/jobs", response_class=HTMLResponse)
def jobs_part(request: Request, person: Anyone) -> Response:
    """The list of jobs alone, which the page fetches anew when one changed its state."""
    desk = desk_of(request)
    shown = {"jobs": jobs_now(desk), "far": how_far(desk), "clock": clock}
    return desk.templates.TemplateResponse(request, "uploads_jobs.html", shown)


@router.post("/api/recordings", status_code=201)
async def take_recordings(request: Request, person: Anyone) -> Response:
    """Take one or several audio or video files (multipart). Fields: `together`, `again`, `visit`.

    A script gets JSON, a form of the page is led back to the page.
    """
    desk = desk_of(request)
    async with received(request, desk.store.folder / "incoming", most_bytes=MOST_BYTES) as form:
        answer = await run_in_threadpool(_take, desk, form, person.name)
    if not _wants_page(request):
        return JSONResponse(answer.as_json(), answer.status)
    if answer.refused or not any(each.job for each in answer.taken):
        return await run_in_threadpool(_page, request, answer=answer)
    return RedirectResponse("/uploads", 303)


@router.get("/api/jobs")
def list_all(request: Request, person: Anyone) -> dict[str, Any]:
    """The jobs, the newest first."""
    return told_now(desk_of(request))


@router.post("/api/jobs/{job_id}/stop")
def stop_job(request: Request, person: Anyone, job_id: int) -> Response:
    """Stop a job; its recordings stay."""
    return _done(request, stop(desk_of(request).store, job_id))


@router.post("/api/jobs/{job_id}/retry")
def retry_job(request: Request, person: Anyone, job_id: int) -> Response:
    """Put a job that failed or was stopped in line again."""
    return _done(request, retry(desk_of(request).store, job_id))


def jobs_now(desk: Desk) -> list[dict[str, Any]]:
    """The jobs as the page gets them."""
    return [_job(job) for job in list_jobs(desk.store, limit=LISTED)]


def told_now(desk: Desk) -> dict[str, Any]:
    """The jobs and how far they are together, as the page's script gets them."""
    return {"jobs": jobs_now(desk), "far": how_far(desk)}


def how_far(desk: Desk) -> str:
    """What is still to be heard, and how long that takes at the pace of the last day; empty where nothing waits."""
    left = left_to_hear(desk.store)
    if not left.jobs:
        return ""
    recordings = "1 recording is" if left.jobs == 1 else f"{left.jobs} recordings are"
    said = f"{recordings} still to be heard, {clock(left.sound_s)} of sound"
    if left.takes_s is None:
        return f"{said}."
    minutes = round(left.takes_s / 60)
    return f"{said}: about {minutes} minutes more." if minutes > 1 else f"{said}: about a minute more."


def _take(desk: Desk, form: Form, who: str) -> Answer:
    if not form.files:
        raise HTTPException(422, "No file was sent; choose one or several recordings.")
    visit = form.fields.get("visit", "").strip()
    if visit and not (visit.isascii() and visit.isdigit() and len(visit) < 10):
        raise HTTPException(422, "The order was not understood; choose it from the list.")
    visit_id = read_visit(desk.store, int(visit)).id if visit else None
    together, again = form.says("together"), form.says("again")
    return take(desk, form.files, who=who, visit_id=visit_id, together=together, again=again)


def _job(job: Job) -> dict[str, Any]:
    """One job, without what is between the store and its workers."""
    told = ("id", "name", "state", "why", "done_s", "total_s", "walkaround", "visit_id", "added_at", "added_by")
    return {name: value for name, value in asdict(job).items() if name in told}


def _page(request: Request, *, visit: int | None = None, answer: Answer | None = None) -> Response:
    desk = desk_of(request)
    orders = list_orders(desk.store, waiting=True)
    chosen = read_visit(desk.store, visit) if visit is not None else None
    if chosen and all(each.id != chosen.id for each in orders):
        orders = (chosen, *orders)
    shown = {"orders": orders, "chosen": visit, **told_now(desk), "clock": clock, "here": "uploads"}
    status = 200 if answer is None else answer.status
    return desk.templates.TemplateResponse(request, "uploads.html", {**shown, "answer": answer}, status_code=status)


def _done(request: Request, job: Job) -> Response:
    return RedirectResponse("/uploads", 303) if _wants_page(request) else JSONResponse(_job(job))


def _wants_page(request: Request) -> bool:
    """Whether a form of the page asks, without a script."""
    return "text/html" in request.headers.get("accept", "")
