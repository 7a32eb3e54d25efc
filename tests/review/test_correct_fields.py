"""One field of a finding corrected: what it means changes, what was heard stays."""

from decimal import Decimal
from typing import Any

import pytest
from corrected import AT, corrected, found, lexicon, of

from narrate.errors import ConflictError, UsageError
from narrate.records.walkaround import Doubt, Finding, Walkaround


def changed(do: str, component: str = "brake_pad", **keys: Any) -> Finding:
    """A finding of the example after a correction."""
    walkaround = found()
    id_ = of(walkaround, component).id
    after = corrected(walkaround, do, finding=id_, **keys)
    return next(f for f in after.findings if f.id == id_)


def test_another_component_brings_its_names_and_keeps_what_was_heard() -> None:
    pads = of(found(), "brake_pad")
    finding = changed("component", to="brake_rotor", seen="brake_pad")
    assert finding.component.id == "brake_rotor"
    assert finding.component.name == lexicon().name("brake_rotor", "us")
    assert finding.component.system == "brakes"
    assert finding.component.heard == pads.component.heard
    assert finding.evidence == pads.evidence
    assert (finding.review.state, finding.review.by, finding.review.at) == ("corrected", "Ann", AT)


def test_the_name_is_the_markets() -> None:
    british = found().model_copy(update={"market": "gb"})
    id_ = of(british, "brake_pad").id
    after = corrected(british, "component", finding=id_, to="brake_rotor", seen="brake_pad")
    assert of(after, "brake_rotor").component.name == "brake disc"


def test_a_person_is_sure_and_the_doubt_goes() -> None:
    walkaround = found()
    pads = of(walkaround, "brake_pad")
    doubts = (Doubt(field="component", why="heard 'pad'"), Doubt(field="sound", why="impact wrench"))
    doubted = pads.model_copy(update={"doubts": doubts})
    walkaround = walkaround.model_copy(update={"findings": (doubted,)})
    after = corrected(walkaround, "component", finding=pads.id, to="brake_rotor", seen="brake_pad")
    [finding] = after.findings
    assert [doubt.field for doubt in finding.doubts] == ["sound"]
    sure = finding.confidence
    assert sure.component == 1.0
    assert sure.location == pads.confidence.location
    assert sure.overall == min(sure.component, sure.location, sure.condition, sure.recommendation)


def test_what_someone_else_changed_meanwhile_is_not_overwritten() -> None:
    walkaround = found()
    id_ = of(walkaround, "brake_pad").id
    first = corrected(walkaround, "status", finding=id_, to="unclear", seen="fault", by="Bo")
    with pytest.raises(ConflictError, match=r"status of the brake pad was changed to unclear by Bo .*look at it again"):
        corrected(first, "status", finding=id_, to="ok", seen="fault")
    assert corrected(first, "status", finding=id_, to="unclear", seen="fault") is first


def test_a_number_goes_along_when_its_side_is_corrected() -> None:
    finding = changed("locations", to=["rear left", "front right"], seen=["front left", "front right"])
    assert finding.locations == ("rear left", "front right")
    before = of(found(), "brake_pad").measurements
    assert [m.location for m in before if m.location == "front left"]
    assert [m.location for m in finding.measurements] == [
        "rear left" if m.location == "front left" else m.location for m in before
    ]


def test_a_number_of_a_place_that_is_only_gone_stays_there() -> None:
    before = of(found(), "brake_pad").measurements
    finding = changed("locations", to=["front right"], seen=["front left", "front right"])
    assert [m.location for m in finding.measurements] == [m.location for m in before]


@pytest.mark.parametrize("place", ["left front", "front front", "front rear", "middle", "", "front  left"])
def test_a_place_is_legal_words_in_their_order(place: str) -> None:
    if place == "front  left":
        assert changed("locations", to=[place], seen=["front left", "front right"]).locations == ("front left",)
        return
    with pytest.raises(UsageError, match="is no place"):
        changed("locations", to=[place], seen=["front left", "front right"])


def test_what_is_fine_has_no_conditions_and_no_caution() -> None:
    finding = changed("status", to="ok", seen="fault")
    assert finding.status == "ok"
    assert finding.conditions == ()
    assert finding.cautions == ()
    assert changed("status", "cabin_air_filter", to="fault", seen="ok").status == "fault"


def test_conditions_get_their_names_and_keep_what_was_said() -> None:
    before = {c.id: c.said for c in of(found(), "shock_absorber").conditions}
    to = [{"id": "leaking", "certainty": "suspected"}, {"id": "worn", "certainty": "stated"}]
    finding = changed("conditions", "shock_absorber", to=to, seen=["leaking"])
    assert [(c.id, c.certainty, c.said) for c in finding.conditions] == [
        ("leaking", "suspected", before["leaking"]),
        ("worn", "stated", ""),
    ]
    assert finding.conditions[1].name == lexicon().conditions["worn"].name


def test_with_something_wrong_it_is_a_fault() -> None:
    finding = changed("conditions", "cabin_air_filter", to=[{"id": "worn", "certainty": "stated"}], seen=[])
    assert (finding.status, [c.id for c in finding.conditions]) == ("fault", ["worn"])
    fine = changed("conditions", "cabin_air_filter", to=[], seen=[])
    assert fine.status == "ok"


def test_what_is_fine_needs_nothing_done() -> None:
    finding = changed("status", to="ok", seen="fault")
    assert (finding.conditions, finding.recommendation.action) == ((), None)
    assert changed("status", to="unclear", seen="fault").recommendation.action == "replace"


@pytest.mark.parametrize(
    ("do", "to", "seen"),
    [
        ("component", "flux_capacitor", "brake_pad"),
        ("conditions", [{"id": "sad", "certainty": "stated"}], ["worn"]),
        ("recommendation", {"action": "pray"}, "replace"),
        ("recommendation", {"action": "replace", "otherwise": ["pray"]}, "replace"),
        ("measurements", [{"value": "3", "unit": "furlong"}], ["3", "4"]),
    ],
)
def test_ids_and_units_are_those_of_the_lexicon(do: str, to: object, seen: object) -> None:
    with pytest.raises(UsageError, match="in the lexicon; choose one that is listed"):
        changed(do, to=to, seen=seen)


def test_a_recommendation_is_changed_as_a_whole() -> None:
    to = {"action": "resurface", "otherwise": ["replace"], "timing": "next visit", "conditional_on": None}
    finding = changed("recommendation", to={**to, "optional": True}, seen="replace")
    assert finding.recommendation.action == "resurface"
    assert finding.recommendation.otherwise == ("replace",)
    assert finding.recommendation.timing == "next visit"
    assert finding.recommendation.optional
    assert finding.confidence.recommendation == 1.0


def test_a_number_read_otherwise_keeps_its_words_and_is_judged_anew() -> None:
    pads = of(found(), "brake_pad")
    seen = [str(m.value) for m in pads.measurements]
    to = [
        {"value": "0.5", "unit": m.unit, "quantity": m.quantity, "location": m.location} if n == 0
        else {"value": str(m.value), "unit": m.unit, "quantity": m.quantity, "location": m.location}
        for n, m in enumerate(pads.measurements)
    ]  # fmt: skip
    finding = changed("measurements", to=to, seen=seen)
    assert finding.measurements[0].value == Decimal("0.5")
    assert finding.measurements[0].said == pads.measurements[0].said
    assert finding.measurements[1:] == pads.measurements[1:]
    verdict = finding.measurements[0].verdict
    assert verdict is not None
    assert verdict.result == "below"


def test_a_number_taken_out_leaves_the_words_with_the_others() -> None:
    pads = of(found(), "brake_pad")
    assert len(pads.measurements) == 2
    last = pads.measurements[1]
    to = [{"value": str(last.value), "unit": last.unit, "quantity": last.quantity, "location": last.location}]
    finding = changed("measurements", to=to, seen=["3", "4"])
    assert finding.measurements == (last,)


def test_a_spoken_limit_stays_unless_it_is_given() -> None:
    walkaround = found()
    pads = of(walkaround, "brake_pad")
    number = pads.measurements[0].model_copy(update={"spoken_limit": Decimal(2)})
    pads = pads.model_copy(update={"measurements": (number,)})
    walkaround = walkaround.model_copy(update={"findings": (pads,)})
    plain = {"value": "5", "unit": "mm", "quantity": "thickness"}
    after = corrected(walkaround, "measurements", finding=pads.id, to=[plain], seen=["3"])
    assert after.findings[0].measurements[0].spoken_limit == Decimal(2)
    after = corrected(walkaround, "measurements", finding=pads.id, to=[{**plain, "spoken_limit": None}], seen=["3"])
    assert after.findings[0].measurements[0].spoken_limit is None


def test_words_and_lists_are_changed() -> None:
    finding = changed("words", field="reason", to="metal on metal", seen=None)
    assert finding.reason == "metal on metal"
    assert changed("lists", field="codes", to=["p0301", "P0301"], seen=[]).codes == ("P0301",)
    assert changed("lists", field="part_options", to=["rebuilt"], seen=[]).part_options == ("rebuilt",)
    assert changed("lists", field="attachments", to=["a1"], seen=[]).attachments == ("a1",)


def test_a_price_keeps_its_words_where_the_amount_does() -> None:
    [price] = of(found(), "drive_belt").quoted_prices
    same = {"amount": str(price.amount), "currency": "EUR", "for": ""}
    finding = changed("prices", "drive_belt", to=[same, {"amount": "95", "currency": "USD", "for": "new"}], seen=["80"])
    assert [(p.currency, p.said) for p in finding.quoted_prices] == [("EUR", price.said), ("USD", "")]


def test_how_soon_a_person_says_stands_against_the_rules() -> None:
    before = of(found(), "brake_pad").urgency
    assert before is not None
    assert before.origin == "rule"
    to = {"when": "no_hurry", "by": None, "why": "customer scraps it"}
    finding = changed("urgency", to=to, seen=before.when)
    assert finding.urgency is not None
    assert (finding.urgency.when, finding.urgency.origin) == ("no_hurry", "person")


def test_without_a_persons_word_the_rules_speak_again() -> None:
    walkaround = found()
    pads = of(walkaround, "brake_pad")
    assert pads.urgency is not None
    set_ = corrected(walkaround, "urgency", finding=pads.id, to={"when": "no_hurry"}, seen=pads.urgency.when)
    back = corrected(set_, "urgency", finding=pads.id, to=None, seen="no_hurry")
    assert of(back, "brake_pad").urgency == pads.urgency


def test_an_answer_that_a_person_names_is_no_suggestion_any_more() -> None:
    walkaround = found()
    [concern] = walkaround.concerns
    assert concern.state == "partly"
    id_ = of(walkaround, "brake_pad").id
    after = corrected(walkaround, "answers", finding=id_, to=[concern.id], seen=[concern.id])
    assert of(after, "brake_pad").answers[0].link == "stated"
    assert after.concerns[0].state == "answered"
    none = corrected(after, "answers", finding=id_, to=[], seen=[concern.id])
    assert none.concerns[0].state == "open"
    with pytest.raises(UsageError, match="no concern c9"):
        corrected(walkaround, "answers", finding=id_, to=["c9"], seen=[concern.id])


def test_a_confirmed_finding_edited_afterwards_is_corrected_and_an_added_one_stays_added() -> None:
    walkaround = found()
    id_ = of(walkaround, "brake_pad").id
    walkaround = corrected(walkaround, "confirm", findings=[id_])
    after = corrected(walkaround, "status", finding=id_, to="unclear", seen="fault")
    assert of(after, "brake_pad").review.state == "corrected"
    added = corrected(walkaround, "add", component="tire", status="ok")
    id_ = of(added, "tire").id
    assert of(corrected(added, "status", finding=id_, to="fault", seen="ok"), "tire").review.state == "added"


def test_a_dropped_finding_is_not_edited() -> None:
    walkaround: Walkaround = found()
    id_ = of(walkaround, "brake_pad").id
    walkaround = corrected(walkaround, "drop", finding=id_, why="another car")
    with pytest.raises(UsageError, match="restore it first"):
        corrected(walkaround, "status", finding=id_, to="ok", seen="fault")
    with pytest.raises(UsageError, match="no finding f99"):
        corrected(walkaround, "status", finding="f99", to="ok", seen="fault")


def test_a_settled_contradiction_is_asked_again_when_one_side_changes() -> None:
    walkaround = found("front rotors are fine. front rotors are scored, replace them.")
    [contradiction] = walkaround.contradictions
    about = "+".join(contradiction.between)
    walkaround = corrected(walkaround, "decide", about=about, decided="settled", why="two cars")
    id_ = contradiction.between[1]
    kept = corrected(walkaround, "words", finding=id_, field="reason", to="heat", seen=None)
    assert [d.about for d in kept.decisions] == [about]
    seen = next(f for f in walkaround.findings if f.id == id_)
    after = corrected(walkaround, "locations", finding=id_, to=["rear"], seen=list(seen.locations))
    assert after.decisions == ()
