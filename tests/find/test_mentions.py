"""What the lexicon knows word for word: the longest name wins, and every meaning of it is kept."""

from collections.abc import Callable

import pytest

from narrate.find.draft import Draft, Mention

Read = Callable[[str], Draft]


def named(draft: Draft, family: str = "component") -> list[str]:
    """The keys of one family, in the order said."""
    return [m.key for m in sorted(draft.mentions, key=lambda m: m.first) if m.family == family]


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("the rear main seal", ["rear_main_seal"]),
        ("the brake pad wear sensor", ["brake_pad_wear_sensor"]),
        ("valve cover gasket", ["valve_cover_gasket"]),
        ("left inner tie rod", ["inner_tie_rod"]),
        ("the oil pan drain plug", ["oil_drain_plug"]),
    ],
)
def test_a_name_inside_a_longer_name_is_no_part_of_its_own(read: Read, said: str, expected: list[str]) -> None:
    assert expected == named(read(said))


def test_of_two_names_that_overlap_the_last_word_says_what_it_is(read: Read) -> None:
    assert ["window_seal"] == named(read("the rear window seal is loose"))


def test_a_place_inside_a_name_is_no_place(read: Read) -> None:
    assert [] == named(read("the rear main seal is leaking"), "location")


@pytest.mark.parametrize("said", ["cv boot", "CV boots", "cv-boot", "C V boot", "the c.v. boot"])
def test_a_name_is_known_however_it_is_written(read: Read, said: str) -> None:
    assert ["cv_boot"] == named(read(said))


@pytest.mark.parametrize(
    ("us", "gb"),
    [
        ("windshield", "windscreen"),
        ("hood", "bonnet"),
        ("fender", "wing"),
        ("muffler", "silencer"),
        ("sway bar link", "anti roll bar link"),
        ("brake rotor", "brake disc"),
        ("parking brake cable", "handbrake cable"),
        ("control arm bushing", "wishbone bush"),
        ("tire", "tyre"),
    ],
)
def test_both_sides_of_the_atlantic_name_one_part(read: Read, us: str, gb: str) -> None:
    assert (1, set(named(read(us)))) == (len(set(named(read(us)))), set(named(read(gb))))


def test_a_known_mishearing_counts_as_the_part_but_less_surely(read: Read) -> None:
    (part,) = [m for m in read("the break rotor is scored").mentions if m.family == "component"]
    assert ("brake_rotor", "heard", True) == (part.key, part.how, part.score < 1.0)


def test_one_word_with_two_meanings_is_kept_in_both(read: Read) -> None:
    assert {("action", "replace"), ("cue", "offer")} == {
        (m.family, m.key) for m in read("replace the hose").mentions if m.first == 0
    }


def test_ordinary_talk_names_no_part(read: Read) -> None:
    assert [] == named(read("the phone rang twice and I had a coffee before lunch"))


def test_a_mention_rests_on_the_tokens_it_covers(read: Read) -> None:
    (part,) = [m for m in read("left front wheel bearing").mentions if m.family == "component"]
    assert (("t2", "t3"), "name of component wheel_bearing") == (part.because, part.why)


def test_parts_named_in_one_breath_are_two_mentions(read: Read) -> None:
    parts: list[Mention] = [m for m in read("pads and rotors").mentions if m.family == "component"]
    assert [("brake_pad", 0, 0), ("brake_rotor", 2, 2)] == [(m.key, m.first, m.last) for m in parts]


def test_a_name_with_two_spellings_is_mentioned_once(read: Read) -> None:
    assert ["brake_rotor"] == named(read("the brake disc is lipped"))


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("I changed the drive belt. Tensioner is noisy.", ["drive belt", "tensioner"]),
        ("there's a nail in the right rear tire, patch it", ["tire"]),
        ("look at the water. Pump is fine", ["water", "pump"]),
        ("checked the air, filter is dirty", ["filter"]),
    ],
)
def test_a_name_does_not_reach_across_an_ending(read: Read, said: str, expected: list[str]) -> None:
    draft = read(said)
    parts = sorted((m for m in draft.mentions if m.family == "component"), key=lambda m: m.first)
    assert expected == [" ".join(t.text for t in draft.tokens[m.first : m.last + 1]) for m in parts]


def test_a_voltage_is_no_battery(read: Read) -> None:
    assert ["alternator"] == named(read("the alternator is putting out twelve volts"))
