"""How soon each finding wants to be seen to, by rules one can read; the technician's word is never lowered.

What a person set on the review page stands.
"""

from narrate.judge.limits import broken
from narrate.records.walkaround import Condition, Finding, Urgency, Verdict, Walkaround, When
from narrate.words.lexicon import Lexicon
from narrate.words.rule_entries import UrgencyRule
from narrate.words.rules import Rules

SOONEST: tuple[When, ...] = ("before_driving", "this_visit", "by_date_or_distance", "no_hurry")


def judge_urgency(walkaround: Walkaround, rules: Rules, lexicon: Lexicon) -> Walkaround:
    """Say of every fault and every job how soon; of other findings only where a number breaks a limit."""
    findings = tuple(_judged(finding, rules, lexicon) for finding in walkaround.findings)
    return walkaround.model_copy(update={"findings": findings})


def _judged(finding: Finding, rules: Rules, lexicon: Lexicon) -> Finding:
    before = finding.urgency
    if before and before.origin == "person":
        return finding
    said = before if before is None or before.origin == "said" else before.said
    rule, ruled = _ruled(finding, rules, lexicon) if _asks(finding) else (None, None)
    # What nobody can be hurt by is due when the technician says.
    if said and rule and not (rule.safety or rule.results or rule.when == "before_driving"):
        ruled = None
    return finding.model_copy(update={"urgency": _sooner(said, ruled)})


def _asks(finding: Finding) -> bool:
    """Whether anything is to be done: a fault or a job not done yet, or a number that breaks a limit."""
    if finding.recommendation.timing == "done" or finding.review.state == "dropped":
        return False
    return finding.status in ("fault", "work") or broken(
        verdict for m in finding.measurements for verdict in (m.verdict, m.shop_verdict)
    )


def _sooner(said: Urgency | None, ruled: Urgency | None) -> Urgency | None:
    """The technician's word, raised where a rule asks for more, and kept beside it."""
    if said is None or ruled is None:
        return said or ruled
    if SOONEST.index(said.when) <= SOONEST.index(ruled.when):
        return said
    words = said.by or said.when.replace("_", " ")
    return ruled.model_copy(update={"why": f"{ruled.why}; the technician said: {words}", "said": said})


def _ruled(finding: Finding, rules: Rules, lexicon: Lexicon) -> tuple[UrgencyRule | None, Urgency | None]:
    for rule in rules.urgency.values():
        held = _held(rule, finding, lexicon)
        if held is not None:
            condition, verdict = held
            why = rule.why.format(
                part=finding.component.name,
                condition=condition.name if condition else "",
                limit=_limit(verdict) if verdict else "",
            )
            return rule, Urgency(when=rule.when, why=" ".join(why.split()), origin="rule")
    return None, None


def _held(rule: UrgencyRule, finding: Finding, lexicon: Lexicon) -> tuple[Condition | None, Verdict | None] | None:
    """The condition and the verdict by which a rule holds, or None where it does not."""
    entry = lexicon.components.get(finding.component.id)
    if rule.safety and (entry is None or entry.safety not in rule.safety):
        return None
    if rule.components and finding.component.id not in rule.components:
        return None
    if rule.actions and finding.recommendation.action not in rule.actions:
        return None
    condition = _condition(rule, finding, lexicon)
    if (rule.conditions or rule.classes) and condition is None:
        return None
    legal = [v for m in finding.measurements if (v := m.verdict) and v.result in rule.results]
    shop = [v for m in finding.measurements if (v := m.shop_verdict) and v.result in rule.shop_results]
    if (rule.results and not legal) or (rule.shop_results and not shop):
        return None
    return condition, next(iter([*legal, *shop]), None)


def _condition(rule: UrgencyRule, finding: Finding, lexicon: Lexicon) -> Condition | None:
    for condition in finding.conditions:
        entry = lexicon.conditions.get(condition.id)
        named = condition.id in rule.conditions or (entry is not None and entry.class_ in rule.classes)
        if named and condition.certainty in rule.certainty:
            return condition
    return None


def _limit(verdict: Verdict) -> str:
    unit = "/32 in" if verdict.unit == "1/32in" else f" {verdict.unit}"
    return f"{verdict.limit}{unit} ({verdict.rule_set})"
