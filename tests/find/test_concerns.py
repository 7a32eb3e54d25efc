"""The customer's words: what they complained of, and which finding the technician ties to it."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import pytest

from narrate.find.complaints import find_complaints
from narrate.find.draft import Scope
from narrate.find.findings import Context
from narrate.find.mining import Mined, mine, text_recording
from narrate.find.stages import READING, run_stages
from narrate.find.vocabulary import Vocabulary
from narrate.records.walkaround import Concern
from narrate.words.lexicon import Lexicon

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


@pytest.mark.parametrize(
    ("said", "concern", "symptom"),
    [
        ("she's in for a noise from the front. pads are worn.", "a noise from the front", "noise"),
        ("complaint is a vibration at sixty.", "a vibration at sixty", "shake_speed"),
        ("booked in for no heat. thermostat is stuck open.", "no heat", "no_heat"),
        ("the lady reckons it pulls left. caliper is seized.", "it pulls left", "pull"),
        (
            "hard to start in the mornings, he reckons. glow plugs are dead.",
            "hard to start in the mornings",
            "hard_start_cold",
        ),
        ("hello, pickup, shakes at sixty. left front tire is separated.", "shakes at sixty", "shake_speed"),
    ],
)
def test_plain_complaints_need_no_customer_says(found: Found, said: str, concern: str, symptom: str) -> None:
    (told_one,) = found(said).concerns
    assert (concern, symptom) == (told_one.text, told_one.symptoms[0])


ONE_BREATH = [
    ("customer states ac not cold, condenser is leaking, needs a condenser.", "ac not cold", "condenser"),
    ("customer says it squeals when braking left front pads are worn out.", "it squeals when braking", "brake_pad"),
]


@pytest.mark.parametrize(
    ("said", "concern"),
    [
        ("customer says it grinds, and yeah the left pads are down to metal.", "it grinds"),
        ("customer says it clunks over bumps, i had it up. left strut is leaking.", "it clunks over bumps"),
        *[(said, concern) for said, concern, _ in ONE_BREATH],
    ],
)
def test_what_the_technician_then_says_is_no_part_of_the_concern(found: Found, said: str, concern: str) -> None:
    assert [concern] == [c.text for c in found(said).concerns]


def test_what_the_technician_then_says_is_a_finding(found: Found) -> None:
    mined = found("customer says it grinds, and yeah the left pads are down to metal.")
    assert ["brake_pad"] == [f.component.id for f in mined.findings]


@pytest.mark.xfail(strict=True, reason="a cue reaches to the end of the sentence, and what lies there is no finding")
@pytest.mark.parametrize(("said", "part"), [(said, part) for said, _, part in ONE_BREATH])
def test_a_finding_told_in_one_breath_with_a_complaint_is_found(found: Found, said: str, part: str) -> None:
    assert [part] == [f.component.id for f in found(said).findings]


@pytest.mark.parametrize(
    ("said", "concerns"),
    [
        ("customer complains of grinding and a shimmy at highway speed.", ["grinding", "a shimmy at highway speed"]),
        ("customer says it shakes at sixty and it pulls left.", ["it shakes at sixty", "it pulls left"]),
        ("customer complains of a clunk and a bang over bumps.", ["a clunk and a bang over bumps"]),
        ("customer says it knocks on bumps and when turning.", ["it knocks on bumps and when turning"]),
    ],
)
def test_two_symptoms_in_one_breath_are_two_concerns(found: Found, said: str, concerns: list[str]) -> None:
    assert concerns == [c.text for c in found(said).concerns]


def test_symptoms_of_an_order_are_named_as_those_of_speech(found: Found) -> None:
    text = "clunk over bumps"
    ordered, spoken = found("battery is good.", [text]).concerns[0], found(f"customer says {text}.").concerns[0]
    assert ("clunk_bumps", "noise", "clunk") == ordered.symptoms == spoken.symptoms


def test_a_complaint_read_out_from_the_order_is_evidence_of_it(found: Found) -> None:
    (concern,) = found("customer says it squeals when braking. front pads are worn.", ["squeals when braking"]).concerns
    assert ("order", ["it squeals when braking."]) == (concern.origin, [e.said for e in concern.evidence])


def test_what_somebody_says_without_a_symptom_is_no_complaint(found: Found) -> None:
    assert () == found("he said leave it. front pads are worn out.").concerns


@pytest.mark.parametrize(
    ("said", "part"),
    [
        ("customer says there's a noise. wheel bearing is rough, there's your noise.", "wheel_bearing"),
        ("customer hears a knock over bumps. sway bar link is loose. which is what she's hearing.", "sway_bar_link"),
        ("complaint is a vibration at sixty. left front tire has a bulge, so that's the vibration.", "tire"),
        (
            "customer says there's a burning smell. valve cover gasket is leaking, that explains the smell.",
            "valve_cover_gasket",
        ),
        ("customer says it grinds when braking. rear pads are worn out, that'd be the grinding.", "brake_pad"),
        ("customer says it pulls right. the cause of the pull is the seized right caliper.", "brake_caliper"),
        ("customer says it hums at speed. wheel bearing is rough, that's your noise.", "wheel_bearing"),
        ("customer says there's a puddle under it. water pump is leaking, that's your leak.", "water_pump"),
        ("customer says it shimmies at sixty. left rear wheel is bent, that's your vibration.", "wheel"),
        ("the hum he asked about, that's the left rear wheel bearing, replace it.", "wheel_bearing"),
        ("customer states it hums at speed. the hum is the left rear wheel bearing, it's rough.", "wheel_bearing"),
        ("valve cover gasket is leaking, that's the burning smell she's been complaining about.", "valve_cover_gasket"),
        ("she says it squeals when cold. drive belt is glazed. that's what she's complaining about.", "drive_belt"),
    ],
)
def test_many_ways_to_say_what_it_was(found: Found, said: str, part: str) -> None:
    assert [(part, [("c1", "stated")])] == answers(found(said))


def test_several_findings_answer_one_concern(found: Found) -> None:
    said = "customer hears a hum. wheel bearing is rough. the tire is cupped. between those two that's your noise."
    assert [("wheel_bearing", [("c1", "stated")]), ("tire", [("c1", "stated")])] == answers(found(said))


def test_parts_named_in_one_breath_answer_together(found: Found) -> None:
    said = "front pads and rotors are worn out, that's your grinding."
    assert [("brake_pad", [("c1", "stated")]), ("brake_rotor", [("c1", "stated")])] == answers(
        found(said, ["grinding when stopping"])
    )


def test_not_your_noise_answers_nothing(found: Found) -> None:
    mined = found("customer says it grinds. drive belt is cracked. i don't think that's your grinding.")
    assert [("drive_belt", [])] == answers(mined)


def test_a_fault_that_causes_such_a_symptom_is_suggested(found: Found) -> None:
    mined = found("customer says it clunks over bumps. left strut is leaking, replace it.")
    assert ([("strut", [("c1", "suggested")])], ["partly"]) == (answers(mined), [c.state for c in mined.concerns])


def test_what_is_fine_is_not_suggested(found: Found) -> None:
    mined = found("customer says it grinds. the wheel bearings are fine.")
    assert ([("wheel_bearing", [])], ["open"]) == (answers(mined), [c.state for c in mined.concerns])


def test_nothing_is_suggested_beside_what_was_stated(found: Found) -> None:
    said = "customer says it clunks over bumps. sway bar link is loose, that's your clunk. right ball joint has play."
    mined = found(said)
    assert [("sway_bar_link", [("c1", "stated")]), ("ball_joint", [])] == answers(mined)


def test_the_three_likeliest_are_suggested(found: Found, lexicon: Lexicon) -> None:
    causes = lexicon.symptoms["clunk_bumps"].components
    said = "ball joint has play. sway bar link is loose. strut is leaking. strut mount is cracked."
    mined = found(said, ["clunk over bumps"])
    likeliest = sorted((f.component.id for f in mined.findings), key=causes.index)[:3]
    assert sorted(likeliest) == sorted(f.component.id for f in mined.findings if f.answers)


def test_a_stretch_read_by_the_encoder_begins_at_its_cue_and_ends_where_it_was_read(ready: Vocabulary) -> None:
    """The cue knows where the customer's words begin, the encoder where they end."""
    without = replace(ready, encoder=None)
    draft = run_stages(text_recording("customer says it pulls left front pads gone").words, without, READING)
    read = Scope("s9", "customer", 3, 4, ("t3", "t4"), "read")
    (complaint,) = find_complaints(replace(draft, scopes=(*draft.scopes, read)), without)
    assert ((2, 4), ("pull",)) == ((complaint.first, complaint.last), complaint.symptoms)
