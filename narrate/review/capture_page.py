"""The page on which a technician's phone records: the page itself, and what lets it open without a network.

The page is the same for everybody and holds nothing of customers, so that the phone may keep it: orders, words and
states come by requests of their own.
"""

import hashlib
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, JSONResponse, Response

from narrate.records.capture import CommandId
from narrate.review.desk import HERE, Desk, desk_of
from narrate.review.signin import Person, needs
from narrate.store.orders import Visit, list_orders
from narrate.words.commands import spoken_phrases

router = APIRouter()
Anyone = Annotated[Person, needs("technician")]
PAGE = "/capture"
STATIC = HERE / "static"
SHARED = ("base.css", "dom.js", "icon.svg")
"""What the page needs beside its own files, which all begin with `capture`."""
ORDERS = 200
BUTTONS = (
    ("take_back", "Take back"),
    ("mark", "Mark this"),
    ("photograph", "Photo"),
    ("next_vehicle", "Next vehicle"),
    ("read_back", "Say again"),
    ("whats_left", "What’s left?"),
)
"""Every spoken command but the last has a button like these; `done` has the big one."""
MANIFEST = {
    "name": "narrate: record a walk-round",
    "short_name": "narrate",
    "start_url": PAGE,
    "scope": PAGE,
    # Not standalone: there, iOS is reported to stop recording as soon as the screen changes. It takes minimal-ui for
    # an ordinary page, while other phones can install that.
    "display": "minimal-ui",
    "background_color": "#fbfaf7",
    "theme_color": "#24408e",
    "icons": [
        {"src": "/static/capture_icon_192.png", "sizes": "192x192", "type": "image/png"},
        {"src": "/static/capture_icon_512.png", "sizes": "512x512", "type": "image/png"},
        {"src": "/static/capture_icon_512.png", "sizes": "512x512", "type": "image/png", "purpose": "maskable"},
        {"src": "/static/icon.svg", "sizes": "any", "type": "image/svg+xml"},
    ],
}


@router.get(PAGE, response_class=HTMLResponse)
def capture_page(request: Request, person: Anyone) -> HTMLResponse:
    """The page that records. `?visit=3` in its address chooses an order beforehand; the page itself reads that."""
    desk = desk_of(request)
    return desk.templates.TemplateResponse(request, "capture.html", _shown(desk))


@router.get("/api/capture-orders")
def orders_to_choose(request: Request, person: Anyone) -> dict[str, list[dict[str, Any]]]:
    """The orders that wait, as a technician recognises them: number, plate and vehicle, no customer."""
    return {"orders": [_order(visit) for visit in list_orders(desk_of(request).store, waiting=True, limit=ORDERS)]}


@router.get("/capture-worker.js")
def service_worker(request: Request) -> Response:
    """The script that keeps the page on the phone. It names what it keeps and that content's digest, so that any
    change of the page is a change of this script, which browsers look for by themselves."""
    files = list(shell_files())
    paths = [PAGE, *(f"/static/{file.name}" for file in files)]
    head = f"const VERSION = {json.dumps(_version(desk_of(request), files))};\nconst SHELL = {json.dumps(paths)};\n"
    return Response(head + (STATIC / "capture_shell.js").read_text("utf-8"), media_type="text/javascript")


@router.get("/capture.webmanifest")
def manifest() -> Response:
    """What a phone needs to install the page."""
    return JSONResponse(MANIFEST, media_type="application/manifest+json")


def shell_files() -> Iterator[Path]:
    """The static files that the page consists of."""
    for name in SHARED:
        yield STATIC / name
    for file in sorted(STATIC.glob("capture*")):
        if file.name != "capture_shell.js":
            yield file


def _shown(desk: Desk) -> dict[str, Any]:
    lexicon = desk.lexicon()
    taught: dict[CommandId, str] = {}
    for command, said in spoken_phrases(lexicon):
        taught.setdefault(command, said)
    what = lexicon.commands.command if lexicon.commands else {}
    says = [(said, what[command].what) for command, said in taught.items()]
    return {"here": "capture", "buttons": BUTTONS, "says": says}


def _version(desk: Desk, files: list[Path]) -> str:
    digest = hashlib.sha256(desk.templates.get_template("capture.html").render(_shown(desk)).encode())
    for file in files:
        digest.update(file.read_bytes())
    return digest.hexdigest()[:16]


def _order(visit: Visit) -> dict[str, Any]:
    order = visit.order
    vehicle = order.vehicle
    text = " ".join(str(part) for part in (vehicle.year, vehicle.make, vehicle.model) if part)
    return {"visit": visit.id, "number": order.number or "", "plate": vehicle.plate or "", "vehicle": text}
