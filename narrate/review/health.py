"""For whoever watches: whether the page works, and figures of the queue. Nothing in them is of customers."""

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import JSONResponse, PlainTextResponse

from narrate.errors import StoreError
from narrate.review.desk import desk_of
from narrate.review.guards import is_loopback
from narrate.review.signin import person_of
from narrate.store.queue_state import queue_state
from narrate.work.watching import metrics, queue_problems

router = APIRouter()
PROMETHEUS = "text/plain; version=0.0.4; charset=utf-8"


@router.get("/healthz")
def healthz(request: Request) -> JSONResponse:
    """Whether the page can be worked with: 200, or 503 where the store cannot be read. Anybody may ask."""
    store = desk_of(request).store
    try:
        queue_moves = not queue_problems(queue_state(store), store.folder)
    except (StoreError, OSError):
        return JSONResponse({"ok": False, "store": False}, 503)
    return JSONResponse({"ok": True, "store": True, "queue": queue_moves})


@router.get("/metrics")
def figures(request: Request) -> PlainTextResponse:
    """Figures of the queue in the Prometheus text format, for an owner, or whatever runs on this computer."""
    asker = request.client.host if request.client else ""
    if not is_loopback(asker) and person_of(request).role != "owner":
        raise HTTPException(403, "These figures are for an owner, or for a program on the shop's own computer.")
    return PlainTextResponse(metrics(desk_of(request).store), media_type=PROMETHEUS)
