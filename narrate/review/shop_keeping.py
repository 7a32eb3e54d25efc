"""How long things are kept, on the Shop page."""

from typing import Annotated

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from narrate.errors import UsageError
from narrate.review.desk import desk_of
from narrate.review.shop_view import Owner, show
from narrate.store.forget_plan import ALL
from narrate.store.retention import set_retention

router = APIRouter()
Days = Annotated[str, Form(max_length=10)]


@router.post("/shop/keeping")
def set_keeping(request: Request, person: Owner, audio: Days = "", words: Days = "", estimates: Days = "") -> Response:
    """Set after how many days each kind is forgotten; an empty field keeps it until someone forgets it."""
    typed = dict(zip(ALL, (audio.strip(), words.strip(), estimates.strip()), strict=True))
    try:
        set_retention(desk_of(request).store, {kind: _days(text) for kind, text in typed.items()}, who=person.name)
    except UsageError as error:
        form = {f"keep_{kind}": text for kind, text in typed.items()}
        return show(request, person, wrong=str(error), place="keeping", form=form)
    return RedirectResponse("/shop#keeping", 303)


def _days(text: str) -> int | None:
    if not text:
        return None
    if not (text.isascii() and text.isdigit()):
        message = f"“{text}” is no number of days; write 90, or leave it empty."
        raise UsageError(message)
    return int(text)
