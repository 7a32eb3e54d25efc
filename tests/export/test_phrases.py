"""One wording everywhere."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from narrate.export.phrases import (
    say_amount,
    say_how_sure,
    say_list,
    say_money,
    say_recommendation,
    say_time,
    say_verdict,
)
from narrate.records.reviewed import Review
from narrate.records.walkaround import Recommendation, Verdict, Walkaround


@pytest.mark.parametrize(
    ("value", "unit", "high", "said"),
    [
        ("3", "mm", None, "3 mm"),
        ("5", "1/32in", None, "5/32 in"),
        ("0.125", "in", None, "0.125 in"),
        ("3", "mm", "4", "3 to 4 mm"),
        ("50", "percent", None, "50%"),
        ("-35", "degC", None, "-35 °C"),
        ("1E+3", "mi", None, "1000 mi"),
        ("310", "CCA", None, "310 CCA"),
    ],
)
def test_amounts_are_said_as_people_write_them(value: str, unit: str, high: str | None, said: str) -> None:
    """Digits as said, unit as written on paper."""
    assert said == say_amount(Decimal(value), unit, high=Decimal(high) if high else None)


@pytest.mark.parametrize(("seconds", "said"), [(0.0, "0:00"), (69.9, "1:09"), (3661.0, "61:01"), (None, "")])
def test_times_are_minutes_and_seconds(seconds: float | None, said: str) -> None:
    """Minutes go on past the hour, as a player shows them."""
    assert said == say_time(seconds)


@given(st.floats(min_value=0, max_value=1e6))
def test_times_are_never_rounded_up(seconds: float) -> None:
    """Playing from the time shown always starts before the words."""
    minutes, rest = say_time(seconds).split(":")
    assert 0 <= seconds - (int(minutes) * 60 + int(rest)) < 1


def test_money_has_its_mark_or_code() -> None:
    """A currency whose mark is not known here keeps its code."""
    assert ["$140.00", "£9.50", "12.00 SEK"] == [
        say_money(Decimal("140.00"), "USD"),
        say_money(Decimal("9.50"), "GBP"),
        say_money(Decimal("12.00"), "SEK"),
    ]


def test_a_verdict_names_its_limit_and_rules() -> None:
    """Who says so stands beside what they say."""
    verdict = Verdict(result="below", limit=Decimal("1.6"), unit="mm", rule_set="Great Britain")
    assert "below the limit of 1.6 mm (Great Britain)" == say_verdict(verdict)


@pytest.mark.parametrize(
    ("recommendation", "said"),
    [
        (Recommendation(), ""),
        (Recommendation(action="top_up", timing="done"), "top up; already done"),
        (Recommendation(timing="done"), "already done"),
        (Recommendation(action="monitor", timing="next visit"), "keep an eye on it; next visit"),
        (Recommendation(action="replace", optional=True), "replace (optional)"),
        (Recommendation(action="replace", conditional_on="it leaks"), "replace if it leaks"),
        (Recommendation(action="replace", conditional_on="while the hub is off"), "replace while the hub is off"),
    ],
)
def test_recommendations_read_as_said(recommendation: Recommendation, said: str) -> None:
    """Action, alternatives, condition, choice and time, in this order."""
    assert said == say_recommendation(recommendation)


def test_a_list_ends_in_and() -> None:
    """Commas between, `and` before the last."""
    assert ["", "a", "a and b", "a, b and c"] == [
        say_list(items) for items in ((), ("a",), ("a", "b"), ("a", "b", "c"))
    ]


def test_how_sure_is_said_in_words(walkaround: Walkaround) -> None:
    """A person's word comes before doubts, doubts before numbers."""
    finding = walkaround.findings[2]
    low = finding.confidence.model_copy(update={"overall": 0.3})
    middle = finding.confidence.model_copy(update={"overall": 0.6})
    assert ["sure", "fairly sure", "not sure", "corrected by a person", "check: heard 'will bearing'"] == [
        say_how_sure(finding),
        say_how_sure(finding.model_copy(update={"confidence": middle})),
        say_how_sure(finding.model_copy(update={"confidence": low})),
        say_how_sure(walkaround.findings[0].model_copy(update={"review": Review(state="corrected")})),
        say_how_sure(walkaround.findings[0]).split(";")[0],
    ]
