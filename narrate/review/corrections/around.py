"""What is no finding: decisions, concerns, the job's and the vehicle's own lines, and the signature."""

from typing import Any

from narrate.errors import UsageError
from narrate.find.concerns import list_concerns
from narrate.find.heading_values import FIELDS, OF_THE_VISIT
from narrate.find.vocabulary import vocabulary
from narrate.judge.numbering import new_ids
from narrate.judge.unsettled import what_blocks
from narrate.records.reviewed import Decision, Signed
from narrate.records.walkaround import Odometer, Walkaround
from narrate.review.corrections.asked import AskConcern, AskDecide, AskNothingIn, AskReopen, AskSign, HeadAsked
from narrate.review.corrections.checks import same_as_seen
from narrate.words.lexicon import Lexicon


def decide(walkaround: Walkaround, asked: AskDecide, lexicon: Lexicon, by: str, at: str) -> Walkaround:
    """Note what a person decided about it, in the place of what was decided before."""
    may = _may_be_decided(walkaround, asked.about)
    if not may:
        message = f"There is nothing named {asked.about} to decide about any more; load the page again."
        raise UsageError(message)
    kept = tuple(d for d in walkaround.decisions if d.about != asked.about)
    if asked.decided is None:
        return walkaround.model_copy(update={"decisions": kept})
    if asked.decided not in may:
        said = " or ".join(each.replace("_", " ") for each in may)
        message = f"Of this it can be said only: {said}."
        raise UsageError(message)
    new = Decision(about=asked.about, decided=asked.decided, why=asked.why, by=by, at=at)
    old = next((d for d in walkaround.decisions if d.about == asked.about), None)
    if old and (old.decided, old.why) == (new.decided, new.why):
        return walkaround
    return walkaround.model_copy(update={"decisions": (*kept, new)})


def nothing_in(walkaround: Walkaround, asked: AskNothingIn, lexicon: Lexicon, by: str, at: str) -> Walkaround:
    """Note of several stretches that fitted nowhere that there is nothing in them; what was decided of one stays."""
    known = {stretch.id for stretch in walkaround.unplaced}
    gone = next((each for each in asked.unplaced if each not in known), None)
    if gone:
        message = f"There are no words {gone} among those that fit nowhere any more; load the page again."
        raise UsageError(message)
    decided = {decision.about for decision in walkaround.decisions}
    left = (each for each in dict.fromkeys(asked.unplaced) if each not in decided)
    new = tuple(Decision(about=each, decided="nothing_in_it", by=by, at=at) for each in left)
    return walkaround.model_copy(update={"decisions": (*walkaround.decisions, *new)}) if new else walkaround


def _may_be_decided(walkaround: Walkaround, about: str) -> tuple[str, ...]:
    if any(concern.id == about for concern in walkaround.concerns):
        return "not_looked_at", "settled"
    if any(stretch.id == about for stretch in walkaround.unplaced):
        return ("nothing_in_it",)
    if any("+".join(each.between) == about for each in walkaround.contradictions):
        return ("settled",)
    return ("nothing_in_it",) if any(each.id == about for each in walkaround.suggestions) else ()


def concern(walkaround: Walkaround, asked: AskConcern, lexicon: Lexicon, by: str, at: str) -> Walkaround:
    """A concern that was told to the advisor, like those written on the order."""
    if any(each.text.casefold() == asked.text.casefold() for each in walkaround.concerns):
        message = "This concern is listed already."
        raise UsageError(message)
    [made] = list_concerns((asked.text,), vocabulary(lexicon))
    made = made.model_copy(update={"id": next(new_ids(walkaround, "c"))})
    return walkaround.model_copy(update={"concerns": (*walkaround.concerns, made)})


def head(walkaround: Walkaround, asked: HeadAsked, lexicon: Lexicon, by: str, at: str) -> Walkaround:
    """A line of the head as a person says it is; what was suggested about it is settled by that."""
    of_visit = asked.field in OF_THE_VISIT
    present = getattr(walkaround if of_visit else walkaround.vehicle, asked.field)
    to: Any = asked.to
    seen: Any = asked.seen
    if asked.field == "odometer":
        to, seen = (Odometer(**each.model_dump()) if each else None for each in (asked.to, asked.seen))
    if same_as_seen(_told(present), _told(seen), _told(to), FIELDS[asked.field], None):
        return walkaround
    begins = f"The {FIELDS[asked.field]} is "
    about = [s.id for s in walkaround.suggestions if s.kind == "heading" and s.text.startswith(begins)]
    kept = tuple(d for d in walkaround.decisions if d.about not in about)
    taken = tuple(Decision(about=each, decided="taken_up", by=by, at=at) for each in about)
    changed: dict[str, Any] = {"decisions": (*kept, *taken)}
    if of_visit:
        changed[asked.field] = to
    else:
        changed["vehicle"] = walkaround.vehicle.model_copy(update={asked.field: to})
    return walkaround.model_copy(update=changed)


def _told(value: str | int | Odometer | None) -> str | None:
    if isinstance(value, Odometer):
        return f"{value.value:f} {value.unit}"
    return None if value is None else str(value)


def sign(walkaround: Walkaround, asked: AskSign, lexicon: Lexicon, by: str, at: str) -> Walkaround:
    """The list is right and whole, says this person. Refused while anything is to be settled."""
    if walkaround.signed:
        return walkaround
    waiting = what_blocks(walkaround)
    if waiting:
        more = f" and {len(waiting) - 1} more" if len(waiting) > 1 else ""
        message = f"This cannot be signed yet: {waiting[0].text.rstrip('.')}{more}."
        raise UsageError(message)
    return walkaround.model_copy(update={"signed": Signed(by=by, at=at)})


def reopen(walkaround: Walkaround, asked: AskReopen, lexicon: Lexicon, by: str, at: str) -> Walkaround:
    """A signed list is open again."""
    return walkaround.model_copy(update={"signed": None}) if walkaround.signed else walkaround
