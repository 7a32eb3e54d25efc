"""What the form of a VIN, a trouble code and a tire's marking tells, as suggestions to confirm."""

from datetime import date

import pytest
from judged import finding, lexicon, rules, walk

from narrate.judge.judging import Asked, judge
from narrate.judge.trouble_codes import plain_code
from narrate.judge.vehicle import KINDS, check_vehicle
from narrate.records.reviewed import Review
from narrate.records.walkaround import Finding, Suggestion, Vehicle, Walkaround

TODAY = date(2026, 6, 1)
VIN = "1M8GDM9AXKP042788"


def checked(walkaround: Walkaround, today: date = TODAY) -> list[Suggestion]:
    """The suggestions about the vehicle's own numbers."""
    found = [each for each in check_vehicle(walkaround, today=today).suggestions if each.kind in KINDS]
    assert all(each.source.strip() for each in found)
    return found


def texts(*findings: Finding) -> list[str]:
    """Their texts."""
    return [each.text for each in checked(walk(*findings))]


@pytest.mark.parametrize(
    ("vin", "told"),
    [
        (VIN[:-1], "It has 16 characters"),
        (f"{VIN}1", "It has 18 characters"),
        ("1M8GDM9A1KP042788", "The check digit at place 9 should be X but is 1"),
        ("IM8GDM9AXKP042788", "lace 1 has I"),
    ],
)
def test_a_vin_that_cannot_be_right_is_read_again(vin: str, told: str) -> None:
    [each] = checked(walk(vehicle=Vehicle(vin=vin)))
    assert told in each.text
    assert each.text.endswith("; read it again.")
    assert ("vehicle_number", None, "49 CFR 565.15") == (each.kind, each.for_, each.source)


@pytest.mark.parametrize("vehicle", [Vehicle(), Vehicle(vin=VIN), Vehicle(vin=VIN.lower()), Vehicle(plate="1")])
def test_a_vin_that_may_be_right_is_left_alone(vehicle: Vehicle) -> None:
    assert [] == checked(walk(vehicle=vehicle))


@pytest.mark.parametrize("code", ["P0301", "C1234", "B0020", "U0100", "P0420"])
def test_a_trouble_code_is_told_in_plain_words(code: str) -> None:
    [each] = checked(walk(finding("engine", codes=(code,))))
    assert f"{code}: {plain_code(code)}" == each.text
    assert ("trouble_code", "f1") == (each.kind, each.for_)


@pytest.mark.parametrize("code", ["P030", "0301", "X0301", "P9301", "P03O1"])
def test_a_code_of_wrong_form_is_read_again(code: str) -> None:
    [text] = texts(finding("engine", codes=(code,)))
    assert text.startswith(f"{code}: ")
    assert text.endswith("; read it again.")
    assert ".;" not in text


def test_every_code_of_every_finding_is_told_once_for_it() -> None:
    engine = finding("engine", codes=("P0301", "P0420", "P0301"))
    found = checked(walk(engine, finding("fuel_pump", id="f2", codes=("P0301",))))
    assert [("f1", "s1"), ("f1", "s2"), ("f2", "s3")] == [(each.for_, each.id) for each in found]


def test_the_code_itself_is_told() -> None:
    found = texts(finding("engine", codes=("P0301", "P0302")))
    assert ["P0301", "P0302"] == [text[:5] for text in found]


@pytest.mark.parametrize("said", ["tires are 225/45R17 all round", "the size is 225 45 17"])
def test_a_size_is_shown_to_be_checked(said: str) -> None:
    assert ["Tire size 225/45R17, as heard: check it on the sidewall."] == texts(finding("tire", said=said))


@pytest.mark.parametrize(
    ("said", "told"),
    [
        # Week 23 of 2019 has passed in June 2019; June 1, 2026 is one week short of seven years.
        ("the tires are dated 2319", "Date code 2319: made in week 23 of 2019, 6 years old; check it on the sidewall."),
        ("date code 0120.", "Date code 0120: made in week 1 of 2020, 6 years old; check it on the sidewall."),
        ("DOT 0125, getting on", "Date code 0125: made in week 1 of 2025, 1 year old; check it on the sidewall."),
        ("dot code is 239", "Date code 239: made before 2000."),
    ],
)
def test_a_date_code_tells_the_age(said: str, told: str) -> None:
    for component in ("tire", "spare_tire", "tire_date_code"):
        assert [told] == texts(finding(component, said=said))


def test_a_date_code_of_the_future_was_misread() -> None:
    [text] = texts(finding("tire", said="dated 5230"))
    assert "still to come" in text


@pytest.mark.parametrize(
    "said",
    ["2319 miles on it", "dated 9919", "date is unreadable", "the date code is somewhere on the inside 2319", ""],
)
def test_digits_that_no_word_announces_are_no_date_code(said: str) -> None:
    assert [] == texts(finding("tire", said=said))


@pytest.mark.parametrize("said", ["made in week 23 of 2019", "made in 2016", "week 40 of 2018"])
def test_a_year_is_no_date_code(said: str) -> None:
    assert not any("week 20 " in text for text in texts(finding("tire", said=said)))


def test_one_year_is_one_year() -> None:
    [text] = texts(finding("tire", said="dated 0125"))
    assert "1 year old" in text


def test_other_parts_have_no_tire_markings() -> None:
    assert [] == texts(finding("wheel", said="225/45R17 dated 2319"))


def test_dropped_findings_tell_nothing() -> None:
    dropped = Review(state="dropped")
    assert [] == texts(
        finding("tire", said="dated 2319 225/45R17", review=dropped),
        finding("engine", codes=("P0301",), review=dropped),
    )


def test_suggestions_of_other_kinds_stay_and_numbers_go_on() -> None:
    other = Suggestion(id="s1", kind="goes_with", text="fit both", source="a source")
    walkaround = walk(finding("engine", codes=("P0301",)), suggestions=(other,), vehicle=Vehicle(vin="1"))
    once = check_vehicle(walkaround, today=TODAY)
    assert ["s1", "s2", "s3"] == [each.id for each in once.suggestions]
    assert other == once.suggestions[0]


def test_judging_again_tells_the_same() -> None:
    asked = Asked(rule_set=None, today=TODAY)
    walkaround = walk(finding("engine", codes=("P0301",)), vehicle=Vehicle(vin="1"))
    once = judge(walkaround, rules(), lexicon(), asked)
    assert {"vehicle_number", "trouble_code"} <= {each.kind for each in once.suggestions}
    assert once == judge(once, rules(), lexicon(), asked)
