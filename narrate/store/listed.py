"""What a list of walkarounds shows of each, and what a search looks in."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from narrate.records.walkaround import Walkaround


def columns(walkaround: Walkaround, *, added_at: str) -> dict[str, Any]:
    """Return the columns of table `walkaround` that repeat parts of the record, so that a list need not read it."""
    kept = [finding for finding in walkaround.findings if finding.review.state != "dropped"]
    return {
        "findings": len(kept),
        "to_check": sum(finding.review.state == "unreviewed" for finding in kept),
        "order_number": storable(walkaround.order_number),
        "plate": storable(walkaround.vehicle.plate),
        "vehicle": storable(vehicle_text(walkaround)) or "",
        "technician": storable(walkaround.technician),
        "search": storable("\n".join(_searched(walkaround, added_at))),
    }


def vehicle_text(walkaround: Walkaround) -> str:
    """Return year, make and model, as far as they are known."""
    vehicle = walkaround.vehicle
    return " ".join(str(part) for part in (vehicle.year, vehicle.make, vehicle.model) if part)


def letters_and_digits(text: str) -> str:
    """Return a text's letters and digits alone, in small letters: how plates are compared."""
    return "".join(letter for letter in text.lower() if letter.isalnum())


def _searched(walkaround: Walkaround, added_at: str) -> Iterator[str]:
    vehicle = walkaround.vehicle
    for text in (walkaround.id, walkaround.order_number, vehicle.plate, vehicle.vin, vehicle_text(walkaround)):
        if text:
            yield text.lower()
    if vehicle.plate:
        yield letters_and_digits(vehicle.plate)
    if walkaround.technician:
        yield walkaround.technician.lower()
    # The day as the shop's clock had it, which near midnight is not the day in UTC.
    yield datetime.fromisoformat(added_at).astimezone().date().isoformat()
    yield from (each.recorded_at[:10] for each in walkaround.recordings if each.recorded_at)


def storable(text: str | None) -> str | None:
    """Return a text without NUL, which PostgreSQL does not take."""
    return None if text is None else text.replace("\0", "")
