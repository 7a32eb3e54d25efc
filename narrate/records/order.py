"""Order: what the shop knows about a visit before anyone speaks."""

from datetime import date, datetime
from typing import Literal

from narrate.records.base import Written


class OrderVehicle(Written):
    """The vehicle as written on the order."""

    vin: str | None = None
    plate: str | None = None
    year: int | None = None
    make: str | None = None
    model: str | None = None


class Customer(Written):
    """Who is to be told, and how to reach them."""

    name: str | None = None
    phone: str | None = None
    email: str | None = None


class Order(Written):
    """One order: number, vehicle, who works on it and what the customer complains of."""

    number: str | None = None
    technician: str | None = None
    market: Literal["us", "gb", "eu"] | None = None
    drive_side: Literal["left", "right"] | None = None
    vehicle: OrderVehicle = OrderVehicle()
    concerns: tuple[str, ...] = ()
    customer: Customer = Customer()
    promised: datetime | date | None = None
    """When the customer was told it would be done."""
    payer: str | None = None
    """Who pays; the customer unless said otherwise."""
    inspection: bool = False
    """Whether a full inspection is wanted: then what was never looked at is listed."""
