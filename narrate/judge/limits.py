"""Numbers against limits: first the technician's own, then those of a named rule set, then the shop's."""

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from narrate.judge.places import covers
from narrate.records.walkaround import Finding, Measurement, Result, Verdict, Walkaround
from narrate.words.conversion import as_decimal, convertible, in_unit
from narrate.words.rule_entries import NO_SOURCE, SHOP, Limit
from narrate.words.rules import Rules

SAID = "the technician's own limit"
NOBODY = Verdict(result="no_rule")


def judge_limits(walkaround: Walkaround, rules: Rules, rule_set: str | None) -> Walkaround:
    """Give every measurement its verdicts; `rule_set` is an id of limits.toml, or None for none.

    `verdict` is by the limit spoken beside the number, else by the rule set; `shop_verdict` is by the shop's own.
    """
    findings = tuple(_judged(finding, rules, rule_set) for finding in walkaround.findings)
    return walkaround.model_copy(update={"findings": findings})


def _judged(finding: Finding, rules: Rules, rule_set: str | None) -> Finding:
    if not finding.measurements or finding.review.state == "dropped":
        return finding
    measurements = tuple(
        number.model_copy(
            update={
                "verdict": _by_word(number, rules, finding) or _by_rules(number, finding, rules, rule_set) or NOBODY,
                "shop_verdict": _by_rules(number, finding, rules, SHOP),
            }
        )
        for number in finding.measurements
    )
    return finding.model_copy(update={"measurements": measurements})


def _by_word(number: Measurement, rules: Rules, finding: Finding) -> Verdict | None:
    """Against the limit spoken beside it; whether it is the least or the most is told by what the rules hold."""
    if number.spoken_limit is None:
        return None
    known = [limit for limit in rules.limits if _about(limit, number, finding)]
    least = known[0].least is not None if known else True
    bound: Literal["least", "most"] = "least" if least else "most"
    return compare(number, number.spoken_limit, number.unit, bound, rule_set=SAID, source="said by the technician")


def _by_rules(number: Measurement, finding: Finding, rules: Rules, rule_set: str | None) -> Verdict | None:
    limits = [each for each in rules.limits if each.rule_set == rule_set and _applies(each, number, finding)]
    verdicts = [_against(limit, number, rules) for limit in limits]
    # Of several limits the first that is not kept decides, else one that is just kept, else the last.
    for results in (("below", "above"), ("at_limit",)):
        found = next((v for v in verdicts if v.result in results), None)
        if found:
            return found
    return verdicts[-1] if verdicts else None


def _about(limit: Limit, number: Measurement, finding: Finding) -> bool:
    same = finding.component.id in limit.components and limit.quantity == number.quantity
    return same and convertible(limit.unit, number.unit)


def _applies(limit: Limit, number: Measurement, finding: Finding) -> bool:
    where = (number.location,) if number.location else finding.locations
    return _about(limit, number, finding) and (not limit.places or covers(limit.places, where))


def _against(limit: Limit, number: Measurement, rules: Rules) -> Verdict:
    bound: Literal["least", "most"] = "least" if limit.least is not None else "most"
    value = limit.least if limit.least is not None else limit.most
    assert value is not None
    name = rules.rule_sets[limit.rule_set].name
    return compare(number, value, limit.unit, bound, rule_set=name, source=source_of(limit))


def source_of(limit: Limit) -> str:
    """Where a limit comes from and how its words were come by: `49 CFR 570.9(a) (from memory)`."""
    if limit.how == "common practice":
        return NO_SOURCE
    words = " ".join(part for part in (limit.source, limit.clause) if part)
    return words if limit.how == "read" else f"{words} ({limit.how})"


def compare(
    number: Measurement, limit: Decimal, unit: str, bound: Literal["least", "most"], *, rule_set: str, source: str
) -> Verdict:
    """Compare exactly; of a range the end nearer to the limit counts. The margin is in the limit's unit."""
    ends = [in_unit(end, number.unit, unit) for end in (number.value, number.high) if end is not None]
    margin = (min(ends) if bound == "least" else max(ends)) - Fraction(limit)
    return Verdict(
        result=_result(margin, bound),
        limit=limit,
        unit=unit,
        margin=as_decimal(margin),
        rule_set=rule_set,
        source=source,
    )


def _result(margin: Fraction, bound: Literal["least", "most"]) -> Result:
    if margin == 0:
        return "at_limit"
    if bound == "least":
        return "within" if margin > 0 else "below"
    return "within" if margin < 0 else "above"


def broken(verdicts: Iterable[Verdict | None]) -> bool:
    """Whether any limit is not kept."""
    return any(verdict is not None and verdict.result in ("below", "above") for verdict in verdicts)
