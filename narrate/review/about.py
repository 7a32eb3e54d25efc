"""What is around a walk-round: its vehicle and order, its files, its history, and joining it with another."""

import tempfile
from pathlib import Path
from typing import Annotated, Any

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from narrate.errors import ConflictError, MissingError, NarrateError, UsageError
from narrate.export.files import WRITERS
from narrate.review.attaching import attach_order
from narrate.review.changing import make_change
from narrate.review.desk import Desk, desk_of
from narrate.review.head_form import changes_asked, lines_shown
from narrate.review.refusals import status_of
from narrate.review.signin import Person, needs
from narrate.review.view import head_view
from narrate.review.walkaround_page import listed_as
from narrate.store.listing import find_walkarounds
from narrate.store.orders import list_orders
from narrate.store.walkarounds import history, read_walkaround

router = APIRouter()
Anyone = Annotated[Person, needs("technician")]
Advisor = Annotated[Person, needs("advisor")]
FILES = {
    "findings.csv": ("CSV", "text/csv"),
    "findings.xlsx": ("XLSX", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"),
    "findings.json": ("JSON", "application/json"),
    "findings.html": ("Page to print or send", "text/html"),
    "findings.svg": ("Picture", "image/svg+xml"),
}
CHOICES = 20


@router.get("/walkarounds/{walkaround_id}/about")
def about(request: Request, walkaround_id: str, person: Anyone) -> HTMLResponse:
    """Vehicle, order, files and history."""
    return _page(request, walkaround_id)


@router.post("/walkarounds/{walkaround_id}/head")
async def change_head(request: Request, walkaround_id: str, person: Advisor) -> Response:
    """Change lines about the order and the vehicle; what was left as shown is not touched."""
    form = {key: str(value).strip() for key, value in (await request.form()).items()}
    return await run_in_threadpool(_change_head, request, walkaround_id, form, person.name)


def _change_head(request: Request, walkaround_id: str, form: dict[str, str], who: str) -> Response:
    try:
        # All lines are read before any is kept.
        for asked in changes_asked(form):
            make_change(desk_of(request), walkaround_id, asked, who=who)
    except (UsageError, ConflictError) as error:
        return _page(request, walkaround_id, error=error, form=form)
    return RedirectResponse(f"/walkarounds/{walkaround_id}/about", status_code=303)


@router.post("/walkarounds/{walkaround_id}/order")
def tie(request: Request, walkaround_id: str, person: Advisor, visit: Annotated[int, Form(ge=1, lt=2**31)]) -> Response:
    """Tie a walk-round to an order that waits for its recording."""
    attach_order(desk_of(request), walkaround_id, visit, who=person.name)
    return RedirectResponse(f"/walkarounds/{walkaround_id}/about", status_code=303)


@router.get("/walkarounds/{walkaround_id}/files/{name}")
def file(request: Request, walkaround_id: str, name: str, person: Anyone) -> Response:
    """One of the files of a walk-round, written now."""
    if name not in FILES:
        message = f"There is no file {name}; choose one on the page."
        raise MissingError(message)
    walkaround = read_walkaround(desk_of(request).store, walkaround_id).walkaround
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        WRITERS[path.suffix](walkaround, path)
        content = path.read_bytes()
    # Downloaded, not opened here: the page's rules for scripts and styles are not the file's.
    named = {"Content-Disposition": f'attachment; filename="{walkaround_id}-{name}"'}
    return Response(content, media_type=FILES[name][1], headers=named)


def _page(
    request: Request, walkaround_id: str, *, error: NarrateError | None = None, form: dict[str, str] | None = None
) -> HTMLResponse:
    desk = desk_of(request)
    held = read_walkaround(desk.store, walkaround_id)
    head = head_view(held.walkaround)
    asked = {
        "here": "home",
        "id": walkaround_id,
        "listed_as": listed_as(held),
        "error": str(error or ""),
        "head": lines_shown(head, form),
        "visit_id": held.visit_id,
        "signed": held.state == "signed",
        "orders": _orders(desk),
        "files": [(name, file) for file, (name, _) in FILES.items()],
        "others": [each for each in _others(desk, head) if each.id != walkaround_id],
        "events": reversed(history(desk.store, walkaround_id)),
    }
    return desk.templates.TemplateResponse(request, "about.html", asked, status_code=status_of(error) if error else 200)


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
