"""The list of walk-rounds that wait, and the search in all of them."""

from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from narrate.review.desk import desk_of
from narrate.review.signin import Person, needs
from narrate.store.jobs import list_jobs
from narrate.store.listing import find_walkarounds

router = APIRouter()
AT_ONCE = 50
LONGEST_QUERY = 200


@router.get("/")
def home(
    request: Request,
    person: Annotated[Person, needs("technician")],
    q: Annotated[str, Query(max_length=LONGEST_QUERY)] = "",
    before: Annotated[str | None, Query(max_length=20)] = None,
) -> HTMLResponse:
    """What waits to be checked, the promised first; then what was signed."""
    desk = desk_of(request)
    listed = find_walkarounds(desk.store, query=q, limit=AT_ONCE, before=before)
    waiting = [job for state in ("waiting", "working") for job in list_jobs(desk.store, state=state)]
    asked = {
        "here": "home",
        "query": q,
        "listed": listed,
        "groups": [
            ("To check", [row for row in listed if row.state == "to_check"]),
            ("Signed", [row for row in listed if row.state == "signed"]),
        ],
        "more": listed[-1].id if len(listed) == AT_ONCE else None,
        "jobs": "1 recording" if len(waiting) == 1 else f"{len(waiting)} recordings" if waiting else "",
    }
    return desk.templates.TemplateResponse(request, "home.html", asked)
