"""What is around a walk-round: its vehicle and order, its files, its history, and joining it with another."""

import re
import tempfile
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from narrate.errors import MissingError, NarrateError, UsageError
from narrate.export.files import export_walkaround
from narrate.review.changing import make_change
from narrate.review.corrections.asked import parse
from narrate.review.desk import Desk, desk_of
from narrate.review.signin import Person, needs
from narrate.review.view import view
from narrate.review.walkaround_page import listed_as
from narrate.store.listing import find_walkarounds
from narrate.store.orders import attach, list_orders
from narrate.store.walkarounds import history, read_walkaround

router = APIRouter()
Anyone = Annotated[Person, needs("technician")]
Advisor = Annotated[Person, needs("advisor")]
HEAD = (
    ("order_number", "Order number"),
    ("technician", "Technician"),
    ("plate", "Plate"),
    ("vin", "Vehicle number (VIN)"),
    ("year", "Year"),
    ("make", "Make"),
    ("model", "Model"),
    ("odometer", "Distance on the clock"),
)
FILES = {
    "findings.csv": ("CSV", "text/csv"),
    "findings.xlsx": ("XLSX", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"),
    "findings.json": ("JSON", "application/json"),
    "findings.html": ("Page to print or send", "text/html"),
    "findings.svg": ("Picture", "image/svg+xml"),
}
CHOICES = 20
_DISTANCE = re.compile(r"(\d[\d,.]*)\s*(mi|km)\b\.?", re.IGNORECASE)


@router.get("/walkarounds/{walkaround_id}/about")
def about(request: Request, walkaround_id: str, person: Anyone) -> HTMLResponse:
    """Vehicle, order, files and history."""
    return _page(request, walkaround_id)


@router.post("/walkarounds/{walkaround_id}/head")
async def change_head(request: Request, walkaround_id: str, person: Advisor) -> Response:
    """Change lines about the order and the vehicle; what was left as shown is not touched."""
    desk = desk_of(request)
    form = {key: str(value).strip() for key, value in (await request.form()).items()}
    try:
        for field, _ in HEAD:
            to, seen = form.get(field, ""), form.get(f"seen_{field}", "")
            if to != seen:
                asked = {"do": "head", "field": field, "to": _value(field, to), "seen": _value(field, seen)}
                make_change(desk, walkaround_id, parse(asked), who=person.name)
    except NarrateError as error:
        return _page(request, walkaround_id, error=str(error), status=422)
    return RedirectResponse(f"/walkarounds/{walkaround_id}/about", status_code=303)


@router.post("/walkarounds/{walkaround_id}/order")
def tie(request: Request, walkaround_id: str, person: Advisor, visit: Annotated[int, Form()]) -> Response:
    """Tie a walk-round to an order that waits for its recording."""
    attach(desk_of(request).store, walkaround_id, visit, who=person.name)
    return RedirectResponse(f"/walkarounds/{walkaround_id}/about", status_code=303)


@router.get("/walkarounds/{walkaround_id}/files/{name}")
def file(request: Request, walkaround_id: str, name: str, person: Anyone) -> Response:
    """One of the files of a walk-round, written now."""
    if name not in FILES:
        message = f"There is no file {name}; choose one on the page."
        raise MissingError(message)
    walkaround = read_walkaround(desk_of(request).store, walkaround_id).walkaround
    with tempfile.TemporaryDirectory() as folder:
        export_walkaround(walkaround, Path(folder))
        content = (Path(folder) / name).read_bytes()
    # Downloaded, not opened here: the page's rules for scripts and styles are not the file's.
    named = {"Content-Disposition": f'attachment; filename="{walkaround_id}-{name}"'}
    return Response(content, media_type=FILES[name][1], headers=named)


def _page(request: Request, walkaround_id: str, *, error: str = "", status: int = 200) -> HTMLResponse:
    desk = desk_of(request)
    held = read_walkaround(desk.store, walkaround_id)
    head = view(held)["head"]
    asked = {
        "here": "home",
        "id": walkaround_id,
        "listed_as": listed_as(held),
        "error": error,
        "head": [(field, label, "" if head[field] is None else str(head[field])) for field, label in HEAD],
        "visit_id": held.visit_id,
        "orders": _orders(desk),
        "files": [(name, file) for file, (name, _) in FILES.items()],
        "others": [each for each in _others(desk, head) if each.id != walkaround_id],
        "events": reversed(history(desk.store, walkaround_id)),
    }
    return desk.templates.TemplateResponse(request, "about.html", asked, status_code=status)


def _orders(desk: Desk) -> list[dict[str, Any]]:
    waiting = list_orders(desk.store, waiting=True)[:CHOICES]
    return [{"id": each.id, "text": _order_text(each.order)} for each in waiting]


def _order_text(order: Any) -> str:  # noqa: ANN401 - records.Order
    words = (order.number, order.customer.name, order.vehicle.plate, order.vehicle.make, order.vehicle.model)
    return " – ".join(word for word in words if word) or "order"


def _others(desk: Desk, head: dict[str, Any]) -> list[Any]:
    """Walk-rounds that may be of the same vehicle: same plate or order first, else the latest ones to check."""
    for query in (head["plate"], head["order_number"]):
        if query and len(same := find_walkarounds(desk.store, query=query, limit=CHOICES)) > 1:
            return same
    return find_walkarounds(desk.store, state="to_check", limit=CHOICES)


def _value(field: str, text: str) -> Any:  # noqa: ANN401 - what the correction wants for this field
    if not text:
        return None
    if field == "year":
        if not text.isdecimal():
            message = f"“{text}” is no year; type four digits."
            raise UsageError(message)
        return int(text)
    if field == "odometer":
        shape = _DISTANCE.fullmatch(text)
        if not shape:
            message = f"“{text}” is no distance; type it with its unit, as in 48210 mi."
            raise UsageError(message)
        return {"value": shape[1].replace(",", ""), "unit": shape[2].lower()}
    return text
