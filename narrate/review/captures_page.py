"""The page of what phones began and did not end, and of photos that belong to no finding yet."""

from typing import Annotated

from fastapi import APIRouter, Form, Path, Request
from fastapi.responses import FileResponse, HTMLResponse, RedirectResponse, Response

from narrate.errors import MissingError
from narrate.hear.clock import clock
from narrate.review.desk import desk_of
from narrate.review.signin import Person, needs
from narrate.store.capture_marks import photo_file
from narrate.store.captures import captures_with
from narrate.store.engine import Store
from narrate.store.walkarounds import read_walkaround
from narrate.work.capture_photos import WaitingPhoto, attach_photo, attach_photos, photos_waiting
from narrate.work.capturing import is_coming

router = APIRouter()
Advisor = Annotated[Person, needs("advisor")]
Key = Annotated[str, Path(pattern=r"^[0-9a-f]{32}$")]
Id = Annotated[str, Path(pattern=r"^[0-9a-zA-Z-]{1,64}$")]


@router.get("/captures", response_class=HTMLResponse)
def captures_page(request: Request, person: Advisor) -> Response:
    """Recordings that were begun and not ended, and photos that belong to no finding yet."""
    desk = desk_of(request)
    attach_photos(desk.store)
    photos = [(photo, _findings(desk.store, photo)) for photo in photos_waiting(desk.store)]
    begun = [
        (each, is_coming(desk.store, each))
        for each in captures_with(desk.store)
        if any(run.pieces for run in each.runs)
    ]
    left_out = [each for each in captures_with(desk.store, unfinished=False) if each.told and each.told["kept"]]
    shown = {"captures": begun, "left_out": left_out, "photos": photos, "clock": clock, "here": "uploads"}
    return desk.templates.TemplateResponse(request, "captures.html", shown)


@router.get("/captures/{key}/photos/{id_}.jpg")
def waiting_photo(request: Request, key: Key, id_: Id, person: Advisor) -> FileResponse:
    """A photo that waits."""
    store = desk_of(request).store
    photo = _waiting(store, key, id_)
    return FileResponse(photo_file(store, photo.key, photo.id), media_type="image/jpeg")


@router.post("/captures/{key}/photos/{id_}")
def attach(request: Request, key: Key, id_: Id, person: Advisor, finding: Annotated[str, Form()]) -> Response:
    """Say which finding a photo belongs to."""
    store = desk_of(request).store
    attach_photo(store, _waiting(store, key, id_), finding, who=person.name)
    return RedirectResponse("/captures", 303)


def _waiting(store: Store, key: str, id_: str) -> WaitingPhoto:
    photo = next((each for each in photos_waiting(store) if (each.key, each.id) == (key, id_)), None)
    if photo is None or not photo_file(store, key, id_).is_file():
        message = "There is no such photo waiting any more; load the page again."
        raise MissingError(message)
    return photo


def _findings(store: Store, photo: WaitingPhoto) -> list[tuple[str, str]]:
    findings = read_walkaround(store, photo.walkaround).walkaround.findings
    kept = [each for each in findings if each.review.state != "dropped"]
    return [(each.id, ", ".join((each.component.name, *each.locations))) for each in kept]
