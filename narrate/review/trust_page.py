"""The one page without TLS: on it a device takes the shop's certificate and is led on to the real page."""

import io
from typing import Annotated, Any
from urllib.parse import urlsplit

import segno
from fastapi import APIRouter, FastAPI, HTTPException, Request
from fastapi.responses import FileResponse, HTMLResponse, RedirectResponse, Response
from starlette.types import ASGIApp

from narrate.review.addresses import as_host
from narrate.review.certificates import Authority
from narrate.review.desk import HERE, Desk, desk_of
from narrate.review.guards import Guards
from narrate.review.signin import Person, needs
from narrate.review.signin_routes import address_for_others

router = APIRouter()
CERTIFICATE = "/narrate-authority.crt"
KIND = "application/x-x509-ca-cert"
"""What makes phones offer to install it, and not to show it."""
SYSTEMS = {
    "iphone": ("iphone", "ipad"),
    "android": ("android",),
    "windows": ("windows",),
    "mac": ("macintosh",),
    "linux": ("linux",),
}
"""What browsers call the system they run on, in the order in which to look."""


@router.get("/trust.svg")
def trust_picture(request: Request, person: Annotated[Person, needs("technician")]) -> Response:
    """The address of the page below, as a QR picture."""
    trust = desk_of(request).trust
    if trust is None:
        raise HTTPException(404, "Devices need no certificate for this page; `narrate review --tls` makes one.")
    host = urlsplit(address_for_others(request)).hostname or ""
    picture = io.BytesIO()
    segno.make(f"http://{as_host(host)}:{trust.port}/", micro=False).save(
        picture, kind="svg", scale=8, border=4, light="white"
    )
    return Response(picture.getvalue(), media_type="image/svg+xml")


def make_trust_app(desk: Desk, authority: Authority, *, hosts: frozenset[str], page_port: int) -> ASGIApp:
    """The application of the page: the certificate (never a key), what to do with it, and the way on."""
    app = FastAPI(docs_url=None, redoc_url=None, openapi_url=None)

    @app.get(CERTIFICATE)
    def certificate() -> Response:
        named = {"content-disposition": f'attachment; filename="{CERTIFICATE.strip("/")}"'}
        return Response(authority.der, media_type=KIND, headers=named)

    @app.get("/base.css")
    def style() -> Response:
        return FileResponse(HERE / "static" / "base.css")

    @app.get("/", response_class=HTMLResponse)
    def page(request: Request) -> Response:
        shown: dict[str, Any] = {
            "certificate": CERTIFICATE,
            "called": authority.name,
            "fingerprint": authority.fingerprint,
            "on": f"https://{as_host(request.url.hostname or '')}:{page_port}/",
            "system": system_of(request.headers.get("user-agent", "")),
        }
        return desk.templates.TemplateResponse(request, "trust.html", shown)

    @app.get("/{anything:path}")
    def elsewhere(anything: str) -> Response:
        return RedirectResponse("/", 303)

    return Guards(app, hosts=hosts)


def system_of(user_agent: str) -> str | None:
    """Which of the page's instructions a device needs first.

    >>> system_of("Mozilla/5.0 (Linux; Android 15) …"), system_of("curl")
    ('android', None)
    """
    told = user_agent.casefold()
    return next((system for system, words in SYSTEMS.items() if any(word in told for word in words)), None)
