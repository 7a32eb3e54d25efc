"""The shop's price book: what is in it, bringing one in (all its mistakes told), and taking it out."""

from typing import Annotated

from fastapi import APIRouter, Request, UploadFile
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from narrate.errors import MissingError, UsageError
from narrate.price.book_file import book_bytes, check_content
from narrate.review.desk import Desk, desk_of
from narrate.review.signin import Person, needs
from narrate.store.books import book_versions, has_book, keep_book, read_book
from narrate.words.place_rules import place_rules

router = APIRouter()
Advisor = Annotated[Person, needs("advisor")]
Owner = Annotated[Person, needs("owner")]
KINDS = ("operations", "parts", "fluids", "rates", "markups", "fees", "taxes", "minimums")
FILES = {
    "book.csv": "text/csv",
    "book.xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}
VERSIONS = 10
MOST_MISTAKES = 200
"""So many are shown at once; the file is mended and sent again."""


@router.get("/prices")
def prices(request: Request, person: Advisor, taken: str = "") -> HTMLResponse:
    """What the book holds."""
    return _page(request, person, taken=bool(taken))


@router.post("/prices/import")
async def bring_in(request: Request, person: Owner, file: UploadFile) -> Response:
    """Put a whole book in the place of the one before, or tell every mistake and change nothing."""
    content = await file.read()
    name = (file.filename or "The file").replace("\\", "/").rsplit("/", 1)[-1][:100]
    try:
        await run_in_threadpool(_take, desk_of(request), content, name, person.name)
    except UsageError as error:
        return await run_in_threadpool(_page, request, person, wrong=str(error))
    return RedirectResponse("/prices?taken=1", status_code=303)


@router.get("/prices/{name}")
def take_out(request: Request, name: str, person: Advisor) -> Response:
    """The book as a file that can be brought in again."""
    if name not in FILES:
        message = f"There is no file {name}; choose one on the page."
        raise MissingError(message)
    content = book_bytes(read_book(desk_of(request).store), xlsx=name.endswith(".xlsx"))
    headers = {"Content-Disposition": f'attachment; filename="price-{name}"'}
    return Response(content, media_type=FILES[name], headers=headers)


def _take(desk: Desk, content: bytes, name: str, who: str) -> None:
    checked = check_content(content, name, desk.lexicon())
    keep_book(desk.store, checked.book, who=who)


def _page(request: Request, person: Person, *, taken: bool = False, wrong: str = "") -> HTMLResponse:
    desk = desk_of(request)
    book = read_book(desk.store) if has_book(desk.store) else None
    mistakes = wrong.splitlines()
    asked = {
        "here": "estimates",
        "book": book,
        "place": place_rules(book.place) if book else None,
        "counts": [(kind, len(getattr(book, kind))) for kind in KINDS] if book else [],
        "versions": book_versions(desk.store, limit=VERSIONS),
        "taken": taken,
        "mistakes": mistakes[:MOST_MISTAKES],
        "more": max(0, len(mistakes) - MOST_MISTAKES),
        "may_change": person.role == "owner",
    }
    return desk.templates.TemplateResponse(request, "prices.html", asked, status_code=422 if wrong else 200)
