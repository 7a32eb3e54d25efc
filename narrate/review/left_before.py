"""What was declined, put off or to be watched when the vehicle was here before, as the pages tell it."""

from urllib.parse import quote

from narrate.export.phrases import say_amount
from narrate.export.sums_said import say_day, say_sum
from narrate.review.desk import Desk
from narrate.store.left_over import LeftOver, declined_of
from narrate.store.vehicles import vehicle_of
from narrate.store.walkarounds import read_walkaround

KINDS = {"declined": "declined", "decide_by": "put off", "watched": "to be watched"}


def left_before(desk: Desk, walkaround_id: str) -> list[dict[str, str]]:
    """One sentence each, and where to look: at what is found of it now, else at the walk-round of that time."""
    vehicle = vehicle_of(desk.store, walkaround_id)
    if vehicle is None:
        return []
    now = read_walkaround(desk.store, walkaround_id).walkaround
    return [_told(each, walkaround_id) for each in declined_of(desk.store, vehicle, now=now)]


def _told(left: LeftOver, walkaround_id: str) -> dict[str, str]:
    finding = next(iter(left.found_now), None)
    address = f"/walkarounds/{walkaround_id if finding else left.walkaround}"
    about = finding or next(iter(left.finding_ids), None)
    return {
        "text": _sentence(left),
        "link": address + (f"#{quote(f'finding {about}')}" if about else ""),
        "link_text": "what is found of it now" if finding else "what was found then; nothing now",
    }


def _sentence(left: LeftOver) -> str:
    then = say_day(left.at[:10])
    parts = [f"{left.title}: {KINDS[left.kind]} on {then}"]
    if left.amount is not None and left.currency:
        parts.append(f"offered for {say_sum(left.amount, left.currency)}")
    if left.decide_by_date:
        parts.append(f"to be decided by {say_day(left.decide_by_date)}")
    measured = ", ".join(
        " ".join(word for word in (say_amount(each.value, each.unit, high=each.high), each.location) if word)
        for each in left.measurements
    )
    if measured:
        parts.append(f"measured then: {measured}")
    if left.odometer:
        parts.append(f"at {left.odometer.value} {left.odometer.unit}")
    return "; ".join(parts) + "."
