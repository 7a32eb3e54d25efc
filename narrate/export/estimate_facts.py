"""What a written estimate must state, and what it does state: each field told, or named as not stated."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from narrate.export.estimate_parts import PAYERS
from narrate.export.phrases import say_list
from narrate.export.sums_said import say_day, say_sum
from narrate.records.estimate import Estimate, Line
from narrate.words.place_rules import PlaceRules

NOT_STATED = "not stated"
OLD_PARTS = {
    "asked_back": "The customer wants the replaced parts back.",
    "not_asked_back": "The customer does not want the replaced parts back.",
    "not_stated": "",
}


@dataclass(frozen=True)
class Fact:
    """One thing stated: its name and what is known of it."""

    name: str
    text: str

    @property
    def missing(self) -> bool:
        """Whether nobody stated it."""
        return self.text == NOT_STATED


@dataclass(frozen=True)
class Facts:
    """What stands at the head of the paper, by whom or what it is about."""

    shop: tuple[Fact, ...]
    customer: tuple[Fact, ...]
    vehicle: tuple[Fact, ...]
    visit: tuple[Fact, ...]


Say = Callable[[Estimate], str]


def facts_of(estimate: Estimate, place: PlaceRules) -> Facts:
    """The facts known, and those that the place requires, as `not stated` where nobody stated them."""
    groups: dict[str, list[Fact]] = {"shop": [], "customer": [], "vehicle": [], "visit": []}
    for key, (group, name, say) in FIELDS.items():
        text = say(estimate)
        if text or key in place.required:
            groups[group].append(Fact(name, text or NOT_STATED))
    for key, (group, name, stated) in EITHER.items():
        if key in place.required and not stated(estimate):
            groups[group].append(Fact(name, NOT_STATED))
    # A field that this program does not know is asked for by name rather than left out.
    for key in place.required:
        if key not in {*FIELDS, *EITHER, *ELSEWHERE}:
            groups["visit"].append(Fact(_capital(key.replace("_", " ")), NOT_STATED))
    return Facts(**{name: tuple(facts) for name, facts in groups.items()})


def _entry(thing: str, key: str) -> Say:
    def say(estimate: Estimate) -> str:
        entries: Mapping[str, Any] = getattr(estimate, thing)
        told = entries.get(key)
        return "" if told in (None, "") else str(told)

    return say


def _odometer(estimate: Estimate) -> str:
    told = estimate.vehicle.get("odometer")
    if isinstance(told, Mapping):
        return f"{told.get('value')} {told.get('unit', '')}".strip()
    return str(told or "")


def _labor_basis(estimate: Estimate) -> str:
    rates = dict.fromkeys(line.unit_price for line in _lines(estimate) if line.kind == "labor" and line.unit == "h")
    if not rates:
        return str(estimate.shop.get("labor_basis") or "")
    said = say_list(tuple(say_sum(rate, estimate.currency) for rate in rates))
    return str(estimate.shop.get("labor_basis") or "hours of the price book, times the rate") + f": {said} an hour"


def _estimate_fee(estimate: Estimate) -> str:
    told = estimate.shop.get("estimate_fee")
    return "" if told in (None, "") else str(told)


def _payer(estimate: Estimate) -> str:
    payers = dict.fromkeys(job.payer for job in estimate.jobs)
    return "" if set(payers) <= {"customer"} else _capital(say_list(tuple(PAYERS[payer] for payer in payers)))


def _lines(estimate: Estimate) -> Iterable[Line]:
    return (line for job in estimate.jobs for choice in job.choices for line in choice.lines)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


FIELDS: dict[str, tuple[str, str, Say]] = {
    "shop_name": ("shop", "Shop", _entry("shop", "name")),
    "shop_address": ("shop", "Address", _entry("shop", "address")),
    "shop_phone": ("shop", "Telephone", _entry("shop", "phone")),
    "shop_email": ("shop", "E-mail", _entry("shop", "email")),
    "shop_registration": ("shop", "License or registration", _entry("shop", "licenses")),
    "customer_name": ("customer", "Customer", _entry("customer", "name")),
    "customer_address": ("customer", "Address", _entry("customer", "address")),
    "customer_phone": ("customer", "Telephone", _entry("customer", "phone")),
    "customer_email": ("customer", "E-mail", _entry("customer", "email")),
    "payer": ("customer", "Who pays", _payer),
    "year": ("vehicle", "Year", _entry("vehicle", "year")),
    "make": ("vehicle", "Make", _entry("vehicle", "make")),
    "model": ("vehicle", "Model", _entry("vehicle", "model")),
    "vin": ("vehicle", "Vehicle number (VIN)", _entry("vehicle", "vin")),
    "plate": ("vehicle", "Plate", _entry("vehicle", "plate")),
    "odometer": ("vehicle", "Distance on the clock", _odometer),
    "order_number": ("visit", "Order", lambda estimate: estimate.order_number or ""),
    "date": ("visit", "Estimate made", lambda estimate: say_day(estimate.made_at)),
    "expires": ("visit", "Prices hold until", lambda estimate: say_day(estimate.expires_on)),
    "complaint": ("visit", "What the customer told us", lambda estimate: "; ".join(estimate.concerns)),
    "promised": ("visit", "Promised for", lambda estimate: say_day(estimate.promised)),
    "labor_basis": ("visit", "How labor is charged", _labor_basis),
    "estimate_fee": ("visit", "Charge for this estimate", _estimate_fee),
    "old_parts": ("visit", "Replaced parts", lambda estimate: OLD_PARTS[estimate.old_parts]),
}
"""Key (of words/place_rules.REQUIRED, where a place may require it) -> whose it is, its name, what is said of it."""
EITHER: dict[str, tuple[str, str, Callable[[Estimate], bool]]] = {
    "customer_contact": (
        "customer",
        "Address, telephone or e-mail",
        lambda estimate: any(estimate.customer.get(key) for key in ("address", "phone", "email")),
    ),
    "plate_or_vin": (
        "vehicle",
        "Plate or vehicle number (VIN)",
        lambda estimate: any(estimate.vehicle.get(key) for key in ("plate", "vin")),
    ),
    "time": ("visit", "Time of the estimate", lambda estimate: len(estimate.made_at) > len("2026-11-27")),
}
"""Required fields that another one states, or one of several does."""
ELSEWHERE = frozenset(
    (
        *("job_description", "part_description", "part_quantity", "part_price", "part_condition", "part_maker"),
        *("labor_hours", "labor_rate", "labor_amount", "sublet", "supplies", "taxes", "total", "authorization"),
    )
)
"""Required fields that the jobs, the sums and the answer's own place on the paper state."""
