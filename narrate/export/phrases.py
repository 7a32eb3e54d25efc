"""How things are said to people: the one place for the wording of every export."""

from collections.abc import Iterable
from decimal import Decimal

from narrate.records.walkaround import (
    Condition,
    Doubt,
    Evidence,
    Finding,
    Measurement,
    QuotedPrice,
    Recommendation,
    Status,
    Urgency,
    Vehicle,
    Verdict,
)

SURE = 0.8
"""From this confidence on, and without doubts, a finding is called sure."""
FAIRLY_SURE = 0.5

_UNITS = {
    "percent": "%",
    "degC": "°C",
    "degF": "°F",
    "N.m": "N·m",
    "lbf.ft": "lbf·ft",
    "l": "L",
}
_MARKS = {"USD": "$", "GBP": "£", "EUR": "€"}
_OPTIONS = {"original_maker": "original maker's part", "other_maker": "another maker's part"}
_STATUS: dict[Status, str] = {
    "fault": "needs attention",
    "ok": "looked at and fine",
    "unclear": "looked at, not settled",
    "unchecked": "not looked at",
    "work": "work to be done",
}
_ACTIONS = {"monitor": "keep an eye on it", "diagnose": "find the cause"}
_WHEN = {
    "before_driving": "before it is driven again",
    "this_visit": "on this visit",
    "by_date_or_distance": "in time",
    "no_hurry": "no hurry",
}
_RESULTS = {
    "within": "within the limit",
    "at_limit": "at the limit",
    "below": "below the limit",
    "above": "above the limit",
    "no_rule": "no limit known",
}
_TELLS_WHEN = frozenset(
    "before soon in at when next within after by on this today tomorrow now once while until till asap".split()
)
"""First words of a time that need no "by"."""
_SHORTLY = {"at_limit": "at", "below": "below", "above": "above"}
_REVIEW = {
    "confirmed": "confirmed by a person",
    "corrected": "corrected by a person",
    "added": "added by a person",
    "dropped": "dropped by a person",
}
JOINED = frozenset({"if", "when", "while", "whilst", "with", "once", "since", "as", "at", "same", "after", "before"})
"""First words of a condition that join it to what they stand behind; any other needs an "if"."""


def say_number(value: Decimal) -> str:
    """The digits as said, never with an exponent."""
    return format(value, "f")


def say_amount(value: Decimal, unit: str, *, high: Decimal | None = None) -> str:
    """A number with its unit: `3 mm`, `5/32 in`, `3 to 4 mm`."""
    number = say_number(value) if high is None else f"{say_number(value)} to {say_number(high)}"
    if unit == "1/32in":
        return f"{number}/32 in"
    if unit == "percent":
        return f"{number}%"
    return f"{number} {_UNITS.get(unit, unit)}"


def say_measurement(measurement: Measurement) -> str:
    """`about 2 mm front left`."""
    amount = say_amount(measurement.value, measurement.unit, high=measurement.high)
    words = ("about" if measurement.about else "", amount, measurement.location or "")
    return " ".join(word for word in words if word)


def say_verdict(verdict: Verdict) -> str:
    """`below the limit of 1.6 mm (Great Britain)`."""
    said = _RESULTS[verdict.result]
    if verdict.limit is not None and verdict.unit is not None:
        said += f" of {say_amount(verdict.limit, verdict.unit)}"
    return f"{said} ({verdict.rule_set})" if verdict.rule_set else said


def say_broken(measurement: Measurement) -> str:
    """`below 3 mm, the shop's own`: of the verdicts the first that is not plainly within; empty where all are."""
    verdicts = (measurement.verdict, measurement.shop_verdict)
    for verdict in verdicts:
        if verdict and verdict.result in _SHORTLY and verdict.limit is not None and verdict.unit is not None:
            return f"{_SHORTLY[verdict.result]} {say_amount(verdict.limit, verdict.unit)}, {verdict.rule_set}"
    return ""


def say_verdicts(measurement: Measurement) -> list[str]:
    """Each verdict of a number that says something, the rule set's first."""
    verdicts = (measurement.verdict, measurement.shop_verdict)
    return [say_verdict(verdict) for verdict in verdicts if verdict and verdict.result != "no_rule"]


def say_money(amount: Decimal, currency: str) -> str:
    """`$140.00`, or `140.00 SEK` where the mark is not known here."""
    mark = _MARKS.get(currency)
    return f"{mark}{say_number(amount)}" if mark else f"{say_number(amount)} {currency}"


def say_option(option: str) -> str:
    """`new`, `another maker's part`."""
    return _OPTIONS.get(option, option.replace("_", " "))


def say_price(price: QuotedPrice) -> str:
    """`$140.00 (rebuilt)`."""
    money = say_money(price.amount, price.currency)
    return f"{money} ({say_option(price.for_)})" if price.for_ else money


def say_locations(locations: Iterable[str]) -> str:
    """`front left and front right`."""
    return say_list(tuple(locations))


def say_list(items: tuple[str, ...], *, last: str = "and") -> str:
    """`a, b and c`."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"


def say_condition(condition: Condition) -> str:
    """`play`, `play (suspected)`, `seeping (just starting)`."""
    certainty = {"stated": "", "suspected": " (suspected)", "starting": " (just starting)"}
    return condition.name + certainty[condition.certainty]


def say_conditions(finding: Finding) -> str:
    """What is wrong; for a finding without conditions, what its status says."""
    if finding.conditions:
        return ", ".join(say_condition(condition) for condition in finding.conditions)
    return {"fault": "", "work": ""}.get(finding.status, say_status(finding.status))


def say_status(status: Status) -> str:
    """A status in words."""
    return _STATUS[status]


def say_action(action: str) -> str:
    """`replace`, `top up`, `keep an eye on it`."""
    return _ACTIONS.get(action, action.replace("_", " "))


def say_recommendation(recommendation: Recommendation) -> str:
    """`replace, otherwise adjust; this visit`; empty when nothing was recommended."""
    actions = tuple(a for a in (recommendation.action, *recommendation.otherwise) if a)
    said = ", otherwise ".join(say_action(action) for action in actions)
    if recommendation.conditional_on:
        joined = recommendation.conditional_on.split()[0].lower() in JOINED
        said += f" {'' if joined else 'if '}{recommendation.conditional_on}"
    if recommendation.optional:
        said += " (optional)"
    if recommendation.timing:
        done = recommendation.timing == "done"
        said += f"; {'already done' if done else recommendation.timing}"
    return said.strip("; ")


def say_when(urgency: Urgency) -> str:
    """`before it is driven again`, `by the end of May`, `before winter`."""
    if not urgency.by:
        return _WHEN[urgency.when]
    return urgency.by if urgency.by.split()[0].lower() in _TELLS_WHEN else f"by {urgency.by}"


def say_urgency(urgency: Urgency) -> str:
    """`before it is driven again: the tire may burst`."""
    said = say_when(urgency)
    return f"{said}: {urgency.why}" if urgency.why else said


def say_time(seconds_s: float | None) -> str:
    """Minutes and seconds in the recording, `1:05`; empty for text that came without audio."""
    if seconds_s is None:
        return ""
    minutes, seconds = divmod(int(seconds_s), 60)
    return f"{minutes}:{seconds:02d}"


def say_words(evidence: Iterable[Evidence]) -> str:
    """The words themselves; ` … ` stands where they were not said in one go."""
    return " … ".join(stretch.said for stretch in evidence)


def say_doubt(doubt: Doubt, *, taken_as: str = "") -> str:
    """`heard 'will bearing'; it could also be ball joint`."""
    instead = tuple(other for other in doubt.instead if other != taken_as)
    return f"{doubt.why}; it could also be {say_list(instead, last='or')}" if instead else doubt.why


def say_how_sure(finding: Finding) -> str:
    """`sure`, `not sure`, `check: heard 'will bearing'`, or what a person decided."""
    if finding.review.state != "unreviewed":
        return _REVIEW[finding.review.state]
    if finding.doubts:
        name = finding.component.name
        return "check: " + "; ".join(say_doubt(doubt, taken_as=name) for doubt in finding.doubts)
    overall = finding.confidence.overall
    return "sure" if overall >= SURE else "fairly sure" if overall >= FAIRLY_SURE else "not sure"


def say_vehicle(vehicle: Vehicle) -> str:
    """`2014 Ford F-150`; empty when nobody said."""
    words = (str(vehicle.year) if vehicle.year else "", vehicle.make or "", vehicle.model or "")
    return " ".join(word for word in words if word)
