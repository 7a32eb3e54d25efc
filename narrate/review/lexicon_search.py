"""What the pickers of the page offer for a few letters typed."""

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request

from narrate.review.desk import desk_of
from narrate.review.signin import needs
from narrate.words.search import Sort, search_names

router = APIRouter(dependencies=[needs("technician")])
LONGEST_QUERY = 80


@router.get("/api/names/{sort}")
def names(
    request: Request, sort: Sort, q: Annotated[str, Query(max_length=LONGEST_QUERY)] = "", market: str = "us"
) -> list[dict[str, Any]]:
    """Components, conditions or actions that the letters may stand for, the likeliest first."""
    found = search_names(desk_of(request).lexicon(), sort, q, market=market)
    return [{"id": match.id, "name": match.name, "by": match.by} for match in found]


@router.get("/api/units")
def units(request: Request) -> dict[str, list[str]]:
    """Each unit and the words for it, so that a typed number can be read."""
    spoken: dict[str, list[str]] = {}
    for entry in desk_of(request).lexicon().units.values():
        spoken.setdefault(entry.symbol, []).extend(entry.words)
    return spoken
