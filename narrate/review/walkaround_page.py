"""The page on which one walk-round is checked, and the requests it makes."""

import re
from functools import partial
from typing import Annotated, Any

from fastapi import APIRouter, Body, Form, Request
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse, Response

from narrate.errors import UsageError
from narrate.records.event import Event
from narrate.records.order import OrderVehicle
from narrate.review.changing import finding, judging, make_change
from narrate.review.corrections.asked import parse
from narrate.review.corrections.joining import joined
from narrate.review.corrections.splitting import split_at
from narrate.review.desk import Desk, desk_of
from narrate.review.event_words import say_event
from narrate.review.left_before import left_before
from narrate.review.signin import Person, needs
from narrate.review.view import Json, head_view, view, words_view
from narrate.store.attachments import kinds_of
from narrate.store.clock import now
from narrate.store.recordings import kept_recording
from narrate.store.vehicles import link_vehicle, new_vehicle, read_vehicle, recognise
from narrate.store.walkarounds import (
    Held,
    join_walkarounds,
    read_walkaround,
    redo,
    split_walkaround,
    undo,
    what_can_be_undone,
)

router = APIRouter()
NUMBER = re.compile("[0-9]{1,9}")
Anyone = Annotated[Person, needs("technician")]
Advisor = Annotated[Person, needs("advisor")]


@router.get("/walkarounds/{walkaround_id}")
def walkaround_page(request: Request, walkaround_id: str, person: Anyone) -> HTMLResponse:
    """The page of one walk-round."""
    desk = desk_of(request)
    held = read_walkaround(desk.store, walkaround_id)
    head = head_view(held.walkaround)
    names = (("Order", "order_number"), ("Technician", "technician"), ("Plate", "plate"), ("On the clock", "odometer"))
    asked = {
        "here": "home",
        "id": walkaround_id,
        "listed_as": listed_as(held),
        "facts": [(name, head[key]) for name, key in names if head[key]],
        "known": _known(desk, held),
        "before": left_before(desk, walkaround_id),
    }
    return desk.templates.TemplateResponse(request, "walkaround.html", asked)


@router.get("/api/walkarounds/{walkaround_id}")
def state(request: Request, walkaround_id: str, person: Anyone) -> JSONResponse:
    """What the page shows, and what can be undone."""
    desk = desk_of(request)
    return _answer(desk, read_walkaround(desk.store, walkaround_id))


@router.get("/api/walkarounds/{walkaround_id}/words")
def words(request: Request, walkaround_id: str, person: Anyone) -> JSONResponse:
    """The words of its recordings."""
    return JSONResponse(words_view(read_walkaround(desk_of(request).store, walkaround_id).walkaround))


@router.get("/api/walkarounds/{walkaround_id}/more")
def more(request: Request, walkaround_id: str, person: Anyone) -> Json:
    """Which recordings are videos, and what kind each attachment is."""
    store = desk_of(request).store
    walkaround = read_walkaround(store, walkaround_id).walkaround
    kept = {each.id: each.sha256 and kept_recording(store, each.sha256) for each in walkaround.recordings}
    return {
        "kinds": kinds_of(store, walkaround_id),
        "videos": [id_ for id_, recording in kept.items() if recording and recording.video],
    }


@router.post("/api/walkarounds/{walkaround_id}/changes")
def change(
    request: Request, walkaround_id: str, person: Advisor, asked: Annotated[dict[str, Any], Body()]
) -> JSONResponse:
    """Make one correction and answer with what the page shows now."""
    desk = desk_of(request)
    return _answer(desk, make_change(desk, walkaround_id, parse(asked), who=person.name))


@router.post("/api/walkarounds/{walkaround_id}/undo")
def undo_change(request: Request, walkaround_id: str, person: Advisor) -> JSONResponse:
    """Take the last change back."""
    desk = desk_of(request)
    return _answer(desk, undo(desk.store, walkaround_id, who=person.name))


@router.post("/api/walkarounds/{walkaround_id}/redo")
def redo_change(request: Request, walkaround_id: str, person: Advisor) -> JSONResponse:
    """Make the change again that was undone last."""
    desk = desk_of(request)
    return _answer(desk, redo(desk.store, walkaround_id, who=person.name))


@router.post("/api/walkarounds/{walkaround_id}/split")
def split(
    request: Request,
    walkaround_id: str,
    person: Advisor,
    recording: Annotated[str, Body()],
    first_word: Annotated[int, Body(ge=1)],
) -> JSONResponse:
    """From a word on, a recording is about another vehicle: make a walk-round of its own of the rest."""
    desk = desk_of(request)
    held = read_walkaround(desk.store, walkaround_id)
    make = partial(
        split_at,
        recording_id=recording,
        first_word=first_word,
        by=person.name,
        at=now(),
        again=judging(desk, held),
        # The other vehicle is not the order's, and was not here before as far as anyone knows.
        again_second=judging(desk, held, alone=True),
        find=finding(desk, held, alone=True),
    )
    kept, added = split_walkaround(desk.store, walkaround_id, who=person.name, make=make)
    return _answer(desk, kept, other=added.walkaround.id)


@router.post("/walkarounds/{walkaround_id}/join")
def join(request: Request, walkaround_id: str, person: Advisor, other: Annotated[str, Form()]) -> Response:
    """Two recordings are of one vehicle: the other one's findings come into this list."""
    desk = desk_of(request)
    again = judging(desk, read_walkaround(desk.store, walkaround_id))
    make = partial(joined, again=again)
    join_walkarounds(desk.store, walkaround_id, other, who=person.name, make=make)
    return RedirectResponse(f"/walkarounds/{walkaround_id}", status_code=303)


@router.post("/walkarounds/{walkaround_id}/vehicle")
def same_vehicle(request: Request, walkaround_id: str, person: Advisor, same: Annotated[str, Form()]) -> Response:
    """Whether a vehicle whose plate is known is the same as the one before."""
    store = desk_of(request).store
    vehicle = read_walkaround(store, walkaround_id).walkaround.vehicle
    if same == "no":
        told = OrderVehicle(
            vin=vehicle.vin, plate=vehicle.plate, year=vehicle.year, make=vehicle.make, model=vehicle.model
        )
        link_vehicle(store, walkaround_id, new_vehicle(store, told, who=person.name), who=person.name)
    elif NUMBER.fullmatch(same):
        link_vehicle(store, walkaround_id, int(same), who=person.name)
    else:
        message = "Say which vehicle it is, or no."
        raise UsageError(message)
    return RedirectResponse(f"/walkarounds/{walkaround_id}", status_code=303)


def listed_as(held: Held) -> str:
    """What a walk-round is called on its page: plate and vehicle, else its id."""
    head = head_view(held.walkaround)
    return " – ".join(text for text in (head["plate"], head["vehicle"]) if text) or f"Walk-round {held.walkaround.id}"


def _known(desk: Desk, held: Held) -> dict[str, Any] | None:
    """The vehicle of an earlier visit that may be this one, where nobody has said yet."""
    vehicle = held.walkaround.vehicle
    if held.vehicle_id is not None:
        return None
    known = recognise(desk.store, vehicle.vin, vehicle.plate)
    if not known:
        return None
    kept = read_vehicle(desk.store, known.vehicle_id)
    words = (str(kept.year) if kept.year else "", kept.make or "", kept.model or "", kept.plate or "")
    return {"id": kept.id, "text": " ".join(word for word in words if word) or "vehicle", "customer": kept.customer}


def _answer(desk: Desk, held: Held, **more: str) -> JSONResponse:
    last, undone = what_can_be_undone(desk.store, held.walkaround.id)
    told = {"undo": last and _told(last), "redo": undone and _told(undone)}
    # Written as it is: looking through all of it for what is not JSON takes longer than to make it.
    return JSONResponse({"view": view(held), **told, **more})


def _told(event: Event) -> Json:
    return {"what": say_event(event.what), "who": event.who, "about": event.about}
