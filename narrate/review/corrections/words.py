"""Words corrected, or cut out: found again from the corrected words, with all that a person decided kept as it is.

Evidence keeps counting the words as heard, which never change.
"""

from collections.abc import Callable, Iterable, Sequence
from typing import Any, TypeVar

from narrate.errors import UsageError
from narrate.find.edited import as_heard, edited_recording
from narrate.records.recording import Recording
from narrate.records.reviewed import Edit
from narrate.records.walkaround import Evidence, Walkaround
from narrate.review.corrections.asked import AskCutOut, WordsAsked
from narrate.review.corrections.found_again import taken_over, words_of

Find = Callable[[Sequence[Recording]], Walkaround]
Evidenced = TypeVar("Evidenced", bound=Any)


DECIDED = ("confirmed", "corrected", "added")


def change_words(walkaround: Walkaround, asked: WordsAsked, *, by: str, at: str, find: Find) -> Walkaround:
    """The walkaround with a stretch of words corrected or cut out, and found again from them.

    Raises UsageError for words that are not there, or that are to be cut out from under a finding decided on.
    """
    if isinstance(asked, AskCutOut):
        _check_cut(walkaround, asked)
    edits = with_edit(walkaround, asked, by, at)
    if edits == walkaround.edits:
        return walkaround
    return find_again(walkaround.model_copy(update={"edits": edits}), find)


def with_edit(walkaround: Walkaround, asked: WordsAsked, by: str, at: str) -> tuple[Edit, ...]:
    """The edits with one more, in the place of those that lie under it; none where it says what was heard."""
    recording = next((r for r in walkaround.recordings if r.id == asked.recording), None)
    if recording is None or not asked.first_word <= asked.last_word < len(recording.words):
        message = f"Recording {asked.recording} has no words {asked.first_word} to {asked.last_word}; mark them again."
        raise UsageError(message)
    kept = []
    for edit in walkaround.edits:
        apart = edit.last_word < asked.first_word or asked.last_word < edit.first_word
        if edit.recording != asked.recording or apart:
            kept.append(edit)
        elif edit.first_word < asked.first_word or asked.last_word < edit.last_word:
            message = "Part of these words was corrected before; mark the whole of that correction."
            raise UsageError(message)
    heard = " ".join(word.text for word in recording.words[asked.first_word : asked.last_word + 1])
    text, cut = ("", True) if isinstance(asked, AskCutOut) else (asked.text, False)
    place = asked.model_dump(include={"recording", "first_word", "last_word"})
    edit = Edit(**place, text=text, cut=cut, by=by, at=at)
    if any(edit == each.model_copy(update={"by": by, "at": at}) for each in walkaround.edits):
        return walkaround.edits
    if text != heard:
        kept.append(edit)
    return tuple(sorted(kept, key=lambda edit: (edit.recording, edit.first_word)))


def _check_cut(walkaround: Walkaround, asked: AskCutOut) -> None:
    """A finding that a person decided on keeps its words; what it says may come from those to be cut out."""
    cut = {(asked.recording, number) for number in range(asked.first_word, asked.last_word + 1)}
    for finding in walkaround.findings:
        if finding.review.state in DECIDED and words_of(finding) & cut:
            message = (
                f"{finding.id} ({finding.component.name}) was decided on and rests on some of these words; mark fewer "
                "words, or drop it first."
            )
            raise UsageError(message)


def find_again(walkaround: Walkaround, find: Find) -> Walkaround:
    """Find from the words as corrected; what a person decided on stays, and what comes out the same keeps its id."""
    return taken_over(walkaround, found_in_edited(walkaround, find))


def found_in_edited(walkaround: Walkaround, find: Find) -> Walkaround:
    """What is found from the words as corrected, under ids of its own; its evidence counts words as heard."""
    laid = [edited_recording(recording, walkaround.edits) for recording in walkaround.recordings]
    found = find([recording for recording, _ in laid])
    maps = {recording.id: heard for recording, heard in laid}
    recordings = {recording.id: recording for recording in walkaround.recordings}

    def heard_under(pieces: Iterable[Evidence]) -> tuple[Evidence, ...]:
        return tuple(as_heard(piece, maps[piece.recording], recordings[piece.recording]) for piece in pieces)

    def anchored(things: Iterable[Evidenced]) -> tuple[Evidenced, ...]:
        return tuple(each.model_copy(update={"evidence": heard_under(each.evidence)}) for each in things)

    heading = (each.model_copy(update={"evidence": heard_under((each.evidence,))[0]}) for each in found.heading)
    return found.model_copy(
        update={
            "recordings": walkaround.recordings,
            "findings": anchored(found.findings),
            "concerns": anchored(found.concerns),
            "unplaced": anchored(found.unplaced),
            "suggestions": anchored(found.suggestions),
            "heading": tuple(heading),
        }
    )
