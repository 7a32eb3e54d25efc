"""What was offered, authorized and declined over a period, drawn for the owner and told in numbers."""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse
from markupsafe import Markup

from narrate.errors import UsageError
from narrate.export.sums_said import say_sum
from narrate.review.desk import desk_of
from narrate.review.offers_picture import PARTS, Month, legend, offers_picture
from narrate.review.signin import Person, needs
from narrate.store.offers import OfferedSum, offers, summed_by

router = APIRouter()
Owner = Annotated[Person, needs("owner")]
MONTHS = 12
MOST_MONTHS = 60
Day = Annotated[date | None, Query()]


@router.get("/offers")
def offered(request: Request, person: Owner, since: Day = None, until: Day = None) -> HTMLResponse:
    """A bar for each month, and a table of months and of systems."""
    desk = desk_of(request)
    last = until or date.today()
    first = since or _months_before(last, MONTHS - 1)
    if first > last or _months_between(first, last) > MOST_MONTHS:
        message = f"Choose days one after the other, at most {MOST_MONTHS} months apart."
        raise UsageError(message)
    sums = offers(desk.store, since=first, until=last, lexicon=desk.lexicon())
    currencies = sorted({each.currency for each in sums})
    asked = {
        "here": "estimates",
        "since": first.isoformat(),
        "until": last.isoformat(),
        "parts": [(part, Markup(legend(part))) for part, _ in PARTS],
        "currencies": [_shown(sums, currency, first, last) for currency in currencies],
    }
    return desk.templates.TemplateResponse(request, "offers.html", asked)


def _shown(sums: Sequence[OfferedSum], currency: str, first: date, last: date) -> dict[str, Any]:
    own = [each for each in sums if each.currency == currency]
    by_month = {each.month: each for each in summed_by(own, "month")}
    months = [_month(name, by_month.get(name)) for name in _names(first, last)]
    return {
        "currency": currency,
        "picture": Markup(offers_picture(months, currency)),
        "months": [_row(each.month, each) for each in by_month.values()],
        "systems": [_row(each.system.replace("_", " "), each) for each in summed_by(own, "system")],
    }


def _month(name: str, found: OfferedSum | None) -> Month:
    if found is None:
        return Month(name=name)
    return Month(name=name, authorized=found.authorized, declined=found.declined, waiting=found.waiting)


def _row(name: str, each: OfferedSum) -> dict[str, str]:
    sums = {key: say_sum(getattr(each, key), each.currency) for key in ("offered", "authorized", "declined", "waiting")}
    return {"name": name, "jobs": f"{each.jobs_authorized} of {each.jobs}", **sums}


def _names(first: date, last: date) -> Iterator[str]:
    for number in range(_months_between(first, last)):
        month = first.month - 1 + number
        yield f"{first.year + month // 12}-{month % 12 + 1:02}"


def _months_between(first: date, last: date) -> int:
    return (last.year - first.year) * 12 + last.month - first.month + 1


def _months_before(day: date, months: int) -> date:
    first = day.replace(day=1)
    for _ in range(months):
        first = (first - timedelta(days=1)).replace(day=1)
    return first
