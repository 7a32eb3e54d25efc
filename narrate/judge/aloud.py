"""Findings for the ear: one short sentence each, and what is open before the car comes down."""

from collections.abc import Sequence

from narrate.judge.coverage import list_not_mentioned
from narrate.judge.questions import Question, answer_in, question_about
from narrate.judge.spoken import say_count, say_number, say_part, say_places
from narrate.records.walkaround import Finding, Walkaround
from narrate.words.lexicon import Lexicon
from narrate.words.rules import load_rules

__all__ = ["Question", "answer_in", "question_about", "read_back", "whats_left"]

STATUS = {"ok": "fine", "unclear": "not settled", "unchecked": "not looked at"}
FEW_CONCERNS, FEW_ITEMS = 3, 5
"""How many are told by name: more nobody keeps in mind under a car."""


def read_back(finding: Finding, lexicon: Lexicon) -> str:
    """What was noted, as short as it can be said.

    `left front, brake pads, worn, three millimeters`
    """
    told = [say_places(finding.locations), say_part(finding, lexicon)]
    if finding.status in STATUS:
        told.append(STATUS[finding.status])
    told += [_condition(c.name, c.certainty) for c in finding.conditions if not _told_by_number(finding, c.said)]
    told += [say_number(number, finding.locations) for number in finding.measurements]
    action = finding.recommendation.action
    if action:
        told.append(lexicon.actions[action].name if action in lexicon.actions else action.replace("_", " "))
    return ", ".join(each for each in told if each)


def whats_left(walkaround: Walkaround, lexicon: Lexicon, inspection: bool) -> str:
    """What is open before the car comes down: concerns, and for a full inspection what nobody has touched.

    Short enough to be heard: a few by name, the rest as a count.
    """
    decided = {decision.about for decision in walkaround.decisions}
    concerns = [c.text for c in walkaround.concerns if c.state != "answered" and c.id not in decided]
    told = []
    if concerns:
        many = "One concern is" if len(concerns) == 1 else f"{say_count(len(concerns)).capitalize()} concerns are"
        told.append(f"{many} open: {_few(concerns, FEW_CONCERNS, '; ')}.")
    if inspection:
        judged = list_not_mentioned(walkaround, load_rules(lexicon), lexicon, inspection=True)
        missing = walkaround.not_mentioned or judged.not_mentioned
        open_ = walkaround.without_verdict or judged.without_verdict
        if missing:
            told.append(f"Not touched yet: {_few(missing, FEW_ITEMS, ', ')}.")
        if open_:
            told.append(f"Touched, but not settled: {_few(open_, FEW_ITEMS, ', ')}.")
    return " ".join(told) or "Nothing is left."


def _condition(name: str, certainty: str) -> str:
    return {"suspected": f"maybe {name}", "starting": f"{name}, just starting"}.get(certainty, name)


def _told_by_number(finding: Finding, said: str) -> bool:
    """Whether a condition was only taken from the number that is told anyway."""
    return any(number.said == said for number in finding.measurements)


def _few(items: Sequence[str], most: int, between: str) -> str:
    rest = len(items) - most
    told = between.join(items[:most])
    return f"{told}, and {say_count(rest)} more" if rest > 0 else told
