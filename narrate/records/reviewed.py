"""What people decided on a walkaround: each finding's review, corrected words, settled questions, the signature."""

from typing import Literal

from narrate.records.base import Kept

ReviewState = Literal["unreviewed", "confirmed", "corrected", "added", "dropped"]


class Review(Kept):
    """What a person decided about a finding."""

    state: ReviewState = "unreviewed"
    by: str | None = None
    at: str | None = None
    why: str | None = None
    was: ReviewState | None = None
    """Of a dropped one: its state before."""


class Edit(Kept):
    """A stretch of heard words and what was really said there; the words as heard stay as they are."""

    recording: str
    first_word: int
    last_word: int
    """Inclusive, of the recording as heard."""
    text: str
    """What a person put in its place; empty takes the words out."""
    cut: bool = False
    """Whether they are nobody's business outside the shop (bystanders' talk): neither words nor sound leave it."""
    by: str | None = None
    at: str | None = None


class Decision(Kept):
    """What a person decided about something that is no finding, so that it need not be asked again."""

    about: str
    """The id of a concern, an unplaced stretch or a suggestion; of a contradiction, its findings joined by `+`."""
    decided: Literal["settled", "not_looked_at", "nothing_in_it", "taken_up"]
    why: str | None = None
    by: str | None = None
    at: str | None = None


class Signed(Kept):
    """Who signed the list, and when."""

    by: str
    at: str
