"""A bare word means the part talked about: named before, else of the system in focus, else the usual one."""

from collections.abc import Callable

import pytest

from narrate.find.draft import Draft, Mention

Read = Callable[[str], Draft]


def last_part(draft: Draft) -> Mention:
    """The part named last."""
    return max((m for m in draft.mentions if m.family == "component"), key=lambda m: m.first)


def test_a_bare_word_with_nothing_before_it_is_the_usual_part(read: Read) -> None:
    assert ["water_pump", "alias"] == [last_part(read("the pump is noisy")).key, last_part(read("the pump")).how]


def test_a_part_named_before_is_what_a_bare_word_means(read: Read) -> None:
    part = last_part(read("the fuel pump is noisy. the pump is leaking"))
    assert ("fuel_pump", "water_pump") == (part.key, part.runner_up)


def test_the_part_named_last_is_meant_before_one_named_earlier(read: Read) -> None:
    said = "the fuel pump is noisy. the power steering pump is leaking. that pump is finished"
    assert "power_steering_pump" == last_part(read(said)).key


@pytest.mark.parametrize(
    ("said", "part"),
    [
        ("the brakes are worn and the fluid is dark", "brake_fluid"),
        ("transmission is slipping. fluid is burnt", "transmission_fluid"),
        ("power steering pump is whining. the fluid is low", "power_steering_fluid"),
        ("the seat belt is frayed. the belt is cut", "seat_belt"),
    ],
)
def test_the_system_talked_about_tells_what_a_bare_word_means(read: Read, said: str, part: str) -> None:
    assert part == last_part(read(said)).key


def test_a_bare_word_that_could_be_anything_is_no_part(read: Read) -> None:
    assert [] == [m for m in read("the seal is leaking").mentions if m.family == "component"]


def test_a_word_resolved_is_less_sure_and_says_why(read: Read) -> None:
    part = last_part(read("the fuel pump is noisy. the pump is leaking"))
    assert (0.8, True) == (part.score, part.why.startswith("bare name: named before"))


def test_a_word_resolved_rests_on_the_part_that_resolved_it(read: Read) -> None:
    assert ("t6", "t1", "t2") == last_part(read("the fuel pump is noisy. the pump is leaking")).because


def test_a_bare_word_keeps_one_meaning_only(read: Read) -> None:
    draft = read("the fuel pump is noisy. the pump is leaking")
    assert 1 == sum(m.family == "component" and m.first == 6 for m in draft.mentions)


def test_a_word_settled_settles_the_next(read: Read) -> None:
    draft = read("the fuel pump is noisy. the pump is leaking. yes the pump")
    assert ["fuel_pump"] * 3 == [m.key for m in draft.mentions if m.family == "component"]


def test_what_was_named_in_full_stays_as_it_is(read: Read) -> None:
    parts = [m for m in read("the upper radiator hose is split").mentions if m.family == "component"]
    assert [("radiator_hose", 1.0)] == [(m.key, m.score) for m in parts]


def test_a_gasket_named_in_full_is_what_the_gasket_means(read: Read) -> None:
    assert "valve_cover_gasket" == last_part(read("the valve cover gasket is leaking, the gasket is hard")).key


@pytest.mark.parametrize(
    ("said", "component"), [("rear belts all latch", "seat_belt"), ("the belt is cracked", "drive_belt")]
)
def test_a_place_rules_out_what_there_is_but_one_of(read: Read, said: str, component: str) -> None:
    assert [component] == [m.key for m in read(said).mentions if m.family == "component" and m.first <= 1]


@pytest.mark.xfail(strict=True, reason="of several parts of the system the first in the lexicon is taken")
def test_the_cable_of_a_bonnet_is_no_sliding_door_cable(read: Read) -> None:
    assert "hood_release_cable" == last_part(read("the bonnet is bent and the cable is stuck")).key
