"""How soon: every rule fires where it should and not beside it; nothing that was said is changed by judging."""

import dataclasses
import re
from datetime import date
from decimal import Decimal
from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from judged import finding, lexicon, number, rules, walk

from narrate.judge.judging import Asked, judge
from narrate.judge.limits import judge_limits
from narrate.judge.urgency import SOONEST, judge_urgency
from narrate.records.recording import Recording, Word
from narrate.records.reviewed import Review
from narrate.records.walkaround import Finding, Measurement, Recommendation, Status, Urgency, Walkaround, When
from narrate.words.rules import Rules

ASKED = Asked(rule_set="us_federal", today=date(2026, 11, 25))
TELLING = dataclasses.replace(
    rules(), urgency={key: rule.model_copy(update={"why": key}) for key, rule in rules().urgency.items()}
)
"""The rules, each with its own id as its reason."""


def urgency_of(one: Finding, by: Rules | None = None) -> Urgency | None:
    limited = judge_limits(walk(one), rules(), ASKED.rule_set)
    return judge_urgency(limited, by or rules(), lexicon()).findings[0].urgency


def fired(one: Finding) -> str | None:
    """The id of the rule that decides."""
    urgency = urgency_of(one, TELLING)
    return urgency.why if urgency else None


PADS = {mm: number(mm, "mm", "thickness") for mm in ("0.79", "0.80", "2.5", "3.1")}
TREADS = {steps: number(steps, "1/32in", "tread depth") for steps in (2, 5)}
VOLTS = {volts: number(volts, "V", "voltage") for volts in ("13.0", "13.6")}

# rule -> an example, and one that misses it by one step
EXAMPLES: dict[str, tuple[Finding, Finding]] = {
    "past_a_limit": (finding("brake_pad", numbers=[PADS["0.79"]]), finding("brake_pad", numbers=[PADS["0.80"]])),
    "at_a_limit": (finding("tire", numbers=[TREADS[2]]), finding("tire", numbers=[TREADS[5]])),
    "brakes_give_way": (
        finding("brake_hose", conditions=["leaking"]),
        finding("brake_hose", conditions=[("leaking", "starting")]),
    ),
    "steering_gives_way": (
        finding("tie_rod_end", conditions=["loose"]),
        finding("tie_rod_end", conditions=[("loose", "suspected")]),
    ),
    "tires_give_way": (finding("tire", conditions=["bulging"]), finding("tire", conditions=["worn"])),
    "belts_and_airbags": (finding("seat_belt", conditions=["torn"]), finding("seat_belt", conditions=["dirty"])),
    "fuel_escapes": (finding("fuel_line", conditions=["leaking"]), finding("fuel_line", conditions=["seeping"])),
    "high_voltage": (
        finding("high_voltage_cable", conditions=["cracked"]),
        finding("high_voltage_cable", conditions=["dirty"]),
    ),
    "nothing_to_be_seen": (
        finding("headlight", conditions=["not_working"]),
        finding("headlight", conditions=["cloudy"]),
    ),
    "lifting": (finding("wheelchair_lift", conditions=["leaking"]), finding("wheelchair_lift", conditions=["noisy"])),
    "heat": (
        finding("engine", conditions=["overheating"]),
        finding("engine", conditions=[("overheating", "suspected")]),
    ),
    "to_be_watched": (
        finding("cv_boot", conditions=["cracked"], action="monitor"),
        finding("cv_boot", conditions=["cracked"], action="replace"),
    ),
    "begins_where_it_matters": (
        finding("brake_pad", conditions=[("worn", "starting")]),
        finding("brake_pad", conditions=["worn"]),
    ),
    "may_be_where_it_matters": (
        finding("brake_hose", conditions=[("leaking", "suspected")]),
        finding("radiator_hose", conditions=[("leaking", "suspected")]),
    ),
    "past_the_shops_limit_where_it_matters": (
        finding("brake_pad", numbers=[PADS["2.5"]]),
        finding("brake_pad", numbers=[PADS["3.1"]]),
    ),
    "past_the_shops_limit": (
        finding("alternator", numbers=[VOLTS["13.0"]]),
        finding("alternator", numbers=[VOLTS["13.6"]]),
    ),
    "past_a_limit_elsewhere": (
        finding("battery", numbers=[number(10, "V", "voltage", limit=12)]),
        finding("battery", numbers=[number(12, "V", "voltage", limit=12)]),
    ),
    "strands": (finding("battery", conditions=["dead"]), finding("battery", conditions=["weak"])),
    "grows": (finding("water_pump", conditions=["leaking"]), finding("water_pump", conditions=["dirty"])),
    "the_rest": (finding("cabin_filter", conditions=["dirty"]), finding("cabin_filter", conditions=["torn"])),
}


def test_every_rule_has_an_example_and_a_near_miss() -> None:
    assert set(EXAMPLES) == set(rules().urgency)


@pytest.mark.parametrize("rule", EXAMPLES)
def test_a_rule_fires_on_its_example(rule: str) -> None:
    example, _ = EXAMPLES[rule]
    assert fired(example) == rule
    urgency = urgency_of(example)
    assert urgency is not None
    assert (urgency.when, urgency.origin) == (rules().urgency[rule].when, "rule")


@pytest.mark.parametrize("rule", EXAMPLES)
def test_a_rule_does_not_fire_on_its_near_miss(rule: str) -> None:
    assert fired(EXAMPLES[rule][1]) not in (rule, None)


@pytest.mark.parametrize(
    ("one", "when"),
    [
        (finding("brake_pad", conditions=["below_limit"]), "before_driving"),
        (finding("brake_pad", conditions=["worn"]), "this_visit"),
        (finding("tire", conditions=["cords_showing"]), "before_driving"),
        (finding("cv_boot", conditions=["split"]), "this_visit"),
        (finding("oil_pan", conditions=["seeping"]), "by_date_or_distance"),
        (finding("engine_air_filter", conditions=["dirty"]), "no_hurry"),
        (finding("brake_fluid", status="work", action="replace"), "no_hurry"),
    ],
)
def test_what_a_technician_would_say(one: Finding, when: When) -> None:
    urgency = urgency_of(one)
    assert urgency is not None
    assert urgency.when == when


# ---- Where nothing is to be done

FAULTS = st.lists(
    st.tuples(st.sampled_from(sorted(lexicon().conditions)), st.sampled_from(["stated", "suspected", "starting"])),
    max_size=3,
)
STATUSES: st.SearchStrategy[Status] = st.sampled_from(get_args(Status))
TO_DO: st.SearchStrategy[Status] = st.sampled_from(("fault", "work"))
PARTS = st.sampled_from(sorted(lexicon().components))
ACTIONS = st.sampled_from([None, *sorted(lexicon().actions)])


@given(part=PARTS, faults=FAULTS, action=ACTIONS)
def test_nothing_presses_about_what_is_fine(part: str, faults: list[tuple[str, str]], action: str | None) -> None:
    assert urgency_of(finding(part, status="ok", conditions=faults, action=action)) is None


@given(part=PARTS, faults=FAULTS, status=TO_DO)
def test_every_fault_and_every_job_gets_an_urgency(part: str, faults: list[tuple[str, str]], status: Status) -> None:
    assert urgency_of(finding(part, status=status, conditions=faults)) is not None


def test_what_is_done_does_not_press() -> None:
    done = Recommendation(action="replace", timing="done")
    assert urgency_of(finding("brake_hose", conditions=["leaking"], recommendation=done)) is None


def test_a_number_past_the_law_presses_even_where_it_was_called_fine() -> None:
    urgency = urgency_of(finding("tire", status="ok", numbers=[number(1, "1/32in", "tread depth")]))
    assert urgency is not None
    assert urgency.when == "before_driving"


def test_a_number_past_the_shops_limit_presses_less() -> None:
    urgency = urgency_of(finding("brake_pad", status="ok", numbers=[PADS["2.5"]]))
    assert urgency is not None
    assert urgency.when == "this_visit"


@pytest.mark.parametrize("numbers", [[PADS["3.1"]], [number(3, "mm", "thickness")], [number(1, "mm", None)]])
def test_a_number_that_keeps_its_limits_does_not_press(numbers: list[Measurement]) -> None:
    assert urgency_of(finding("brake_pad", status="ok", numbers=numbers)) is None


# ---- The technician's word

SAID = st.builds(Urgency, when=st.sampled_from(SOONEST), by=st.sampled_from([None, "next week", "2,000 miles"]))


@given(part=PARTS, faults=FAULTS, said=SAID, status=STATUSES)
def test_the_technicians_word_is_never_lowered(
    part: str, faults: list[tuple[str, str]], said: Urgency, status: Status
) -> None:
    by_rule = urgency_of(finding(part, conditions=faults, status=status))
    told = urgency_of(finding(part, conditions=faults, status=status, urgency=said))
    assert told is not None
    assert SOONEST.index(told.when) <= SOONEST.index(said.when)
    if by_rule is None or SOONEST.index(said.when) <= SOONEST.index(by_rule.when):
        assert told == said
    elif told.origin == "said":  # nobody can be hurt by it
        assert by_rule.when != "before_driving"
    else:
        assert (told.when, told.origin, told.said) == (by_rule.when, "rule", said)
        assert told.why is not None
        assert by_rule.why is not None
        assert told.why.startswith(by_rule.why)
        assert (said.by or said.when.replace("_", " ")) in told.why


def test_what_hurts_nobody_is_due_when_the_technician_says() -> None:
    said = Urgency(when="no_hurry")
    assert said == urgency_of(finding("valve_cover_gasket", conditions=["seeping"], urgency=said))


RAISED = finding("brake_hose", conditions=["leaking"], urgency=Urgency(when="by_date_or_distance", by="before winter"))


def test_a_raised_word_is_kept_beside_the_reason() -> None:
    urgency = urgency_of(RAISED)
    assert urgency is not None
    assert urgency.when == "before_driving"
    assert "before winter" in (urgency.why or "")


def test_a_raised_word_reads_as_it_was_said() -> None:
    urgency = urgency_of(RAISED)
    assert urgency is not None
    assert urgency.why == "the brakes may fail: brake hose leaking; the technician said: before winter"


# ---- Reasons


def reason(one: Finding) -> str:
    urgency = urgency_of(one)
    assert urgency is not None
    assert urgency.why is not None
    return urgency.why


@pytest.mark.parametrize("rule", EXAMPLES)
def test_a_reason_is_one_sentence_without_gaps(rule: str) -> None:
    why = reason(EXAMPLES[rule][0])
    assert not re.search(r"[{}_]|None|  |[.!?]\s|[.:;,]$", why), why
    assert why == why.strip()
    assert EXAMPLES[rule][0].component.name in why


@given(part=PARTS, faults=FAULTS)
def test_every_reason_is_filled(part: str, faults: list[tuple[str, str]]) -> None:
    why = reason(finding(part, conditions=faults))
    assert not re.search(r"[{}_]|None|  |\s[,;:]|[.!?]\s|[:;,]$", why), why


@pytest.mark.parametrize(
    ("rule", "why"),
    [
        ("brakes_give_way", "the brakes may fail: brake hose leaking"),
        ("tires_give_way", "the tire may fail or the wheel come loose: tire bulging"),
        ("strands", "it may leave the vehicle stranded: battery dead"),
        ("past_the_shops_limit", "alternator: past what the shop changes it at, 13.5 V (the shop's own)"),
        ("the_rest", "nothing about cabin filter presses"),
    ],
)
def test_reasons_word_for_word(rule: str, why: str) -> None:
    assert reason(EXAMPLES[rule][0]) == why


def test_thirty_seconds_do_not_read_as_a_mixed_number() -> None:
    assert not re.search(r"\d 1/32", reason(EXAMPLES["at_a_limit"][0]))


def test_at_the_shops_limit_is_not_called_past_it_alone() -> None:
    why = reason(finding("brake_pad", numbers=[number(3, "mm", "thickness")]))
    assert why == "brake pad: at or past what the shop changes it at, 3 mm (the shop's own)"


def test_a_number_past_a_spoken_limit_is_not_said_to_press_nothing() -> None:
    assert "nothing" not in reason(finding("battery", numbers=[number(10, "V", "voltage", limit=12)]))


# ---- Judging changes nothing that was said

JUDGED = {"urgency", "plain_words", "measurements"}
NUMBERS = st.lists(
    st.builds(
        number,
        st.decimals(min_value=0, max_value=50, places=2),
        st.sampled_from(["mm", "1/32in", "in", "V", "percent", "furlong"]),
        st.sampled_from(["thickness", "tread depth", "play", "voltage", None]),
        at=st.sampled_from([None, "front left", "rear right"]),
        limit=st.none() | st.decimals(min_value=0, max_value=50, places=1),
        high=st.none() | st.decimals(min_value=50, max_value=60, places=1),
    ),
    max_size=2,
)
LIMITED = sorted({component for limit in rules().limits for component in limit.components})
REVIEWS = st.sampled_from(["unreviewed", "confirmed", "corrected", "dropped"]).map(lambda state: Review(state=state))


def findings(said: st.SearchStrategy[Urgency | None]) -> st.SearchStrategy[list[Finding]]:
    one = st.builds(
        finding,
        st.sampled_from(LIMITED) | PARTS,
        at=st.sampled_from([(), ("front left",), ("front left", "front right"), ("rear",)]),
        status=STATUSES,
        conditions=FAULTS,
        action=ACTIONS,
        numbers=NUMBERS,
        start_s=st.none() | st.floats(0, 600),
        urgency=said,
        codes=st.sampled_from([(), ("P0301",), ("P4000",)]),
        review=REVIEWS,
    )
    return st.lists(one, max_size=4).map(
        lambda made: [each.model_copy(update={"id": f"f{n}"}) for n, each in enumerate(made, 1)]
    )


def walkaround_of(made: list[Finding]) -> Walkaround:
    words = tuple(Word(text=text, probability=None) for each in made for text in each.evidence[0].said.split())
    return walk(*made, recordings=(Recording(id="r1", name="a.wav", words=words),))


def without_verdicts(one: Finding) -> tuple[object, ...]:
    return tuple(each.model_copy(update={"verdict": None, "shop_verdict": None}) for each in one.measurements)


SETS = st.sampled_from([None, *rules().rule_sets])


@settings(max_examples=60, deadline=None)
@given(made=findings(st.none() | SAID), rule_set=SETS, inspection=st.booleans())
def test_judging_changes_nothing_that_was_said(made: list[Finding], rule_set: str | None, inspection: bool) -> None:
    before = walkaround_of(made)
    asked = Asked(rule_set=rule_set, today=ASKED.today, inspection=inspection)
    after = judge(before, rules(), lexicon(), asked)
    assert after.recordings == before.recordings
    assert [f.model_dump(exclude=JUDGED) for f in after.findings] == [f.model_dump(exclude=JUDGED) for f in made]
    assert [without_verdicts(f) for f in after.findings] == [without_verdicts(f) for f in made]
    told = {"findings", "suggestions", "contradictions", "comparisons", "not_mentioned", "without_verdict", "made_by"}
    told |= {"ids_used"}
    assert after.model_dump(exclude=told) == before.model_dump(exclude=told)


@settings(max_examples=60, deadline=None)
@given(made=findings(st.none() | SAID), rule_set=SETS)
def test_judging_the_findings_twice_gives_the_same(made: list[Finding], rule_set: str | None) -> None:
    asked = Asked(rule_set=rule_set, today=ASKED.today, inspection=True)
    once = judge(walkaround_of(made), rules(), lexicon(), asked)
    assert judge(once, rules(), lexicon(), asked) == once


def test_a_raised_word_is_kept_when_judged_again() -> None:
    once = judge(walk(RAISED), rules(), lexicon(), ASKED)
    assert judge(once, rules(), lexicon(), ASKED) == once


SUGGESTING = walk(
    finding(
        "brake_pad",
        at="front left",
        conditions=["worn"],
        action="replace",
        numbers=[number(3, "mm", "thickness", at="front left"), number(6, "mm", "thickness", at="front right")],
    ),
    finding("engine", id="f2", conditions=["misfiring"], codes=("P0301",)),
)


def test_the_ids_of_suggestions_are_distinct() -> None:
    ids = [each.id for each in judge(SUGGESTING, rules(), lexicon(), ASKED).suggestions]
    assert len(ids) == len(set(ids)) > 2


def test_suggestions_are_the_same_when_judged_again() -> None:
    once = judge(SUGGESTING, rules(), lexicon(), ASKED)
    assert judge(once, rules(), lexicon(), ASKED).suggestions == once.suggestions


def test_a_number_stays_as_it_was_said() -> None:
    said = number("1.50", "mm", "thickness", about=True)
    told = judge(walk(finding("brake_pad", numbers=[said])), rules(), lexicon(), ASKED).findings[0].measurements[0]
    assert (str(told.value), told.unit, told.about, told.said) == ("1.50", "mm", True, said.said)
    assert told.value == Decimal("1.5")
