"""The pages of orders: the list, one order, and those that come as a CSV."""

from collections.abc import Mapping
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Form, HTTPException, Request, UploadFile
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.datastructures import FormData

from narrate.errors import ConflictError, UsageError
from narrate.export.phrases import say_vehicle
from narrate.records.order import Order
from narrate.records.walkaround import Vehicle
from narrate.review.attaching import attach_order, bring_in
from narrate.review.desk import Desk, desk_of
from narrate.review.signin import Person, needs
from narrate.store.orders import (
    Visit,
    add_order,
    add_orders,
    change_order,
    list_orders,
    numbers_taken,
    read_visit,
    settle_vehicle,
)
from narrate.store.vehicles import KeptVehicle, read_vehicle, walkarounds_of
from narrate.store.walkarounds import find_walkarounds
from narrate.work.order_csv import COLUMNS, example_csv, read_orders
from narrate.work.order_fields import FIELDS, Mistake, Typed, fields_of, order_from_fields, promised_text

router = APIRouter()
Technician = Annotated[Person, needs("technician")]
Advisor = Annotated[Person, needs("advisor")]
MOST_SHOWN = 200
MOST_BYTES = 5_000_000
"""Of a CSV."""
LONGEST_QUERY = 200


async def _form(request: Request) -> FormData:
    return await request.form()


Sent = Annotated[FormData, Depends(_form)]


@router.get("/orders")
def orders_page(
    request: Request, person: Technician, q: str = "", show: str = "waiting", imported: int | None = None
) -> HTMLResponse:
    """The orders that wait for a recording, or all of them, and a form for another."""
    return _list(request, query=q[:LONGEST_QUERY], show=show, imported=imported)


@router.get("/orders/example.csv")
def example(person: Technician) -> Response:
    """A CSV to begin with."""
    named = {"Content-Disposition": 'attachment; filename="orders.csv"'}
    return Response(example_csv(), media_type="text/csv; charset=utf-8", headers=named)


@router.post("/orders")
def new_order(request: Request, person: Advisor, sent: Sent) -> Response:
    """Add the order that was typed; back to the form where something is wrong with it."""
    typed = _typed(sent)
    mistakes = typed.mistakes
    if typed.order:
        try:
            visit_id = add_order(desk_of(request).store, typed.order, who=person.name)
            return RedirectResponse(f"/orders/{visit_id}", 303)
        except UsageError as error:
            mistakes = (Mistake("number", str(error)),)
    return _list(request, form=_shown(sent), mistakes=mistakes, status=422)


@router.post("/orders/import")
def import_orders(request: Request, person: Advisor, file: UploadFile) -> Response:
    """Add every order of a CSV, or none of them and a list of what is wrong."""
    store = desk_of(request).store
    content = file.file.read(MOST_BYTES + 1)
    if len(content) > MOST_BYTES:
        raise HTTPException(413, f"A CSV of orders may have {MOST_BYTES // 1_000_000} MB; import it in parts.")
    try:
        orders = read_orders(content, "The file", taken=numbers_taken(store))
        add_orders(store, orders, who=person.name)
    except UsageError as error:
        return _list(request, wrong=str(error), status=422)
    return RedirectResponse(f"/orders?imported={len(orders)}", 303)


@router.get("/orders/{visit_id}")
def order_page(request: Request, person: Technician, visit_id: int) -> HTMLResponse:
    """One order: what is known, what was recorded, and a form to change it."""
    return _one(request, visit_id)


@router.post("/orders/{visit_id}")
def change(request: Request, person: Advisor, visit_id: int, sent: Sent) -> Response:
    """Change an order to what was typed, unless someone else changed it meanwhile."""
    desk = desk_of(request)
    visit = read_visit(desk.store, visit_id)
    typed = _typed(sent)
    mistakes = typed.mistakes
    if typed.order:
        # What the form does not show stays.
        kept = {"market": visit.order.market, "drive_side": visit.order.drive_side}
        order = typed.order.model_copy(update=kept)
        try:
            change_order(desk.store, visit_id, order, who=person.name, seen=str(sent.get("edition", "")))
        except ConflictError as error:
            return _one(request, visit_id, wrong=str(error), status=409)
        except UsageError as error:
            mistakes = (Mistake("number", str(error)),)
        else:
            for walkaround_id in visit.walkarounds:
                bring_in(desk, walkaround_id, order, who=person.name)
            return RedirectResponse(f"/orders/{visit_id}", 303)
    return _one(request, visit_id, form=_shown(sent), mistakes=mistakes, status=422)


@router.post("/orders/{visit_id}/vehicle")
def settle(request: Request, person: Advisor, visit_id: int, same: Annotated[str, Form()]) -> Response:
    """Answer whether the vehicle is the one that has been here: its id, or `no`."""
    store = desk_of(request).store
    asked = read_visit(store, visit_id).ask
    if asked is not None and same in (str(asked), "no"):
        settle_vehicle(store, visit_id, None if same == "no" else asked, who=person.name)
        return RedirectResponse(f"/orders/{visit_id}", 303)
    return _one(request, visit_id, wrong="That question is no longer open; look at the order again.", status=409)


@router.post("/orders/{visit_id}/walkaround")
def take_walkaround(request: Request, person: Advisor, visit_id: int, walkaround: Annotated[str, Form()]) -> Response:
    """Say that a walk-round that is there already was made for this order."""
    try:
        attach_order(desk_of(request), walkaround, visit_id, who=person.name)
    except UsageError as error:
        return _one(request, visit_id, wrong=str(error), status=422)
    return RedirectResponse(f"/orders/{visit_id}", 303)


def _typed(sent: FormData) -> Typed:
    fields = {field: str(sent.get(field, "")) for field in FIELDS}
    # A browser has one field for the day and one for the time.
    fields["promised"] = f"{sent.get('promised_day', '')} {sent.get('promised_time', '')}".strip()
    return order_from_fields(fields, str(sent.get("concerns", "")).splitlines())


def _shown(sent: FormData) -> dict[str, str]:
    """What was typed, to be shown again."""
    return {key: value for key, value in sent.items() if isinstance(value, str)}


def _form_of(order: Order) -> dict[str, str]:
    shown = fields_of(order)
    day, _, time = shown["promised"].partition(" ")
    return {**shown, "promised_day": day, "promised_time": time, "concerns": "\n".join(order.concerns)}


def _list(
    request: Request,
    *,
    query: str = "",
    show: str = "waiting",
    imported: int | None = None,
    form: Mapping[str, str] | None = None,
    mistakes: tuple[Mistake, ...] = (),
    wrong: str = "",
    status: int = 200,
) -> HTMLResponse:
    desk = desk_of(request)
    waiting = True if show == "waiting" else None
    visits = list_orders(desk.store, waiting=waiting, query=query, limit=MOST_SHOWN)
    context = {
        "here": "orders",
        "rows": [_row(visit) for visit in visits],
        "more": len(visits) == MOST_SHOWN,
        "query": query,
        "show": "waiting" if waiting else "all",
        "imported": imported,
        "form": form or {},
        "mistakes": {mistake.field: mistake.why for mistake in mistakes},
        "wrong": wrong,
        "columns": COLUMNS,
    }
    return desk.templates.TemplateResponse(request, "orders.html", context, status_code=status)


def _one(
    request: Request,
    visit_id: int,
    *,
    form: Mapping[str, str] | None = None,
    mistakes: tuple[Mistake, ...] = (),
    wrong: str = "",
    status: int = 200,
) -> HTMLResponse:
    desk = desk_of(request)
    visit = read_visit(desk.store, visit_id)
    earlier = walkarounds_of(desk.store, visit.vehicle_id) if visit.vehicle_id is not None else ()
    context = {
        "here": "orders",
        "row": _row(visit),
        "visit": visit,
        "edition": form.get("edition", visit.edition) if form else visit.edition,
        "form": form or _form_of(visit.order),
        "mistakes": {mistake.field: mistake.why for mistake in mistakes},
        "wrong": wrong,
        "ask": _told(read_vehicle(desk.store, visit.ask)) if visit.ask is not None else None,
        "earlier": [each for each in earlier if each.id not in visit.walkarounds],
        "orderless": _orderless(desk) if not visit.walkarounds else [],
    }
    return desk.templates.TemplateResponse(request, "order.html", context, status_code=status)


def _row(visit: Visit) -> dict[str, Any]:
    """What the list says of an order."""
    order = visit.order
    known = order.vehicle
    vehicle = say_vehicle(Vehicle(year=known.year, make=known.make, model=known.model))
    return {
        "id": visit.id,
        "title": f"Order {order.number}" if order.number else order.customer.name or known.plate or "Order",
        "number": order.number or "",
        "customer": order.customer.name or "",
        "vehicle": vehicle,
        "plate": known.plate or "",
        "promised": promised_text(order.promised) if order.promised else "",
        "technician": order.technician or "",
        "walkarounds": visit.walkarounds,
    }


def _told(vehicle: KeptVehicle) -> str:
    """A vehicle in a few words."""
    named = say_vehicle(Vehicle(year=vehicle.year, make=vehicle.make, model=vehicle.model)) or "vehicle"
    parts = (named, vehicle.plate and f"plate {vehicle.plate}", vehicle.vin and f"VIN {vehicle.vin}", vehicle.customer)
    return ", ".join(part for part in parts if part)


def _orderless(desk: Desk) -> list[dict[str, str]]:
    """Walk-rounds still to be checked that belong to no order, the newest first."""
    listed = find_walkarounds(desk.store, state="to_check", limit=50)
    return [
        {"id": each.id, "text": " – ".join(text for text in (each.id, each.plate, each.vehicle) if text)}
        for each in listed
        if not each.order_number
    ]
