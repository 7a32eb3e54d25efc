"""The application: pages and requests put together, errors said in one sentence, guards around it all."""

from collections.abc import Iterable
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from fastapi.staticfiles import StaticFiles
from starlette.exceptions import HTTPException
from starlette.types import ASGIApp

from narrate.errors import NarrateError
from narrate.review import (
    about,
    capture_page,
    captures_page,
    capturing,
    customer_link,
    estimate_answers,
    estimate_page,
    estimate_papers,
    health,
    home,
    lexicon_search,
    live,
    live_words,
    media,
    microphone,
    nearby,
    offers_page,
    orders,
    own_words,
    prices_page,
    progress,
    shop_page,
    signin_routes,
    trust_page,
    uploads,
    walkaround_page,
)
from narrate.review.desk import HERE, Desk
from narrate.review.event_words import say_event
from narrate.review.guards import OWN_HOSTS, Guards
from narrate.review.refusals import status_of

PAGES = (
    home,
    microphone,
    signin_routes,
    trust_page,
    orders,
    uploads,
    capture_page,
    progress,
    media,
    shop_page,
    own_words,
    about,
    walkaround_page,
    lexicon_search,
    nearby,
    live,
    live_words,
    estimate_page,
    estimate_papers,
    estimate_answers,
    prices_page,
    customer_link,
    offers_page,
    health,
    capturing,
    captures_page,
)

NOT_READ = "There was an error parsing the body"
PLAINLY = {
    400: "This request cannot be read; load the page again and try once more.",
    404: "There is no such page; begin at the list of walk-rounds.",
    405: "This cannot be done at this address; go back and use the page's buttons.",
}
"""What the framework says in a word or in its own terms."""


def make_app(desk: Desk, *, hosts: Iterable[str] = OWN_HOSTS) -> ASGIApp:
    """The whole application over a desk. `hosts`: the names it goes by (`guards.hosts_of`)."""
    app = FastAPI(title="narrate", docs_url=None, redoc_url=None, openapi_url=None)
    app.state.desk = desk
    desk.templates.env.filters["when"] = say_when
    desk.templates.env.filters["event"] = say_event
    for page in PAGES:
        app.include_router(page.router)
    app.mount("/static", StaticFiles(directory=HERE / "static"), name="static")
    app.add_exception_handler(NarrateError, _told)
    app.add_exception_handler(HTTPException, _told)
    app.add_exception_handler(RequestValidationError, _told)
    return Guards(app, hosts=hosts)


def say_when(time: str) -> str:
    """`2026-11-27T09:50:00.123Z` as `2026-11-27 09:50`; a date, or no time at all, as it is."""
    return time[:16].replace("T", " ") if len(time) > len("2026-11-27") else time


def _told(request: Request, error: Exception) -> Response:
    """An error as one sentence: a page for people, JSON for the page's own requests."""
    status, sentence, headers = _read(error)
    if status == 303:
        return Response(status_code=303, headers=headers)
    wants_page = request.method == "GET" and request.headers.get("sec-fetch-dest", "document") == "document"
    form = "form" in request.headers.get("content-type", "")
    if request.url.path.startswith("/api/") or not (wants_page or form):
        return JSONResponse({"detail": sentence}, status_code=status, headers=headers)
    desk: Desk = request.app.state.desk
    asked: dict[str, Any] = {"sentence": sentence, "status": status}
    return desk.templates.TemplateResponse(request, "refused.html", asked, status_code=status, headers=headers)


def _read(error: Exception) -> tuple[int, str, dict[str, str]]:
    if isinstance(error, NarrateError):
        return status_of(error), str(error), {}
    if isinstance(error, RequestValidationError):
        first = error.errors()[0]
        place = ".".join(str(part) for part in first["loc"][1:]) or "the request"
        return 422, f"{place}: {first['msg']}; correct it and try again.", {}
    if isinstance(error, HTTPException):
        sentence = str(error.detail)
        if sentence in (NOT_READ, HTTPStatus(error.status_code).phrase):
            sentence = PLAINLY.get(error.status_code, f"This cannot be done here ({sentence}).")
        return error.status_code, sentence, dict(error.headers or {})
    raise error
