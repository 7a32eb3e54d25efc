"""The customer's words: what they complained of, and which finding the technician ties to it."""

from collections.abc import Callable, Sequence

import pytest

from narrate.find.findings import Context
from narrate.find.mining import Mined, mine, text_recording
from narrate.find.stages import run_stages
from narrate.find.vocabulary import Vocabulary
from narrate.records.walkaround import Concern

Found = Callable[..., Mined]


@pytest.fixture(scope="module")
def found(ready: Vocabulary) -> Found:
    """What a text gives, with the concerns of the order."""

    def find(text: str, ordered: Sequence[str] = ()) -> Mined:
        context = Context("us", "left", "r1")
        return mine(run_stages(text_recording(text).words, ready), ready, context, ordered)

    return find


def told(concerns: Sequence[Concern]) -> list[tuple[str, str, str]]:
    """Text, origin and state."""
    return [(c.text, c.origin, c.state) for c in concerns]


def answers(mined: Mined) -> list[tuple[str, list[tuple[str, str]]]]:
    """For each finding the concerns it answers, and how they are linked."""
    return [(f.component.id, [(a.concern, a.link) for a in f.answers]) for f in mined.findings]


@pytest.mark.parametrize(
    ("said", "concern"),
    [
        ("customer says it squeals when braking.", "it squeals when braking"),
        ("Customer states there's a clunk over bumps.", "there's a clunk over bumps"),
        ("the lady says it pulls to the left.", "it pulls to the left"),
        ("customer reports a rumble on the motorway", "a rumble on the motorway"),
        ("came in for a whine at speed.", "a whine at speed"),
        ("customer complains of a vibration at speed", "a vibration at speed"),
    ],
)
def test_what_the_customer_says_is_a_concern(found: Found, said: str, concern: str) -> None:
    assert [(concern, "spoken", "open")] == told(found(said).concerns)


def test_what_the_customer_says_is_no_finding(found: Found) -> None:
    mined = found("customer says the alternator is noisy when it's cold")
    assert ((), ()) == (mined.findings, mined.unplaced)


def test_a_concern_is_quoted_from_the_recording(found: Found) -> None:
    (concern,) = found("well, customer says it squeals when braking.").concerns
    assert (3, 6, "it squeals when braking.") == (
        concern.evidence[0].first_word,
        concern.evidence[0].last_word,
        concern.evidence[0].said,
    )


@pytest.mark.parametrize(
    ("said", "part"),
    [
        (
            "Customer says there is a grinding noise. Left front wheel bearing is rough, replace it. "
            "That's your grinding.",
            "wheel_bearing",
        ),
        (
            "Customer states the brakes squeal. Front pads are worn out. That explains the squeal.",
            "brake_pad",
        ),
        (
            "Customer reports a rumble at speed. Offside rear wheel bearing is worn, that'll be your rumble.",
            "wheel_bearing",
        ),
    ],
)
def test_thats_your_ties_the_part_spoken_of_to_the_concern(found: Found, said: str, part: str) -> None:
    mined = found(said)
    assert ([(part, [("c1", "stated")])], ["answered"]) == (answers(mined), [c.state for c in mined.concerns])


def test_a_concern_nobody_speaks_of_again_stays_open(found: Found) -> None:
    mined = found("Customer says there is a clunk over bumps. The battery is weak, replace it.")
    assert ([("battery", [])], ["open"]) == (answers(mined), [c.state for c in mined.concerns])


def test_another_symptom_answers_nothing(found: Found) -> None:
    mined = found("Customer says there is a clunk over bumps. Left wheel bearing is rough, that's your whine.")
    assert ["open"] == [c.state for c in mined.concerns]


def test_the_orders_concerns_come_first(found: Found) -> None:
    mined = found("Customer says it squeals when braking.", ["vibration at 60 mph"])
    assert [
        ("vibration at 60 mph", "order", "open"),
        ("it squeals when braking", "spoken", "open"),
    ] == told(mined.concerns)


def test_a_concern_of_the_order_is_answered_in_other_forms_of_its_words(found: Found) -> None:
    mined = found("Left front wheel bearing is rough. That's your grinding.", ["grinds when turning"])
    assert ([("wheel_bearing", [("c1", "stated")])], ["answered"]) == (
        answers(mined),
        [c.state for c in mined.concerns],
    )


def test_each_finding_answers_its_own_concern(found: Found) -> None:
    said = (
        "Left front wheel bearing is rough, that's your grinding. "
        "The sway bar link on the right is loose, that's your clunk."
    )
    assert [("wheel_bearing", [("c2", "stated")]), ("sway_bar_link", [("c1", "stated")])] == answers(
        found(said, ["clunking over bumps", "grinding noise"])
    )


def test_no_customer_means_no_concern(found: Found) -> None:
    assert () == found("the left front strut is leaking, replace it").concerns


def test_a_customer_who_says_nothing_has_no_concern(found: Found) -> None:
    assert () == found("customer says").concerns
