"""Every step of judging, in order. Each is a pure function; none changes what was said."""

from dataclasses import dataclass
from datetime import date
from typing import Literal

from narrate.errors import UsageError
from narrate.judge import comparison, goes_with, vehicle
from narrate.judge.comparison import compare_numbers
from narrate.judge.contradictions import find_contradictions
from narrate.judge.coverage import list_not_mentioned
from narrate.judge.goes_with import suggest_goes_with
from narrate.judge.limits import judge_limits
from narrate.judge.numbering import new_ids, with_ids_used
from narrate.judge.plain_words import add_plain_words
from narrate.judge.urgency import judge_urgency
from narrate.judge.vehicle import check_vehicle
from narrate.records.walkaround import Concern, Finding, Suggestion, Walkaround
from narrate.words.lexicon import Lexicon
from narrate.words.rules import Rules

JUDGED = (goes_with.KIND, comparison.KIND, *vehicle.KINDS)
"""Kinds of suggestions that judging makes: those of an earlier time give way."""
FIRST = ("open", "partly", "answered")


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What judging goes by beside the rules."""

    rule_set: str | None
    today: date
    inspection: bool = False
    previous: Walkaround | None = None


def judge(walkaround: Walkaround, rules: Rules, lexicon: Lexicon, asked: Asked) -> Walkaround:
    """The same walkaround, judged. Judging again gives the same.

    Raises UsageError for a rule set that does not exist, or a previous walkaround of another vehicle.
    """
    if asked.rule_set is not None and asked.rule_set not in rules.rule_sets:
        known = ", ".join(rules.rule_sets)
        message = f"There is no rule set '{asked.rule_set}'; the rule sets are {known}."
        raise UsageError(message)
    if asked.previous:
        _same_vehicle(asked.previous, walkaround)
    before = walkaround
    own = tuple(each for each in walkaround.suggestions if each.kind not in JUDGED)
    walkaround = walkaround.model_copy(update={"suggestions": own})
    walkaround = judge_limits(walkaround, rules, asked.rule_set)
    walkaround = judge_urgency(walkaround, rules, lexicon)
    walkaround = add_plain_words(walkaround, rules, lexicon)
    walkaround = find_contradictions(walkaround, lexicon)
    walkaround = list_not_mentioned(walkaround, rules, lexicon, inspection=asked.inspection)
    walkaround = check_vehicle(walkaround, today=asked.today)
    walkaround = compare_numbers(walkaround, rules, asked.previous)
    # Last, because there are most of them: a list that is cut short still begins with what may be wrong.
    walkaround = suggest_goes_with(walkaround, rules, lexicon)
    made_by = walkaround.made_by.model_copy(update={"rules": rules.digest})
    changed = {
        "concerns": _open_first(_answered(walkaround.concerns, walkaround.findings)),
        "suggestions": _known_again(before, walkaround.suggestions),
        "made_by": made_by,
    }
    return with_ids_used(walkaround.model_copy(update=changed), before, letters="s")


def _known_again(before: Walkaround, suggestions: tuple[Suggestion, ...]) -> tuple[Suggestion, ...]:
    """What was suggested before keeps its id, so that a decision about it holds."""
    known: dict[tuple[str, str | None, str], list[str]] = {}
    for each in before.suggestions:
        known.setdefault((each.kind, each.for_, each.text), []).append(each.id)
    fresh = new_ids(before, "s")
    ids = (ids.pop(0) if (ids := known.get((s.kind, s.for_, s.text))) else next(fresh) for s in suggestions)
    return tuple(each.model_copy(update={"id": id_}) for each, id_ in zip(suggestions, ids, strict=True))


def _answered(concerns: tuple[Concern, ...], findings: tuple[Finding, ...]) -> tuple[Concern, ...]:
    """A concern is answered by what stands, and no more by what was dropped."""
    links = {(a.concern, a.link) for f in findings if f.review.state != "dropped" for a in f.answers}

    def state(concern: Concern) -> Literal["answered", "partly", "open"]:
        if (concern.id, "stated") in links:
            return "answered"
        return "partly" if (concern.id, "suggested") in links else "open"

    return tuple(concern.model_copy(update={"state": state(concern)}) for concern in concerns)


def _open_first(concerns: tuple[Concern, ...]) -> tuple[Concern, ...]:
    return tuple(sorted(concerns, key=lambda concern: FIRST.index(concern.state)))


def _same_vehicle(before: Walkaround, now: Walkaround) -> None:
    """Raise UsageError where VIN or plate tell that it is another vehicle."""
    for name in ("vin", "plate"):
        old, new = (_plain(getattr(w.vehicle, name)) for w in (before, now))
        if old and new and old != new:
            message = f"The previous walkaround is of another vehicle: its {name} is {old}, here it is {new}."
            raise UsageError(message)


def _plain(text: str | None) -> str:
    return "".join(character for character in (text or "").upper() if character.isalnum())
