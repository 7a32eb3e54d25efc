"""The page of one estimate, the list of all, and the requests that the page makes."""

from functools import partial
from typing import Annotated, Any

from fastapi import APIRouter, Body, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response, StreamingResponse

from narrate.export.sums_said import say_sum
from narrate.review.desk import Desk, desk_of
from narrate.review.estimate_asked import parse_change
from narrate.review.estimate_changing import make_change
from narrate.review.estimate_making import estimate_for, is_behind, make_again, usual_rate, walkaround_of
from narrate.review.estimate_papers import clips_there
from narrate.review.estimate_view import Json, estimate_view
from narrate.review.left_before import left_before
from narrate.review.live import told_live
from narrate.review.signin import Person, needs
from narrate.store.books import has_book
from narrate.store.estimates import (
    HeldEstimate,
    find_estimates,
    history,
    read_estimate,
    redo,
    revision_of,
    undo,
    what_can_be_undone,
)
from narrate.store.links import links_of

router = APIRouter()
Anyone = Annotated[Person, needs("technician")]
Advisor = Annotated[Person, needs("advisor")]
AT_ONCE = 50
STATES = (("draft", "Drafts"), ("offered", "Waiting for an answer"), ("answered", "Answered"))


@router.get("/estimates")
def estimates(
    request: Request,
    person: Anyone,
    q: Annotated[str, Query(max_length=200)] = "",
    before: Annotated[str | None, Query(max_length=20)] = None,
) -> HTMLResponse:
    """All estimates, what waits first."""
    desk = desk_of(request)
    listed = find_estimates(desk.store, query=q, limit=AT_ONCE, before=before)
    asked = {
        "here": "estimates",
        "query": q,
        "groups": [
            (name, [(row, say_sum(row.total, row.currency)) for row in listed if row.state == state])
            for state, name in STATES
        ],
        "more": listed[-1].id if len(listed) == AT_ONCE else None,
        "empty": not listed,
    }
    return desk.templates.TemplateResponse(request, "estimates.html", asked)


@router.post("/walkarounds/{walkaround_id}/estimate")
def make(request: Request, walkaround_id: str, person: Advisor) -> Response:
    """Make a walk-round's estimate, and lead to it; one that is there already is led to."""
    id_ = estimate_for(desk_of(request), walkaround_id, who=person.name)
    return RedirectResponse(f"/estimates/{id_}", status_code=303)


@router.get("/estimates/{estimate_id}")
def estimate_page(request: Request, estimate_id: str, person: Anyone) -> HTMLResponse:
    """The page of one estimate."""
    desk = desk_of(request)
    held = read_estimate(desk.store, estimate_id)
    estimate = held.estimate
    vehicle = view_of(desk, held)["head"]["vehicle"]
    plate = str(estimate.vehicle.get("plate") or "")
    facts = (
        ("Order", estimate.order_number),
        ("Customer", estimate.customer.get("name")),
        ("Telephone", estimate.customer.get("phone")),
    )
    asked = {
        "here": "estimates",
        "id": estimate_id,
        "walkaround": estimate.walkaround_id,
        "title": " – ".join(text for text in (plate, vehicle) if text) or f"Estimate {estimate_id}",
        "facts": [(name, value) for name, value in facts if value],
    }
    return desk.templates.TemplateResponse(request, "estimate.html", asked)


@router.get("/estimates/{estimate_id}/history")
def happened(request: Request, estimate_id: str, person: Anyone) -> HTMLResponse:
    """What was done to it, and which papers were shown."""
    desk = desk_of(request)
    events = history(desk.store, estimate_id)
    asked = {"here": "estimates", "id": estimate_id, "events": list(reversed(events))}
    return desk.templates.TemplateResponse(request, "estimate_history.html", asked)


@router.get("/api/estimates/{estimate_id}")
def state(request: Request, estimate_id: str, person: Anyone) -> Json:
    """What the page shows, and what can be undone."""
    desk = desk_of(request)
    return answer(desk, read_estimate(desk.store, estimate_id))


@router.post("/api/estimates/{estimate_id}/changes")
def change(request: Request, estimate_id: str, person: Advisor, asked: Annotated[dict[str, Any], Body()]) -> Json:
    """Make one change and answer with what the page shows now."""
    desk = desk_of(request)
    held, told = make_change(desk, estimate_id, parse_change(asked), who=person.name)
    return {**answer(desk, held), "note": told}


@router.post("/api/estimates/{estimate_id}/outcomes")
def outcome(request: Request, estimate_id: str, person: Anyone, asked: Annotated[dict[str, Any], Body()]) -> Json:
    """What came of a job on the car; whoever did it may say so."""
    desk = desk_of(request)
    held, _ = make_change(desk, estimate_id, parse_change({**asked, "do": "outcome"}), who=person.name)
    return answer(desk, held)


@router.post("/api/estimates/{estimate_id}/again")
def again(request: Request, estimate_id: str, person: Advisor) -> Json:
    """Make it from the list of findings as it is now."""
    desk = desk_of(request)
    return answer(desk, make_again(desk, estimate_id, who=person.name))


@router.post("/api/estimates/{estimate_id}/undo")
def undo_change(request: Request, estimate_id: str, person: Advisor) -> Json:
    """Take the last change back."""
    desk = desk_of(request)
    return answer(desk, undo(desk.store, estimate_id, who=person.name))


@router.post("/api/estimates/{estimate_id}/redo")
def redo_change(request: Request, estimate_id: str, person: Advisor) -> Json:
    """Make the change again that was undone last."""
    desk = desk_of(request)
    return answer(desk, redo(desk.store, estimate_id, who=person.name))


@router.get("/api/estimates/{estimate_id}/live", dependencies=[needs("technician")])
async def live(request: Request, estimate_id: str) -> StreamingResponse:
    """Server-sent events: the estimate's revision, now and at each change."""
    return await told_live(request, partial(revision_of, desk_of(request).store, estimate_id))


def view_of(desk: Desk, held: HeldEstimate) -> Json:
    """What the page shows of an estimate."""
    return estimate_view(held.estimate, walkaround_of(desk, held), revision=held.revision, state=held.state)


def answer(desk: Desk, held: HeldEstimate) -> Json:
    """What the page's requests are answered with."""
    rate = usual_rate(desk)
    last, undone = what_can_be_undone(desk.store, held.id)
    told = [event and {"what": event.what, "who": event.who, "about": event.about} for event in (last, undone)]
    return {
        "view": {
            **view_of(desk, held),
            "rate": None if rate is None else f"{rate:f}",
            "clips": clips_there(walkaround_of(desk, held)),
            "links": sum(link.open for link in links_of(desk.store, held.id)),
        },
        "undo": told[0],
        "redo": told[1],
        "behind": is_behind(desk, held),
        "before": left_before(desk, held.estimate.walkaround_id),
        "no_book": not has_book(desk.store),
    }
