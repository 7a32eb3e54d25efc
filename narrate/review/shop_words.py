"""The shop's own words on the Shop page: added, hidden, taken home as CSV and brought back."""

from typing import Annotated

from fastapi import APIRouter, Form, HTTPException, Request, UploadFile
from fastapi.responses import RedirectResponse, Response

from narrate.errors import NarrateError, UsageError
from narrate.review.desk import desk_of
from narrate.review.own_words import take_words
from narrate.review.shop_view import Owner, show
from narrate.store.own_words import change_own_words
from narrate.words.load import load_lexicon
from narrate.words.meanings import OwnWord, tidy
from narrate.words.overlay import OwnWords, hide, lay_over, still_inside
from narrate.words.shop import imported, own_words_csv, read_own_words, tidy_note

router = APIRouter()
Field = Annotated[str, Form(max_length=200)]
MOST_BYTES = 2_000_000
"""Of a CSV."""


@router.post("/shop/words")
def add_words(
    request: Request,
    person: Owner,
    words: Field,
    means: Field,
    kind: Field = "alias",
    needs_context: Field = "",
    note: Field = "",
) -> Response:
    """Add words for a component, condition or action, told by its id or name."""
    try:
        own = OwnWord(
            words=tidy(words),
            means=meant(means),
            kind="heard" if kind == "heard" else "alias",
            needs_context=bool(needs_context),
            note=tidy_note(note),
        )
        remarks = take_words(desk_of(request).store, (own,), who=person.name)
    except NarrateError as error:
        typed = {"words": words, "means": means, "note": note}
        return show(request, person, wrong=str(error), place="words", form=typed)
    return show(request, person, said=" ".join((f"“{own.words}” now means {own.means}.", *remarks)), place="words")


@router.post("/shop/words/hide")
def hide_words(request: Request, person: Owner, words: Field, means: Field) -> Response:
    """Take words off the list or, where they are narrate's own, hide them."""
    lexicon = load_lexicon()
    try:
        own = OwnWord(words=tidy(words), means=meant(means), kind="hide")
        after = change_own_words(
            desk_of(request).store, lambda before: hide(lexicon, before, own), who=person.name, what="hidden"
        )
    except NarrateError as error:
        return show(request, person, wrong=str(error), place="words", form={"words": words, "means": means})
    said = f"“{own.words}” no longer means {own.means}."
    inside = still_inside(lay_over(lexicon, after).lexicon, own)
    if inside:
        said += f" Whoever says it may still be understood so: “{inside}” in it means {own.means} too."
    return show(request, person, said=said, place="words")


@router.get("/shop/words.csv")
def words_file(request: Request, person: Owner) -> Response:
    """The own words as CSV."""
    content = own_words_csv(read_own_words(desk_of(request).store.folder))
    named = {"Content-Disposition": 'attachment; filename="words.csv"'}
    return Response(content, media_type="text/csv; charset=utf-8", headers=named)


@router.post("/shop/words/import")
def import_words(request: Request, person: Owner, file: UploadFile) -> Response:
    """Replace the own words by those of a CSV, if every row of it is right."""
    content = file.file.read(MOST_BYTES + 1)
    if len(content) > MOST_BYTES:
        raise HTTPException(413, f"A CSV of words may have {MOST_BYTES // 1_000_000} MB.")

    def make(before: OwnWords) -> OwnWords:
        return imported(content, "The file", load_lexicon())

    try:
        change_own_words(desk_of(request).store, make, who=person.name, what="imported")
    except NarrateError as error:
        return show(request, person, wrong=str(error), place="words")
    return RedirectResponse("/shop#words", 303)


def meant(text: str) -> str:
    """The id that is meant by an id or a name; what is neither stays as it is, to be refused by its own sentence."""
    lexicon, text = load_lexicon(), " ".join(text.split())
    ids = {*lexicon.components, *lexicon.conditions, *lexicon.actions}
    if text in ids:
        return text
    words = tuple(text.lower().split())
    named = {
        phrase.id
        for phrase in lexicon.phrases()
        if phrase.words == words and phrase.family in ("component", "condition", "action") and phrase.how != "short"
    }
    if len(named) > 1:
        message = f"“{text}” may be {' or '.join(sorted(named))}; write which."
        raise UsageError(message)
    return next(iter(named), text)
