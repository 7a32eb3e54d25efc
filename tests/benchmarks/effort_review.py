"""How a list is put right on the review page by someone who knows what it should be."""

from dataclasses import dataclass, field, replace
from typing import Any

from effort_page import Hands
from effort_plan import DROP, SETTLE, Keys, Planner, going_on

from narrate.judge.unsettled import Unsettled, what_blocks
from narrate.records.case import Case, Expected
from narrate.records.walkaround import (
    Component,
    Condition,
    Confidence,
    Evidence,
    Finding,
    Measurement,
    Recommendation,
    Walkaround,
)
from narrate.review.nearby import nearby_view, unlisted_view
from narrate.review.view import is_sure
from narrate.score.amounts import amounts_right, same_concern
from narrate.score.fields import compare_fields, same_component
from narrate.score.names import spoken_at
from narrate.score.pairing import pair_findings

AROUND = 8
"""So many words beside a finding's own may name the part that it is really about."""
MOST_ROUNDS = 300
MOST_FIXES = 12


@dataclass
class Goals:
    """What is to become of each finding, and what is missing."""

    right: dict[str, Expected] = field(default_factory=dict)
    drop: set[str] = field(default_factory=set)
    divide: dict[str, tuple[Expected, Expected]] = field(default_factory=dict)
    """Findings that are two: what the first and the second half should be."""
    missing: list[Expected] = field(default_factory=list)


@dataclass
class Done:
    """What one review saw."""

    listened: int = 0
    sure: int = 0
    sure_wrong: int = 0


def review(hands: Hands, case: Case, planner: Planner) -> Done:
    """From what was found to the signed list."""
    start = hands.walkaround
    planner = replace(planner, heard=lambda id_: nearby_view(hands.walkaround, planner.lexicon, "finding", id_))
    goals = set_goals(start, case, planner)
    by_id = {each.id: each for each in start.findings}
    sure = [each.id for each in start.findings if is_sure(each)]
    wrong = [id_ for id_ in sure if _needs_work(by_id[id_], goals, planner)]
    if sure:
        hands.press(("Shift+Enter",), "confirm")
    _settle_blocks(hands, case, planner, goals)
    for id_ in wrong:
        hands.take("finding", id_, "move")
        _put_right(hands, id_, goals, planner)
    for expected in goals.missing:
        _add_unlisted(hands, expected, planner)
    _settle_blocks(hands, case, planner, goals)
    hands.press(("Shift+S",), "sign")
    return Done(len(start.findings) - len(sure) + len(wrong), len(sure), len(wrong))


def add_all(hands: Hands, case: Case, planner: Planner) -> int:
    """From an empty list to the signed one; how many findings were added."""
    owed = [each for each in case.finding if not each.optional]
    for expected in owed:
        _add(hands, "i", expected, planner)
    _settle_blocks(hands, case, planner, Goals())
    hands.press(("Shift+S",), "sign")
    return len(owed)


def set_goals(start: Walkaround, case: Case, planner: Planner) -> Goals:
    """Pair as the score does; then see what of the rest is a misnamed or an undivided finding."""
    pairing = pair_findings(case.finding, start.findings, names=planner.names)
    goals = Goals(right={f.id: e for e, f in pairing.pairs if not e.optional})
    missing = [each for each in pairing.missed if planner.adding(each) is not None]
    _divide(pairing.pairs, missing, goals, planner)
    extra = list(pairing.extra)
    savings = sorted(
        (
            (len(planner.adding(e) or ()) + len(DROP) - planner.cost(f, e), n, m)
            for n, f in enumerate(extra)
            for m, e in enumerate(missing)
            if _is_about(f, e, start, planner)
        ),
        reverse=True,
    )
    used: set[int] = set()
    for saved, n, m in savings:
        if (
            saved > 0
            and extra[n].id not in goals.right
            and m not in used
            and "component" in planner.fixes(extra[n], missing[m])
        ):
            goals.right[extra[n].id] = missing[m]
            used.add(m)
    goals.missing = [each for m, each in enumerate(missing) if m not in used]
    goals.drop = {each.id for each in extra if each.id not in goals.right}
    return goals


def _divide(
    pairs: tuple[tuple[Expected, Finding], ...], missing: list[Expected], goals: Goals, planner: Planner
) -> None:
    """Take from the missing what is half of a finding that was found."""
    for expected, finding in pairs:
        best: tuple[int, Expected, Expected, Expected] | None = None
        for other in missing if not expected.optional else ():
            if not same_component(other.component, finding, names=planner.names) or len(finding.locations) == 1:
                continue
            first, second = _halves(finding)
            spared = planner.cost(finding, expected) + len(planner.adding(other) or ()) - 1
            for one, two in ((expected, other), (other, expected)):
                saved = spared - planner.cost(first, one) - planner.cost(second, two)
                if saved > 0 and (best is None or saved > best[0]):
                    best = (saved, one, two, other)
        if best:
            goals.divide[finding.id] = (best[1], best[2])
            missing[:] = [each for each in missing if each is not best[3]]


def _halves(finding: Finding) -> tuple[Finding, Finding]:
    """The two findings that the page makes of one."""
    half = (len(finding.locations) + 1) // 2
    parts = finding.locations[:half], finding.locations[half:]
    first, second = (
        finding.model_copy(
            update={
                "locations": here,
                "measurements": tuple(n for n in finding.measurements if n.location not in there or n.location in here),
            }
        )
        for here, there in (parts, parts[::-1])
    )
    return first, second


def _is_about(finding: Finding, expected: Expected, start: Walkaround, planner: Planner) -> bool:
    """Whether the finding's words, or what it says, tell that it is the expected one under another name."""
    right = compare_fields(expected, finding, names=planner.names)
    alike = right.condition is True or amounts_right(expected, finding) > 0
    return alike or _named(expected, finding.evidence, start, planner)


def _named(expected: Expected, evidence: tuple[Evidence, ...], walkaround: Walkaround, planner: Planner) -> bool:
    """Whether the expected part is named in these words or close by."""
    words = {each.id: [word.text for word in each.words] for each in walkaround.recordings}
    names = {*expected.component}
    return any(
        spoken_at(names, words[piece.recording][max(0, piece.first_word - AROUND) : piece.last_word + 1 + AROUND])
        for piece in evidence
    )


def _needs_work(finding: Finding, goals: Goals, planner: Planner) -> bool:
    expected = goals.right.get(finding.id)
    wrong = expected is not None and bool(planner.fixes(finding, expected))
    return wrong or finding.id in goals.drop or finding.id in goals.divide


def _settle_blocks(hands: Hands, case: Case, planner: Planner, goals: Goals) -> None:
    """Decide one thing after the other, until nothing stands in the way of signing."""
    for _ in range(MOST_ROUNDS):
        blocks = what_blocks(hands.walkaround)
        if not blocks:
            return
        block = hands.take_block(blocks)
        if block.kind == "finding":
            _put_right(hands, block.about, goals, planner)
        elif block.kind == "contradiction":
            hands.press(SETTLE, "decide")
        elif block.kind == "concern":
            _answer(hands, block, goals)
        else:
            waiting = {each.about for each in blocks if each.kind == "unplaced"}
            _place(hands, block, waiting, goals, planner)


def _put_right(hands: Hands, id_: str, goals: Goals, planner: Planner) -> None:
    """The finding in hand: dropped, divided, corrected or confirmed."""
    if id_ in goals.drop:
        hands.press(DROP, "drop")
        return
    if id_ in goals.divide:
        one, two = goals.divide.pop(id_)
        before = {each.id for each in hands.walkaround.findings}
        hands.press(("d",), "correct")
        goals.right[id_] = one
        _fix(hands, id_, one, planner, "correct")
        for other in [each.id for each in hands.walkaround.findings if each.id not in before]:
            goals.right[other] = two
            if planner.fixes(_finding(hands, other), two):
                hands.take("finding", other, "correct")
                _fix(hands, other, two, planner, "correct")
        return
    if id_ in goals.right:
        going = _finding(hands, id_).review.state == "unreviewed"
        _fix(hands, id_, goals.right[id_], planner, "correct", going=going)
    if _finding(hands, id_).review.state == "unreviewed":
        hands.press(("Enter",), "confirm")


def _fix(hands: Hands, id_: str, expected: Expected, planner: Planner, kind: str, *, going: bool = False) -> None:
    """One wrong field after the other, each seen anew; what does not yield is left. `going`: on, with the last one."""
    tried: set[tuple[str, ...]] = set()
    for _ in range(MOST_FIXES):
        finding = _finding(hands, id_)
        offered = planner.fixes(finding, expected)
        fixes = [*offered.items(), *planner.fixes(finding, expected, typed=True).items()]
        field, keys = next(((name, each) for name, each in fixes if each not in tried), ("", None))
        if keys is None:
            return
        tried.add(keys)
        hands.take("finding", id_, kind)
        hands.press(going_on(keys) if going and len(offered) == 1 else keys, kind, field)
        if hands.editing:
            # Refused: what was typed is left.
            hands.press(("Escape",), kind)


def _answer(hands: Hands, block: Unsettled, goals: Goals) -> None:
    """A concern: answered by the finding that is to answer it, else settled."""
    now = hands.walkaround
    concern = next(each for each in now.concerns if each.id == block.about)
    standing = [each for each in now.findings if each.review.state != "dropped"]
    suggested = [f for f in standing if any(a.concern == concern.id and a.link == "suggested" for a in f.answers)]
    near = [*suggested, *(f for f in standing if f not in suggested and f.status == "fault")][:9]
    for place, finding in enumerate(near, 1):
        expected = goals.right.get(finding.id)
        if expected and any(same_concern(wanted, concern) for wanted in expected.answers):
            hands.press((str(place),), "decide")
            return
    hands.press(SETTLE, "decide")


def _place(hands: Hands, block: Unsettled, waiting: set[str], goals: Goals, planner: Planner) -> None:
    """Words that fit nowhere: the missing finding that they tell of, or nothing in them."""
    now = hands.walkaround
    stretches = [each for each in now.unplaced if each.id in waiting]
    stretch = next(each for each in stretches if each.id == block.about)
    expected = next((each for each in goals.missing if _named(each, stretch.evidence, now, planner)), None)
    if expected is None:
        useful = any(_named(e, each.evidence, now, planner) for e in goals.missing for each in stretches)
        hands.press(("o",) if useful or len(stretches) == 1 else ("Shift+O",), "decide")
        return
    goals.missing = [each for each in goals.missing if each is not expected]
    near = nearby_view(now, planner.lexicon, "unplaced", stretch.id)
    told = near["told"] or {}
    place = planner.place_of("component", [each["id"] for each in near["components"]], expected.component)
    options = [(planner.pick("component", expected.component), told.get(""))]
    if place:
        options.append(((str(place),), told[near["components"][place - 1]["id"]]))
    _add_cheapest(hands, "t", [(keys, has) for keys, has in options if keys], expected, planner)


def _add_unlisted(hands: Hands, expected: Expected, planner: Planner) -> None:
    """What is missing: by its digit among what was named and is in no finding, or by its letters."""
    parts = unlisted_view(hands.walkaround, planner.lexicon)
    place = planner.place_of("component", [each["id"] for each in parts], expected.component)
    options = [(planner.pick("component", expected.component), None)]
    if place:
        id_ = list(dict.fromkeys(each["id"] for each in parts))[place - 1]
        options.append(((str(place),), next(each["told"] for each in parts if each["id"] == id_)))
    _add_cheapest(hands, "i", [(keys, told) for keys, told in options if keys], expected, planner)


def _add_cheapest(
    hands: Hands, key: str, options: list[tuple[Keys, dict[str, Any] | None]], expected: Expected, planner: Planner
) -> None:
    """Add it in the way that takes the fewest keys with what comes along put right."""
    costs = []
    for component, told in options:
        if told and is_telling(told):
            costs.append(len(component) + planner.cost(_as_added(told, expected, planner), expected))
        else:
            costs.append(len(planner.adding(expected, component) or ()))
    if not costs:
        return
    component, told = options[costs.index(min(costs))]
    if told and is_telling(told):
        _press_add(hands, (key, *component), expected, planner)
    else:
        _press_add(hands, (key, *(planner.adding(expected, component) or ())), expected, planner)


def is_telling(told: dict[str, Any]) -> bool:
    """Whether the page takes what came along for a finding, and does not ask for each field."""
    lists = told["locations"] or told["conditions"] or told["action"] or told["measurements"]
    return bool(lists) or told["status"] != "fault"


def _as_added(told: dict[str, Any], expected: Expected, planner: Planner) -> Finding:
    """The finding that the page makes of what was told, its component right."""
    sure = Confidence(overall=1, component=1, location=1, condition=1, recommendation=1)
    name = expected.component[0]
    return Finding(
        id="",
        component=Component(id=planner.id_of(name) or name, name=name, system="", heard=""),
        locations=told["locations"],
        status=told["status"],
        conditions=tuple(
            Condition(id=each["id"], name=planner.lexicon.conditions[each["id"]].name, said="")
            for each in told["conditions"]
        ),
        recommendation=Recommendation(action=told["action"]),
        measurements=tuple(Measurement(**each, said="") for each in told["measurements"]),
        evidence=(),
        confidence=sure,
    )


def _add(hands: Hands, key: str, expected: Expected, planner: Planner) -> None:
    """A finding added by its keys; what is not right then is corrected, counted as adding."""
    keys = planner.adding(expected)
    if keys is not None:
        _press_add(hands, (key, *keys), expected, planner)


def _press_add(hands: Hands, keys: Keys, expected: Expected, planner: Planner) -> None:
    before = {each.id for each in hands.walkaround.findings}
    hands.press(keys, "add")
    for new in [each.id for each in hands.walkaround.findings if each.id not in before]:
        if planner.fixes(_finding(hands, new), expected):
            hands.take("finding", new, "add")
            _fix(hands, new, expected, planner, "add")


def _finding(hands: Hands, id_: str) -> Finding:
    return next(each for each in hands.walkaround.findings if each.id == id_)
