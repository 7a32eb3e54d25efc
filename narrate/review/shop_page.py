"""The Shop page, for the owner: details, what recordings are worked on with, people, own words, what is corrected."""

from typing import Annotated

from fastapi import APIRouter, Depends, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.datastructures import FormData

from narrate.errors import UsageError
from narrate.hear.manifest import manifest
from narrate.review import shop_keeping, shop_words
from narrate.review.desk import desk_of
from narrate.review.shop_view import Owner, rule_sets, show
from narrate.review.signin import Person
from narrate.store.people import ROLES, Role, add_person, change_person, set_pin
from narrate.store.shop import FOR_WORK, Shop, change_shop

router = APIRouter()
router.include_router(shop_words.router)
router.include_router(shop_keeping.router)
DETAILS = ("name", "address", "phone", "email", "licenses", "labor_rate", "currency")


async def _form(request: Request) -> FormData:
    return await request.form()


Sent = Annotated[FormData, Depends(_form)]


@router.get("/shop")
def shop_page(request: Request, person: Owner) -> HTMLResponse:
    """Everything the owner sets."""
    return show(request, person)


@router.post("/shop/details")
def set_details(request: Request, person: Owner, sent: Sent) -> Response:
    """Set what papers say of the shop, and its rate."""
    return _set(request, person, sent, DETAILS)


@router.post("/shop/work")
def set_work(request: Request, person: Owner, sent: Sent) -> Response:
    """Set what recordings are worked on with; empty fields leave it to the settings file."""
    return _set(request, person, sent, FOR_WORK)


@router.post("/shop/people")
def add(
    request: Request,
    person: Owner,
    name: Annotated[str, Form()],
    role: Annotated[str, Form()] = "technician",
    pin: Annotated[str, Form()] = "",
) -> Response:
    """Add somebody, with a PIN or without."""
    try:
        add_person(desk_of(request).store, name=name, role=_role(role), who=person.name, pin=pin.strip() or None)
    except UsageError as error:
        return show(request, person, wrong=str(error), place="people")
    return RedirectResponse("/shop#people", 303)


@router.post("/shop/people/{person_id}")
def change(
    request: Request,
    person: Owner,
    person_id: int,
    name: Annotated[str, Form()],
    role: Annotated[str, Form()],
    active: Annotated[str, Form()] = "",
) -> Response:
    """Change somebody's name, role, or whether they work here."""
    try:
        change_person(
            desk_of(request).store, person_id, who=person.name, name=name, role=_role(role), active=bool(active)
        )
    except UsageError as error:
        return show(request, person, wrong=str(error), place="people")
    return RedirectResponse("/shop#people", 303)


@router.post("/shop/people/{person_id}/pin")
def change_pin(
    request: Request,
    person: Owner,
    person_id: int,
    pin: Annotated[str, Form()] = "",
    take: Annotated[str, Form()] = "",
) -> Response:
    """Give somebody a PIN, or take it away."""
    try:
        # An empty PIN is refused there, so that nobody loses theirs by a slip.
        set_pin(desk_of(request).store, person_id, None if take else pin.strip(), who=person.name)
    except UsageError as error:
        return show(request, person, wrong=str(error), place="people")
    return RedirectResponse("/shop#people", 303)


def _set(request: Request, person: Person, sent: FormData, keys: tuple[str, ...]) -> Response:
    desk = desk_of(request)
    typed = {key: "\n".join(str(sent.get(key, "")).splitlines()).strip() for key in keys}
    place = "details" if keys == DETAILS else "work"

    def check(shop: Shop) -> None:
        if shop.rule_set and shop.rule_set not in rule_sets(desk):
            message = f"There is no rule set {shop.rule_set}; choose one from the list."
            raise UsageError(message)
        if shop.model and shop.model not in manifest():
            message = f"There is no speech model {shop.model}; choose one from the list."
            raise UsageError(message)

    try:
        change_shop(desk.store, {key: text or None for key, text in typed.items()}, who=person.name, check=check)
    except UsageError as error:
        return show(request, person, wrong=str(error), place=place, form=typed)
    return RedirectResponse(f"/shop#{place}", 303)


def _role(role: str) -> Role:
    for one in ROLES:
        if one == role:
            return one
    message = f"There is no role {role}; choose one from the list."
    raise UsageError(message)
