"""What was said of which part: each place, condition, verdict, action and amount finds its heads."""

from collections.abc import Callable

import pytest

from narrate.find.draft import Draft
from narrate.find.joining import ILLEGAL, LEAST, OFFERED, candidates, certain, join
from narrate.find.mining import text_recording
from narrate.find.scene import Scene
from narrate.find.stages import READING, run_stages
from narrate.find.vocabulary import Vocabulary

Join = Callable[[str], Draft]
WORDY = "left front strut is leaking, replace it, the rear pads are at eight mil and fine, so no play in the ball joint"


@pytest.fixture(scope="module")
def joined(ready: Vocabulary) -> Join:
    """The draft of a text with everything linked."""
    return lambda text: join(run_stages(text_recording(text).words, ready, READING), ready)


def pairs(draft: Draft, *families: str) -> set[tuple[str, str]]:
    """(part or pronoun, what is linked to it) in the words said, of some families; "amount" is one."""
    spans = {item.id: (item.first, item.last) for item in (*draft.mentions, *draft.amounts)}
    family = {**{m.id: m.family for m in draft.mentions}, **{a.id: "amount" for a in draft.amounts}}

    def words(item: str) -> str:
        first, last = spans[item]
        return " ".join(token.text for token in draft.tokens[first : last + 1])

    return {(words(n.head), words(n.dependent)) for n in draft.links if family[n.dependent] in families}


def test_a_place_belongs_to_the_part_right_behind_it(joined: Join) -> None:
    said = "left front strut is leaking. right rear caliper is seized"
    assert {("strut", "left front"), ("caliper", "right rear")} == pairs(joined(said), "location")


def test_a_condition_belongs_to_the_part_it_was_said_of(joined: Join) -> None:
    said = "the radiator is leaking. the serpentine belt is cracked"
    assert {("radiator", "leaking"), ("serpentine belt", "cracked")} == pairs(joined(said), "condition")


def test_an_amount_belongs_to_the_part_it_was_said_of(joined: Join) -> None:
    said = "front brake pads are at three millimeters. the battery is at eleven volts"
    assert {("brake pads", "three millimeters"), ("battery", "eleven volts")} == pairs(joined(said), "amount")


def test_a_condition_of_two_parts_in_one_list_belongs_to_both(joined: Join) -> None:
    assert {("pads", "worn"), ("rotors", "worn")} == pairs(joined("the front pads and rotors are worn"), "condition")


def test_a_part_right_behind_needs_a_is_offered(ready: Vocabulary, joined: Join) -> None:
    scene = Scene(joined("it needs a new battery"), ready)
    ((family, offer),) = [(f, i) for f, i in scene.dependents if f == "offer"]
    (battery,) = [n for n, head in enumerate(scene.heads) if head.family == "component"]
    assert OFFERED == certain(scene, battery, family, offer, 0.1)


def test_a_condition_such_a_part_cannot_have_is_unlikely_to_belong_to_it(ready: Vocabulary, joined: Join) -> None:
    scene = Scene(joined("the radiator is cloudy"), ready)
    ((family, cloudy),) = [(f, i) for f, i in scene.dependents if f == "condition"]
    assert 0.9 * ILLEGAL == certain(scene, 0, family, cloudy, 0.9)


def test_a_unit_such_a_part_is_not_measured_in_is_unlikely_to_belong_to_it(ready: Vocabulary, joined: Join) -> None:
    scene = Scene(joined("front brake pads, thirty psi"), ready)
    ((family, pressure),) = [(f, i) for f, i in scene.dependents if f == "amount"]
    assert 0.9 * ILLEGAL == certain(scene, 0, family, pressure, 0.9)


def test_what_was_taken_back_belongs_to_nothing(joined: Join) -> None:
    assert {("caliper", "right front")} == pairs(joined("left, no wait, right front caliper"), "location")


@pytest.mark.parametrize("said", ["it was leaking and cracked at eight volts", "leaking badly", ""])
def test_with_no_part_named_no_part_is_given_anything(joined: Join, said: str) -> None:
    draft = joined(said)
    parts = {m.id for m in draft.mentions if m.family == "component"}
    assert set() == {link.head for link in draft.links} & parts


def test_every_link_is_likely_enough_and_says_what_it_joins(joined: Join) -> None:
    draft = joined(WORDY)
    assert [True] * len(draft.links) == [
        LEAST <= link.probability <= 1.0 and link.because == (link.head, link.dependent) for link in draft.links
    ]
    assert len(draft.links) >= 5


def test_nothing_is_joined_to_a_part_far_away(ready: Vocabulary, joined: Join) -> None:
    scene = Scene(joined("strut " + "well you know the thing " * 12 + "leaking"), ready)
    ((family, leaking),) = [(f, i) for f, i in scene.dependents if f == "condition"]
    assert 0 not in list(candidates(scene, family, leaking))


def test_the_same_words_are_joined_the_same_way_twice(joined: Join) -> None:
    assert joined(WORDY).links == joined(WORDY).links


@pytest.mark.xfail(strict=True, reason="any head is taken besides the likeliest if it is nearly certain")
def test_what_is_said_of_them_belongs_to_the_part_named_last(joined: Join) -> None:
    said = "front brake pads are at three mil, rotors have a lip on them, recommend pads and rotors"
    assert {("rotors", "lip")} == pairs(joined(said), "condition") - {("them", "lip")}
