"""One correction made: the record changed, judged again and put in order."""

from collections.abc import Callable, Sequence
from typing import Any

from narrate.errors import UsageError
from narrate.judge.numbering import with_ids_used
from narrate.judge.review_order import order_for_review
from narrate.records.recording import Recording
from narrate.records.walkaround import Walkaround
from narrate.review.corrections import around, whole
from narrate.review.corrections.asked import (
    AskAdd,
    AskConcern,
    AskConfirm,
    AskDecide,
    AskDrop,
    Asked,
    AskHead,
    AskMerge,
    AskNothingIn,
    AskOdometer,
    AskReopen,
    AskRestore,
    AskSign,
    AskSplit,
    AskYear,
    WordsAsked,
)
from narrate.review.corrections.fields import correct_field
from narrate.review.corrections.words import change_words
from narrate.words.lexicon import Lexicon

Again = Callable[[Walkaround], Walkaround]
"""Judges a walkaround: `pipeline.judge_walkaround` with settings, lexicon, order and previous visit given."""
Find = Callable[[Sequence[Recording]], Walkaround]
"""Finds from words: `pipeline.process_words` with settings, lexicon and order given."""


def apply(
    walkaround: Walkaround,
    asked: Asked,
    *,
    lexicon: Lexicon,
    by: str,
    at: str,
    again: Again,
    find: Find | None = None,
) -> Walkaround:
    """The walkaround with what was asked, judged again; `at` is ISO 8601. The very same where nothing changes.

    `find` is needed only for words corrected or cut out: other corrections take milliseconds.
    Raises UsageError for what cannot be, ConflictError where someone else changed it since the page showed it.
    """
    if walkaround.signed and not isinstance(asked, AskReopen | AskSign):
        message = f"This list was signed by {walkaround.signed.by}; reopen it before you change anything."
        raise UsageError(message)
    if isinstance(asked, WordsAsked):
        if find is None:
            message = "Words cannot be corrected here."
            raise UsageError(message)
        changed = change_words(walkaround, asked, by=by, at=at, find=find)
    elif type(asked) in _WHOLE:
        changed = _WHOLE[type(asked)](walkaround, asked, lexicon, by, at)
    else:
        changed = correct_field(walkaround, asked, lexicon, by, at)  # type: ignore[arg-type]
    if changed == walkaround:
        return walkaround
    if isinstance(asked, AskConfirm | AskSign | AskReopen | AskDecide | AskNothingIn):
        # Nothing that is judged by.
        return with_ids_used(changed, walkaround)
    return order_for_review(again(with_ids_used(changed, walkaround)))


_WHOLE: dict[type, Callable[[Walkaround, Any, Lexicon, str, str], Walkaround]] = {
    AskConfirm: whole.confirm,
    AskDrop: whole.drop,
    AskRestore: whole.restore,
    AskAdd: whole.add,
    AskSplit: whole.split,
    AskMerge: whole.merge,
    AskDecide: around.decide,
    AskNothingIn: around.nothing_in,
    AskConcern: around.concern,
    AskHead: around.head,
    AskYear: around.head,
    AskOdometer: around.head,
    AskSign: around.sign,
    AskReopen: around.reopen,
}
