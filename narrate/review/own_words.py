"""The shop's own words at the end of a review, and a reviewed walkaround as a case to measure by."""

from datetime import date
from typing import Annotated, Any

from fastapi import APIRouter, Body, Request
from fastapi.responses import Response
from pydantic import Field

from narrate.errors import NarrateError, UsageError
from narrate.export.cut_out import without_cuts
from narrate.records.base import Written
from narrate.review.desk import desk_of
from narrate.review.learning import Offer, offers
from narrate.review.signin import Person, needs
from narrate.score.as_case import case_of
from narrate.store.engine import Store
from narrate.store.own_words import change_own_words
from narrate.store.walkarounds import history, read_walkaround
from narrate.words.lexicon import Lexicon
from narrate.words.lint import lint
from narrate.words.load import load_lexicon
from narrate.words.meanings import OwnWord, tidy
from narrate.words.overlay import OwnWords, add, lay_over
from narrate.words.remarks import Remark
from narrate.words.shop import read_own_words

router = APIRouter()
Advisor = Annotated[Person, needs("advisor")]


class Accepted(Written):
    """An offer taken, its words as someone may have changed them."""

    words: Annotated[str, Field(min_length=1, max_length=80)]
    means: Annotated[str, Field(max_length=80)]
    kind: Annotated[str, Field(pattern="^(alias|heard)$")] = "alias"
    needs_context: bool = False


class Acceptance(Written):
    """What the page asks for: everything taken at once, or nothing."""

    accept: Annotated[tuple[Accepted, ...], Field(min_length=1, max_length=50)]


def heard_otherwise(store: Store, walkaround_id: str, lexicon: Lexicon | None = None) -> tuple[Offer, ...]:
    """What a walkaround's review teaches. `lexicon`: narrate's own. MissingError where there is no such walkaround."""
    return offers(
        read_walkaround(store, walkaround_id).walkaround,
        history(store, walkaround_id),
        lexicon=lexicon or load_lexicon(),
        own_words=read_own_words(store.folder),
    )


def take_words(store: Store, taken: tuple[OwnWord, ...], *, who: str) -> tuple[str, ...]:
    """Add own words, all or none; what of them may surprise someone, one sentence each.

    UsageError where one cannot mean that, or would make another name wrong.
    """
    lexicon = load_lexicon()

    def make(before: OwnWords) -> OwnWords:
        for own in taken:
            try:
                before = add(lexicon, before, own)
            except NarrateError as error:
                raise UsageError(str(error)) from error
        return before

    # Looking through all names takes a second, in which nobody should wait for the writer's lock.
    now = read_own_words(store.folder)
    known = set(lint(lay_over(lexicon, now).lexicon))
    new = [remark for remark in lint(lay_over(lexicon, make(now)).lexicon) if remark not in known]
    _refuse_errors(new)
    change_own_words(store, make, who=who, what="added")
    return tuple(f"{remark.message[0].upper()}{remark.message[1:]}." for remark in new)


@router.get("/api/walkarounds/{walkaround_id}/own-words")
def offered(request: Request, walkaround_id: str, person: Advisor) -> dict[str, Any]:
    """The words on offer."""
    told = heard_otherwise(desk_of(request).store, walkaround_id)
    return {
        "offers": [
            {
                "words": offer.words,
                "means": offer.means,
                "name": offer.name,
                "kind": offer.kind,
                "needs_context": offer.needs_context,
                "finding": offer.finding,
                "said": offer.said,
            }
            for offer in told
        ]
    }


@router.post("/api/walkarounds/{walkaround_id}/own-words")
def take(request: Request, walkaround_id: str, asked: Annotated[Acceptance, Body()], person: Advisor) -> dict[str, Any]:
    """Take words from a review into the shop's own, with where they came from."""
    store = desk_of(request).store
    read_walkaround(store, walkaround_id)
    note = f"{walkaround_id}, {date.today().isoformat()}"
    taken = tuple(
        OwnWord(
            words=tidy(each.words),
            means=each.means,
            kind="heard" if each.kind == "heard" else "alias",
            needs_context=each.needs_context,
            note=note,
        )
        for each in asked.accept
    )
    remarks = take_words(store, taken, who=person.name)
    return {"taken": len(taken), "remarks": list(remarks)}


@router.get("/walkarounds/{walkaround_id}/case.toml")
def case_file(request: Request, walkaround_id: str, person: Advisor) -> Response:
    """A reviewed walkaround as a case, for `narrate score`."""
    text = case_of(without_cuts(read_walkaround(desk_of(request).store, walkaround_id).walkaround))
    named = {"Content-Disposition": f'attachment; filename="{walkaround_id}.toml"'}
    return Response(text, media_type="application/toml", headers=named)


def _refuse_errors(remarks: list[Remark]) -> None:
    error = next((remark for remark in remarks if remark.level == "error"), None)
    if error:
        message = f"{error.message[0].upper()}{error.message[1:]}; nothing was taken over."
        raise UsageError(message)
