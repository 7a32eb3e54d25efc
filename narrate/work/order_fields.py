"""An order from what someone typed field by field, in a form or in a row of a CSV."""

import re
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime
from typing import NamedTuple

from narrate.records.order import Customer, Order, OrderVehicle

FIELDS = (
    "number",
    "customer",
    "phone",
    "email",
    "plate",
    "vin",
    "year",
    "make",
    "model",
    "promised",
    "technician",
    "payer",
    "inspection",
)
"""Every field but the concerns."""
LONGEST = {"number": 80, "plate": 40}
"""Characters a field may have, where it is not `LONGEST_TEXT`."""
LONGEST_TEXT = 200
LONGEST_CONCERN = 2000
MOST_CONCERNS = 50
FIRST_YEAR = 1886
"""Of the first car."""
VIN_LENGTH = 17
ANSWERS = {"": False, "no": False, "n": False, "false": False, "0": False} | {
    "yes": True,
    "y": True,
    "true": True,
    "1": True,
}


class Mistake(NamedTuple):
    """What is wrong with one field, to be read behind the field's name."""

    field: str
    why: str


class Typed(NamedTuple):
    """The order, or what is wrong with it; one of the two."""

    order: Order | None
    mistakes: tuple[Mistake, ...] = ()


class _WrongError(Exception):
    """A field that cannot be read, and why."""


def order_from_fields(fields: Mapping[str, str], concerns: Sequence[str] = ()) -> Typed:
    """Read every field; a missing one is empty. All mistakes are told, in the order of `FIELDS`."""
    values: dict[str, object] = {}
    mistakes: list[Mistake] = []
    for field in FIELDS:
        read = _READERS.get(field, str)
        try:
            text = _clean(fields.get(field, ""), LONGEST.get(field, LONGEST_TEXT))
            # Whether an inspection is wanted is the one field that is no text when it is empty.
            values[field] = read(text) if text or field == "inspection" else None
        except _WrongError as wrong:
            mistakes.append(Mistake(field, str(wrong)))
    told: tuple[str, ...] = ()
    try:
        told = _concerns(concerns)
    except _WrongError as wrong:
        mistakes.append(Mistake("concerns", str(wrong)))
    if not mistakes and not any(values[field] for field in ("number", "customer", "plate", "vin")):
        mistakes.append(Mistake("number", "number, customer, plate and vin are all empty; fill in one of them."))
    return Typed(None, tuple(mistakes)) if mistakes else Typed(_order(values, told))


def fields_of(order: Order) -> dict[str, str]:
    """The fields that give this order, concerns apart: what a form shows to be changed."""
    vehicle, customer, promised = order.vehicle, order.customer, order.promised
    shown = {
        "number": order.number,
        "customer": customer.name,
        "phone": customer.phone,
        "email": customer.email,
        "plate": vehicle.plate,
        "vin": vehicle.vin,
        "year": vehicle.year,
        "make": vehicle.make,
        "model": vehicle.model,
        "promised": promised and promised_text(promised),
        "technician": order.technician,
        "payer": order.payer,
        "inspection": "yes" if order.inspection else "no",
    }
    return {field: str(value or "") for field, value in shown.items()}


def promised_text(promised: datetime | date) -> str:
    """A promise as people write it: a day, or a day and a time on the shop's clock.

    >>> promised_text(datetime(2026, 11, 27, 17, 0)), promised_text(date(2026, 11, 27))
    ('2026-11-27 17:00', '2026-11-27')
    """
    if not isinstance(promised, datetime):
        return promised.isoformat()
    local = promised.astimezone() if promised.tzinfo else promised
    return f"{local:%Y-%m-%d %H:%M}"


def _order(values: Mapping[str, object], concerns: tuple[str, ...]) -> Order:
    vehicle = {field: values[field] for field in ("vin", "plate", "year", "make", "model")}
    customer = {"name": values["customer"], "phone": values["phone"], "email": values["email"]}
    others = {field: values[field] for field in ("number", "technician", "promised", "payer", "inspection")}
    return Order.model_validate(
        {
            **others,
            "vehicle": OrderVehicle.model_validate(vehicle),
            "customer": Customer.model_validate(customer),
            "concerns": concerns,
        }
    )


def _clean(text: str, longest: int) -> str:
    text = " ".join(text.split())
    if any(unicodedata.category(letter) in ("Cc", "Cs") for letter in text):
        message = "holds a control character; type it again."
        raise _WrongError(message)
    if len(text) > longest:
        message = f"is longer than {longest} characters; shorten it."
        raise _WrongError(message)
    return text


def _concerns(concerns: Sequence[str]) -> tuple[str, ...]:
    told = tuple(dict.fromkeys(text for concern in concerns if (text := _clean(concern, LONGEST_CONCERN))))
    if len(told) > MOST_CONCERNS:
        message = f"has more than {MOST_CONCERNS}; put those that belong together into one."
        raise _WrongError(message)
    return told


def _vin(text: str) -> str:
    vin = re.sub(r"[\s‐‑–—−-]", "", text).upper()
    if not re.fullmatch("[A-Z0-9]{1,17}", vin):
        message = f"'{text}' has other than letters and digits, or more than {VIN_LENGTH} of them; correct it."
        raise _WrongError(message)
    # Cars older than model year 1981 have shorter numbers, by no rule.
    if len(vin) == VIN_LENGTH and set("IOQ") & set(vin):
        message = f"'{text}' has an I, O or Q, which no VIN has; read it again (1 and 0 are meant)."
        raise _WrongError(message)
    return vin


def _year(text: str) -> int:
    newest = date.today().year + 2
    if not re.fullmatch("[0-9]{4}", text) or not FIRST_YEAR <= int(text) <= newest:
        message = f"'{text}' is no model year; write four digits, {FIRST_YEAR} to {newest}."
        raise _WrongError(message)
    return int(text)


def _promised(text: str) -> datetime | date:
    try:
        return date.fromisoformat(text) if len(text) == len("2026-11-27") else datetime.fromisoformat(text)
    except ValueError as error:
        message = f"'{text}' is no day; write it as 2026-11-27, or 2026-11-27 17:00."
        raise _WrongError(message) from error


def _inspection(text: str) -> bool:
    if text.lower() not in ANSWERS:
        message = f"'{text}' is neither yes nor no; write one of them or leave it empty."
        raise _WrongError(message)
    return ANSWERS[text.lower()]


def _email(text: str) -> str:
    if not re.fullmatch(r"[^@\s]+@[^@\s]+", text):
        message = f"'{text}' is no e-mail address; write it with one @ and no blanks."
        raise _WrongError(message)
    return text


def _with_digit(kind: str) -> Callable[[str], str]:
    def read(text: str) -> str:
        if not any(letter.isdigit() for letter in text):
            message = f"'{text}' has no digit; write a {kind}."
            raise _WrongError(message)
        return text

    return read


def _plate(text: str) -> str:
    if not any(letter.isalnum() for letter in text):
        message = f"'{text}' has no letter or digit; write the plate as it stands on the vehicle."
        raise _WrongError(message)
    return text


_READERS: dict[str, Callable[[str], object]] = {
    "vin": _vin,
    "year": _year,
    "promised": _promised,
    "inspection": _inspection,
    "email": _email,
    "phone": _with_digit("telephone number"),
    "plate": _plate,
}
