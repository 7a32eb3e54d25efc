"""The advisor sees first what costs most if wrong and is least sure."""

import pytest

from narrate.judge.review_order import COST, order_for_review
from narrate.records.walkaround import (
    Component,
    Confidence,
    Evidence,
    Finding,
    MadeBy,
    Status,
    Walkaround,
)

MADE_BY = MadeBy(program="narrate 0", lexicon="sha256:0", settings="sha256:0")


def finding(id_: str, status: Status, overall: float) -> Finding:
    """A finding with a status and a confidence."""
    return Finding(
        id=id_,
        component=Component(id="strut", name="strut", system="suspension", heard="strut"),
        status=status,
        evidence=(Evidence(recording="r1", first_word=0, last_word=0, said="strut"),),
        confidence=Confidence(overall=overall, component=overall, location=1.0, condition=1.0, recommendation=1.0),
    )


def ordered(*findings: Finding) -> tuple[str, ...]:
    """The order some findings are reviewed in."""
    return order_for_review(Walkaround(made_by=MADE_BY, findings=findings)).review_order


def test_the_least_sure_of_one_kind_comes_first() -> None:
    assert ("f2", "f3", "f1") == ordered(
        finding("f1", "fault", 0.9), finding("f2", "fault", 0.3), finding("f3", "fault", 0.6)
    )


def test_of_two_as_unsure_the_costlier_mistake_comes_first() -> None:
    assert ("f3", "f2", "f1") == ordered(
        finding("f1", "unchecked", 0.5), finding("f2", "fault", 0.5), finding("f3", "ok", 0.5)
    )


def test_a_fault_taken_for_fine_is_the_costliest_mistake() -> None:
    assert "ok" == max(COST, key=lambda status: COST[status])


def test_every_status_has_a_cost() -> None:
    assert {"fault", "ok", "unclear", "unchecked", "work"} == set(COST)


def test_a_very_doubtful_cheap_one_comes_before_a_sure_dear_one() -> None:
    assert ("f2", "f1") == ordered(finding("f1", "ok", 0.99), finding("f2", "unchecked", 0.2))


def test_at_a_draw_what_was_said_first_comes_first() -> None:
    assert ("f1", "f2", "f3") == ordered(*(finding(f"f{n}", "fault", 0.5) for n in (1, 2, 3)))


@pytest.mark.parametrize("count", [0, 1, 7])
def test_every_finding_is_in_the_order_once(count: int) -> None:
    findings = [finding(f"f{n}", "fault", n / 10) for n in range(count)]
    assert sorted(f.id for f in findings) == sorted(ordered(*findings))


def test_nothing_but_the_order_changes() -> None:
    walk = Walkaround(made_by=MADE_BY, findings=(finding("f1", "fault", 0.9), finding("f2", "ok", 0.2)))
    assert walk == order_for_review(walk).model_copy(update={"review_order": ()})


def test_ordering_twice_changes_nothing() -> None:
    walk = order_for_review(Walkaround(made_by=MADE_BY, findings=(finding("f1", "ok", 0.2),)))
    assert walk == order_for_review(walk)
