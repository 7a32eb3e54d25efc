"""The form of what a walk-round's order and vehicle are: its lines, and what is asked by what was typed."""

import re
from collections.abc import Mapping
from typing import Any

from narrate.errors import UsageError
from narrate.review.corrections.asked import Asked, parse

LINES = (
    ("order_number", "Order number"),
    ("technician", "Technician"),
    ("plate", "Plate"),
    ("vin", "Vehicle number (VIN)"),
    ("year", "Year"),
    ("make", "Make"),
    ("model", "Model"),
    ("odometer", "Distance on the clock"),
)
_YEAR = re.compile(r"(1[89]|20|21)[0-9]{2}")
# A dot before three digits may be the thousands of one country or the decimals of another.
_DISTANCE = re.compile(r"([0-9]{1,3}(?:[, ][0-9]{3})+|[0-9]{1,9})(\.[0-9]{1,2})?\s*(mi|km)", re.IGNORECASE)


def changes_asked(form: Mapping[str, str]) -> list[Asked]:
    """What the form asks to be changed: the lines that are not as they were shown (`seen_…`).

    Raises UsageError for a line that cannot be read; nothing is asked then.
    """
    asked = []
    for field, _ in LINES:
        if is_changed(form, field):
            to, seen = _typed(field, form[field]), _shown(field, _seen(form, field))
            asked.append(parse({"do": "head", "field": field, "to": to, "seen": seen}))
    return asked


def lines_shown(head: Mapping[str, Any], form: Mapping[str, str] | None = None) -> list[tuple[str, str, str, str]]:
    """Each line as (field, label, what stands in it, what it is now); what was typed and not kept stands there."""
    shown = []
    for field, label in LINES:
        now = "" if head[field] is None else str(head[field])
        typed = form[field] if form and is_changed(form, field) else now
        shown.append((field, label, typed, now))
    return shown


def is_changed(form: Mapping[str, str], field: str) -> bool:
    """Whether a line was typed anew."""
    return field in form and form[field] != _seen(form, field)


def _seen(form: Mapping[str, str], field: str) -> str:
    return form.get(f"seen_{field}", "")


def _typed(field: str, text: str) -> Any:  # noqa: ANN401 - what the correction wants for this field
    if field == "year" and text and not _YEAR.fullmatch(text):
        message = f"“{_short(text)}” is no year; type four digits."
        raise UsageError(message)
    if field == "odometer" and text and not _DISTANCE.fullmatch(text):
        message = f"“{_short(text)}” is no distance; type it with its unit, as in 48210 mi."
        raise UsageError(message)
    return _shown(field, text)


def _shown(field: str, text: str) -> Any:  # noqa: ANN401 - as above
    if field == "year" and text.isascii() and text.isdigit() and len(text) <= len("2026"):
        return int(text)
    if field == "odometer" and text:
        value, unit = text[:-2], text[-2:]
        return {"value": re.sub("[, ]", "", value), "unit": unit.lower()}
    return text or None


def _short(text: str) -> str:
    return text if len(text) <= 40 else f"{text[:40]}…"
