"""The shop's own words, changed from the page: the same file as `narrate lexicon`, with who changed it as an event."""

from collections.abc import Callable

from narrate.atomic import write_atomically
from narrate.errors import StoreError
from narrate.records.event import Change
from narrate.store import events
from narrate.store.engine import Store
from narrate.words.meanings import OwnWord
from narrate.words.overlay import OwnWords
from narrate.words.shop import own_words_csv, own_words_file, read_own_words

STREAM = "own_words"


def change_own_words(store: Store, make: Callable[[OwnWords], OwnWords], *, who: str, what: str) -> OwnWords:
    """Keep what `make` makes of the own words, as one event; none where it changes nothing.

    What `make` raises leaves everything as it was. Raises StoreError where the file cannot be written.
    """
    # The writer's lock keeps two people from overwriting each other's words, though they lie in a file.
    with store.writing() as connection:
        before = read_own_words(store.folder)
        after = make(before)
        if after == before:
            return before
        changes = [Change(kind="own_words", before=_told(own)) for own in before if own not in after]
        changes += [Change(kind="own_words", after=_told(own)) for own in after if own not in before]
        body = {"changes": [change.model_dump(mode="json") for change in changes]}
        events.append(connection, stream=STREAM, who=who, what=what, body=body)
        try:
            write_atomically(own_words_file(store.folder), own_words_csv(after))
        except OSError as error:
            message = f"{own_words_file(store.folder)} cannot be written ({error.strerror}); check its permissions."
            raise StoreError(message) from error
    return after


def _told(own: OwnWord) -> dict[str, object]:
    return {
        "words": own.words,
        "means": own.means,
        "kind": own.kind,
        "needs_context": own.needs_context,
        "note": own.note,
    }
