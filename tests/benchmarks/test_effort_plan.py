"""The planned keys are the ones that the page understands, and no more than needed."""

from dataclasses import replace
from decimal import Decimal

import pytest
from effort_plan import NOTHING_HEARD, Planner, going_on, line_edit, located, number_lines, places

from narrate.records.case import Expected
from narrate.records.walkaround import Component, Condition, Confidence, Finding, Measurement, Recommendation
from narrate.score.place import names_of
from narrate.words.load import load_lexicon
from narrate.words.search import search_names

SURE = Confidence(overall=1, component=1, location=1, condition=1, recommendation=1)


@pytest.fixture(scope="module")
def planner() -> Planner:
    lexicon = load_lexicon()
    return Planner(lexicon, names_of(lexicon), "us", {"mm": "mm", "1/32in": ""})


def found(planner: Planner, **fields: object) -> Finding:
    part = Component(id="brake_pad", name=planner.lexicon.name("brake_pad", "us"), system="brakes", heard="pads")
    worn = Condition(id="worn", name="worn", said="worn")
    told = {"status": "fault", "locations": ("front left",), "conditions": (worn,), **fields}
    return Finding(
        id="f1", component=part, recommendation=Recommendation(action="replace"), evidence=(), confidence=SURE, **told
    )


def expected(**fields: object) -> Expected:
    told = {"component": ("brake pad",), "locations": (("front left",),), "status": "fault", "conditions": ("worn",)}
    return Expected(**{**told, "actions": ("replace",), **fields})


@pytest.mark.parametrize(
    ("present", "answers", "keys"),
    [
        ((), [("front left", "front right")], ("7", "9", "Enter")),
        ((), [("front left", "front right"), ("front",)], ("8", "Enter")),
        ((), [("front left", "front right", "rear left", "rear right")], ("5", "Enter")),
        (("front left",), [("rear left lower",)], ("1", "7", "l", "Enter")),
        (("left",), [()], ("4", "Enter")),
        (("left",), [("left",), ()], ()),
        ((), [("left lower", "right upper")], None),
    ],
)
def test_places_take_the_fewest_keys_of_the_pad(
    present: tuple[str, ...], answers: list[tuple[str, ...]], keys: tuple[str, ...] | None
) -> None:
    planned = places(present, answers)
    assert (planned and len(planned)) == (keys and len(keys))
    if planned:
        assert {frozenset(place.split()) for place in located(present, planned)} in [
            {frozenset(place.split()) for place in answer} for answer in answers
        ]
    else:
        assert planned == keys


def test_a_line_is_written_anew_or_only_its_end() -> None:
    assert line_edit("", "3mm") == ("3", "m", "m", "Enter")
    assert line_edit("2 mm front left", "2 mm front left,3mm fr")[:2] == ("End", ",")
    assert line_edit("12 mm front left", "3mm") == ("Control+a", "3", "m", "m", "Enter")
    assert line_edit("3 mm", "3 mm") == ()
    assert line_edit("3 mm", "") == ("Control+a", "Backspace", "Enter")


def test_picked_letters_lead_to_an_accepted_part(planner: Planner) -> None:
    keys = planner.pick("component", ("brake rotor", "brake disc"))
    assert keys is not None
    assert keys[-1] == "Enter"
    letters = "".join(key for key in keys if len(key) == 1)
    match = search_names(planner.lexicon, "component", letters)[keys.count("ArrowDown")]
    assert match.id == "brake_rotor"
    assert planner.pick("component", ("no such part at all",)) is None


def test_a_right_finding_needs_no_key(planner: Planner) -> None:
    assert planner.fixes(found(planner), expected()) == {}


def test_wrong_fields_are_opened_by_their_keys(planner: Planner) -> None:
    fixes = planner.fixes(found(planner), expected(locations=(("front right",),), status="ok", conditions=None))
    assert fixes["status"] == ("s", "o")
    assert fixes["locations"] == ("p", "a"), "the other side is offered"
    fixes = planner.fixes(found(planner), expected(locations=(("rear right",),)))
    assert fixes["locations"] in (("p", "7", "3", "Enter"), ("p", "3", "7", "Enter"))
    assert planner.fixes(found(planner), expected(actions=()))["recommendation"] == ("r", "Backspace")


def test_numbers_are_kept_where_they_are_right(planner: Planner) -> None:
    three = Measurement(value=Decimal(3), unit="mm", said="three millimeters")
    owed = expected(measurements=(("3", "mm"), ("4", "mm")))
    keys = planner.fixes(found(planner, measurements=(three,)), owed)["measurements"]
    assert keys == ("n", "End", ",", "4", "m", "m", "Enter")
    assert planner.fixes(found(planner, measurements=(three,)), expected(measurements=(("3", "mm"),))) == {}
    assert planner.fixes(found(planner, measurements=(three,)), expected()) == {}


def test_adding_leaves_no_line_open(planner: Planner) -> None:
    fine = planner.adding(expected(locations=((),), status="ok", conditions=None, actions=()))
    assert fine is not None
    assert fine[-2:] == ("s", "o")
    placed = planner.adding(expected(conditions=None, actions=None))
    assert placed is not None
    assert placed[-1] == "click list"
    worn = planner.adding(expected(actions=None))
    assert worn is not None
    assert worn[-1] == "Escape"


def test_what_was_heard_is_taken_by_its_number(planner: Planner) -> None:
    heard = {
        **NOTHING_HEARD,
        "components": [{"id": "brake_caliper"}, {"id": "brake_rotor"}],
        "conditions": [{"id": "worn"}, {"id": "cracked"}],
        "actions": [{"id": "resurface"}],
        "numbers": [{"value": "3", "high": None, "unit": "mm", "about": False, "location": None}],
    }
    offering = replace(planner, heard=lambda _: heard)
    owed = expected(
        component=("brake rotor",), conditions=("cracked",), actions=("resurface",), measurements=(("3", "mm"),)
    )
    fixes = offering.fixes(found(planner), owed)
    assert fixes == {
        "component": ("c", "2"),
        "conditions": ("w", "1"),
        "recommendation": ("r", "1"),
        "measurements": ("n", "ArrowDown", "Enter"),
    }
    by_letters = offering.fixes(found(planner), owed, typed=True)
    assert all(len(keys) > len(fixes[name]) for name, keys in by_letters.items())


def test_lines_of_numbers_as_the_page_offers_them() -> None:
    two, three, four = (Measurement(value=Decimal(n), unit="mm", said="") for n in (2, 3, 4))
    assert number_lines((), (two, three)) == [(two,), (three,), (two, three)]
    assert number_lines((two,), (two, three)) == [(two, three), (three,)]
    assert number_lines((two, three), (four,)) == [(two,), (three,), (two, three, four), (four,)]


def test_shift_with_the_last_key_goes_on() -> None:
    assert going_on(("p", "7", "Enter")) == ("p", "7", "Shift+Enter")
    assert going_on(("c", "2")) == ("c", "Shift+2")
    assert going_on(("s", "o")) == ("s", "Shift+O")
    assert going_on(("r", "Backspace")) == ("r", "Backspace")


def test_what_is_fine_needs_no_more_keys(planner: Planner) -> None:
    fine = expected(status="ok", conditions=None, actions=())
    assert planner.fixes(found(planner), fine) == {"status": ("s", "o")}
    fault = planner.fixes(found(planner, status="work", conditions=()), expected())
    assert set(fault) == {"conditions"}, "with something wrong it is a fault"
