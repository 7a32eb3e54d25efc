"""Signing in and out: by name and PIN, or on a second device by a code that is shown as a QR picture."""

import io
from typing import Annotated
from urllib.parse import urlsplit

import segno
from fastapi import APIRouter, Form, HTTPException, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from narrate.review.addresses import own_address as _own_address
from narrate.review.desk import Desk, desk_of
from narrate.review.guards import is_loopback
from narrate.review.signin import COOKIE, SIGN_IN, Person, is_open, needs, person_or_none
from narrate.store.people import list_people, read_person
from narrate.store.signed_in import (
    SIGNED_IN_FOR,
    SignInError,
    new_pairing,
    sign_in,
    sign_out,
    sign_out_everywhere,
    use_pairing,
)

router = APIRouter()
Owner = Annotated[Person, needs("owner")]
ONLY_HERE = (
    "Only this computer can reach narrate now; start it with `narrate review --host` and this computer's address "
    "in the shop's network, so that another device can."
)


@router.get(SIGN_IN, response_class=HTMLResponse)
def sign_in_page(request: Request, then: str = "/") -> Response:
    """The form; or straight on, where nobody needs to sign in."""
    if is_open(desk_of(request)):
        return RedirectResponse(_safe(then), 303)
    return _form(request, then=then)


@router.post(SIGN_IN)
def sign_in_here(
    request: Request,
    person: Annotated[str, Form()] = "",
    pin: Annotated[str, Form()] = "",
    then: Annotated[str, Form()] = "/",
) -> Response:
    """Take name and PIN; back to the form with a sentence where they do not go together."""
    if not person.isascii() or not person.isdecimal():
        return _form(request, then=then, wrong="Choose your name and type your PIN.", status=422)
    try:
        token = sign_in(desk_of(request).store, int(person[:9]), pin.strip(), _device(request))
    except SignInError as error:
        return _form(request, then=then, wrong=str(error), chosen=int(person[:9]), status=403)
    return _let_in(request, token, then)


@router.post("/sign-out")
def sign_out_here(request: Request) -> Response:
    """End this device's sign-in."""
    token = request.cookies.get(COOKIE)
    if token:
        sign_out(desk_of(request).store, token)
    answer = RedirectResponse(SIGN_IN, 303)
    answer.delete_cookie(COOKIE, path="/", httponly=True, samesite="strict", secure=_is_secure(request))
    return answer


@router.post("/people/{person_id}/sign-out")
def sign_out_person(request: Request, person_id: int, owner: Owner) -> Response:
    """Sign a person out on every device, and back to the Shop page."""
    sign_out_everywhere(desk_of(request).store, person_id, who=owner.name)
    return RedirectResponse("/shop", 303)


@router.get("/pair", response_class=HTMLResponse)
def pair_page(request: Request) -> Response:
    """Where the QR picture leads. Its code stands behind the `#`, which browsers keep to themselves."""
    return desk_of(request).templates.TemplateResponse(request, "pair.html", {"wrong": None})


@router.post("/pair")
def pair_here(request: Request, code: Annotated[str, Form()] = "") -> Response:
    """Let this device in by a code, once."""
    desk = desk_of(request)
    try:
        token = use_pairing(desk.store, code.strip(), _device(request))
    except SignInError as error:
        return desk.templates.TemplateResponse(request, "pair.html", {"wrong": str(error)}, 403)
    return _let_in(request, token, "/")


@router.get("/people/{person_id}/pair", response_class=HTMLResponse)
def pairing_page(request: Request, person_id: int, owner: Owner) -> Response:
    """For the owner: the QR picture to hold a person's phone at, and what to do."""
    desk = desk_of(request)
    only_here = ONLY_HERE if desk.local else None
    context = {"whose": read_person(desk.store, person_id), "only_here": only_here, "trust": desk.trust}
    return desk.templates.TemplateResponse(request, "signin_pairing.html", context)


@router.get("/people/{person_id}/pair.svg")
def pairing_picture(request: Request, person_id: int, owner: Owner) -> Response:
    """A new code for a person as a QR picture of the address that lets a device in; earlier codes end."""
    desk = desk_of(request)
    if desk.local:
        raise HTTPException(409, ONLY_HERE)
    code = new_pairing(desk.store, person_id, who=owner.name)
    picture = io.BytesIO()
    segno.make(f"{address_for_others(request)}/pair#{code}", micro=False).save(
        picture, kind="svg", scale=8, border=4, light="white"
    )
    return Response(picture.getvalue(), media_type="image/svg+xml", headers={"Cache-Control": "no-store"})


def address_for_others(request: Request) -> str:
    """The page's address as another device in the network can open it: `http://192.168.1.20:8000`."""
    host = request.url.netloc
    if not is_loopback(urlsplit(f"//{host}").hostname or ""):
        return f"{request.url.scheme}://{host}"
    port = f":{request.url.port}" if request.url.port else ""
    return f"{request.url.scheme}://{_own_address()}{port}"


def _form(
    request: Request, *, then: str, wrong: str | None = None, chosen: int | None = None, status: int = 200
) -> Response:
    desk: Desk = desk_of(request)
    here = person_or_none(request)
    people = [one for one in list_people(desk.store, active=True) if one.has_pin]
    context = {"people": people, "then": _safe(then), "wrong": wrong, "chosen": chosen, "signed_in": here}
    return desk.templates.TemplateResponse(request, "signin.html", context, status)


def _let_in(request: Request, token: str, then: str) -> Response:
    answer = RedirectResponse(_safe(then), 303)
    answer.set_cookie(
        COOKIE,
        token,
        max_age=int(SIGNED_IN_FOR.total_seconds()),
        path="/",
        httponly=True,
        samesite="strict",
        secure=_is_secure(request),
    )
    return answer


def _is_secure(request: Request) -> bool:
    return request.url.scheme == "https"


def _device(request: Request) -> str:
    return request.headers.get("user-agent", "unknown device")


def _safe(then: str) -> str:
    """Where to go on, if it is a place of this page; else its start. Browsers read `//x` and `/\\x` as other sites."""
    own = then.startswith("/") and not then.startswith(("//", "/\\")) and then.isprintable() and "\\" not in then
    return then if own else "/"
