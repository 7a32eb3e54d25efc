"""What usually goes with a piece of work: told once, with its source, and only where nobody spoke of it."""

from datetime import date

import pytest
from judged import finding, lexicon, rules, walk

from narrate.judge.goes_with import KIND, suggest_goes_with
from narrate.judge.judging import Asked, judge
from narrate.records.recording import Recording, Word
from narrate.records.reviewed import Review
from narrate.records.walkaround import Finding, Recommendation, Suggestion, Walkaround
from narrate.words.rule_entries import Job

SIDE = "Fit pads on both sides of the axle."
ROTORS = "Measure the rotors for thickness and runout"
BED_IN = "Bed in the new friction surfaces"


def heard(*said: str) -> tuple[Recording, ...]:
    """One recording for each text."""
    return tuple(
        Recording(id=f"r{number}", name=f"{number}.wav", words=tuple(Word(text=word) for word in text.split()))
        for number, text in enumerate(said, 1)
    )


def suggested(*findings: Finding, said: str = "") -> list[Suggestion]:
    """The suggestions for findings, and for words that were said."""
    walkaround = walk(*findings, recordings=heard(said))
    return [each for each in suggest_goes_with(walkaround, rules(), lexicon()).suggestions if each.kind == KIND]


def texts(*findings: Finding, said: str = "") -> list[str]:
    """Their texts."""
    return [each.text for each in suggested(*findings, said=said)]


def told(beginning: str, *findings: Finding, said: str = "") -> bool:
    """Whether something that begins so is suggested."""
    return any(text.startswith(beginning) for text in texts(*findings, said=said))


PADS = finding("brake_pad", at="front left", action="replace")


@pytest.mark.parametrize(
    ("component", "action", "at", "beginning"),
    [
        ("brake_pad", "replace", "front left", SIDE),
        ("brake_pad", "replace", "front", "Fit new hardware and lubricate the slides"),
        ("brake_pad", "replace", "front", ROTORS),
        ("brake_rotor", "resurface", "front", "Fit new pads with new or machined rotors."),
        ("brake_rotor", "replace", "rear right", "Do the rotors on both sides of the axle"),
        ("brake_pad", "replace", "rear", "If the parking brake is electric"),
        ("brake_caliper", "replace", "rear left", "Bleed the brakes with fresh fluid"),
        ("brake_hose", "replace", "front left", "Bleed the brakes with fresh fluid"),
        ("wheel_cylinder", "replace", "rear left", "Replace the wheel cylinder on the other side"),
        ("brake_shoe", "replace", "rear", "Fit new springs and hardware"),
        ("tie_rod_end", "replace", "front right", "Check and set the wheel alignment afterward, with the steering"),
        ("control_arm", "replace", "front left", "Check and set the wheel alignment afterward."),
        ("shock_absorber", "replace", "rear left", "Replace shocks in axle pairs."),
        ("strut", "replace", "front", "Fit new mounts, bearings, bump stops"),
        ("coil_spring", "replace", "rear left", "Replace springs in axle pairs"),
        ("sway_bar_link", "replace", "front right", "Replace sway bar links in pairs."),
        ("tire", "replace", "front", "Mount and balance the new tires."),
        ("tire_pressure_sensor", "replace", "rear left", "Program the new sensor to the car."),
        ("cv_axle", "replace", "front left", "Fit a new axle nut"),
        ("clutch", "replace", (), "Look at the flywheel"),
        ("engine_oil", "replace", (), "Fit a new oil filter with the oil."),
        ("timing_belt", "replace", (), "Where the timing belt drives the water pump"),
        ("water_pump", "replace", (), "Fit a new gasket or O-ring, and refill with the specified coolant."),
        ("radiator_hose", "replace", "upper", "Fit new clamps or seals and top up"),
        ("thermostat", "replace", (), "Bleed the air from the cooling system"),
        ("ac_compressor", "replace", (), "Fit a new receiver drier or accumulator"),
        ("refrigerant", "recharge", (), "Find the leak before recharging"),
        ("spark_plug", "replace", (), "Look at the coils and boots"),
        ("battery", "replace", (), "Register or program the new battery"),
        ("headlight_bulb", "replace", "left", "Replace headlight bulbs in pairs"),
        ("windshield", "replace", (), "Calibrate the forward camera"),
        ("airbag_module", "replace", (), "Disconnect the battery and wait"),
        ("high_voltage_battery", "replace", (), "Have a qualified person isolate"),
    ],
)
def test_work_brings_along_what_the_trade_does_with_it(
    component: str, action: str, at: str | tuple[str, ...], beginning: str
) -> None:
    assert told(beginning, finding(component, at=at, action=action))


@pytest.mark.parametrize(
    ("component", "action", "at", "beginning"),
    [
        ("brake_pad", "replace", "front", "If the parking brake is electric"),
        ("brake_pad", "inspect", "front", ROTORS),
        ("brake_rotor", "clean", "front", "Fit new pads"),
        ("tire", "rotate", "front", "Mount and balance the new tires."),
        ("brake_hose", "inspect", "front", "Bleed the brakes"),
        ("wiper_blade", "replace", "rear", "Replace both windshield wiper blades."),
    ],
)
def test_another_place_or_another_action_does_not(component: str, action: str, at: str, beginning: str) -> None:
    assert not told(beginning, finding(component, at=at, action=action))


def filled(name: str, job: Job) -> Finding:
    """A finding that the job is about: its first component and action, at its own place or on one side."""
    at = job.places or (("front left",) if job.pair else ())
    return finding(job.components[0], at=at[:1], action=job.actions[0], said=name)


@pytest.mark.parametrize("name", sorted(rules().jobs))
def test_every_job_of_the_file_fires_on_its_own_part(name: str) -> None:
    job = rules().jobs[name]
    found = [each for each in suggested(filled(name, job)) if each.text.startswith(job.text)]
    assert 1 == len(found)
    assert (found[0].source, found[0].for_) == (job.source, "f1")
    assert job.source.strip()


def spoken(job: Job) -> str:
    """What a technician would say of the part of a job: at least its name."""
    return f"the {lexicon().components[job.components[0]].name}"


def test_the_name_of_the_part_itself_keeps_no_job_quiet() -> None:
    quiet = [name for name, job in rules().jobs.items() if not told(job.text, filled(name, job), said=spoken(job))]
    assert [] == quiet


@pytest.mark.parametrize(
    ("component", "at", "said", "beginning"),
    [
        ("brake_hose", "front left", "replace the hose and we'll bleed it after", "Bleed the brakes"),
        ("brake_hose", "front left", "Replace the hose. Bleeding comes after.", "Bleed the brakes"),
        ("brake_hose", "front left", "new hose then it gets bled", "Bleed the brakes"),
        ("tie_rod_end", "front left", "new tie rod end and align it", "Check and set the wheel alignment"),
        ("tie_rod_end", "front left", "new end, then an alignment.", "Check and set the wheel alignment"),
        ("brake_pad", "front", "pads, and bed them in", BED_IN),
        ("brake_pad", "front", "new pads with hardware", "Fit new hardware"),
        ("battery", (), "battery, keep the memory", "Keep the memory alive"),
        ("tire", "front", "two tires, mounted and balanced", "Mount and balance"),
        ("windshield", (), "windshield and recalibrate the camera", "Calibrate the forward camera"),
    ],
)
def test_words_that_say_it_keep_it_quiet(component: str, at: str, said: str, beginning: str) -> None:
    part = finding(component, at=at, action="replace")
    assert told(beginning, part)
    assert not told(beginning, part, said=said)


@pytest.mark.parametrize(
    ("said", "quiet"),
    [
        ("we will bleeding well see", True),
        ("the nosebleed is mine", False),
        ("bled", True),
        ("Sidebled pipes", False),
    ],
)
def test_only_whole_words_and_their_beginnings_count(said: str, quiet: bool) -> None:
    assert quiet != told("Bleed the brakes", finding("brake_hose", at="front left", action="replace"), said=said)


@pytest.mark.parametrize("said", ["pads and rotors", "Pads. Rotor, too.", "new brake rotors too", "PADS AND DISCS"])
def test_a_part_that_was_named_is_not_suggested(said: str) -> None:
    assert not told(ROTORS, PADS, said=said)


def test_a_phrase_said_in_a_second_recording_counts() -> None:
    walkaround = walk(PADS, recordings=heard("new pads", "and bed them in"))
    found = suggest_goes_with(walkaround, rules(), lexicon()).suggestions
    assert not any(each.text.startswith(BED_IN) for each in found)


@pytest.mark.parametrize(
    ("other", "quiet"),
    [
        (finding("brake_rotor", id="f2", at="front left", status="ok"), True),
        (finding("brake_rotor", id="f2", at="front", status="ok"), True),
        (finding("brake_rotor", id="f2", at="front left", conditions=["scored"], action="replace"), True),
        (finding("brake_rotor", id="f2", status="unchecked"), True),
        (finding("brake_rotor", id="f2", at="rear", status="ok"), False),
        (finding("brake_rotor", id="f2", at=("rear left", "rear right")), False),
        (finding("brake_rotor", id="f2", at="front left", status="ok", review=Review(state="dropped")), False),
    ],
)
def test_a_part_spoken_of_there_is_not_suggested_and_one_elsewhere_is(other: Finding, quiet: bool) -> None:
    assert quiet != told(ROTORS, PADS, other)


def test_a_part_named_at_the_other_axle_only_is_still_suggested() -> None:
    other = finding("brake_rotor", id="f2", at="rear", status="ok", said="rear rotors are fine")
    assert told(ROTORS, PADS, other, said="front left pads need replacing rear rotors are fine")


@pytest.mark.parametrize(
    ("at", "other"),
    [("front left", "front right"), ("rear right", "rear left"), ("left", "right"), ("front left outer", None)],
)
def test_the_other_side_is_named(at: str, other: str | None) -> None:
    expected = f"{SIDE} (the other side: {other or 'front right outer'})"
    assert expected in texts(finding("brake_pad", at=at, action="replace"))


@pytest.mark.parametrize("at", ["front", (), ("front left", "front right")])
def test_both_sides_or_no_side_want_no_other(at: str | tuple[str, ...]) -> None:
    assert not told(SIDE, finding("brake_pad", at=at, action="replace"))


def test_the_other_side_recommended_in_a_second_finding_is_enough() -> None:
    right = finding("brake_pad", id="f2", at="front right", action="replace")
    assert not told(SIDE, PADS, right)
    assert told(SIDE, PADS, right.model_copy(update={"locations": ("rear right",)}))
    assert told(SIDE, PADS, right.model_copy(update={"review": Review(state="dropped")}))


def test_pads_found_fine_on_the_other_side_are_still_replaced_in_pairs() -> None:
    assert told(SIDE, PADS, finding("brake_pad", id="f2", at="front right", status="ok"))


def test_the_other_side_already_done_wants_nothing() -> None:
    done = Recommendation(action="replace", timing="done")
    other = finding("brake_pad", id="f2", at="front right", status="work", recommendation=done)
    assert not told(SIDE, PADS, other)


def test_every_missing_side_is_named() -> None:
    found = " ".join(texts(finding("brake_pad", at=("front left", "rear left"), action="replace")))
    assert "front right" in found
    assert "rear right" in found


def test_a_name_that_is_only_heard_in_another_word_does_not_count() -> None:
    assert told(ROTORS, PADS, said="the rotorcraft")


@pytest.mark.parametrize(
    "change",
    [
        {"recommendation": Recommendation(action="replace", timing="done")},
        {"review": Review(state="dropped")},
        {"status": "ok"},
        {"status": "unchecked"},
        {"recommendation": Recommendation()},
    ],
)
def test_nothing_is_suggested_where_nothing_is_to_be_done(change: dict[str, object]) -> None:
    assert [] == texts(PADS.model_copy(update=change))


@pytest.mark.parametrize("status", ["fault", "work", "unclear"])
def test_work_to_be_done_brings_suggestions_whatever_the_verdict(status: str) -> None:
    assert told(ROTORS, PADS.model_copy(update={"status": status}))


def test_one_text_for_one_place_is_told_once() -> None:
    rotor = finding("brake_rotor", id="f2", at="front left", action="replace")
    found = [each for each in suggested(PADS, rotor) if each.text.startswith(BED_IN)]
    assert ["f1"] == [each.for_ for each in found]


def test_one_text_for_two_places_is_told_for_each() -> None:
    rear = finding("brake_pad", id="f2", at="rear right", action="replace")
    found = [each for each in suggested(PADS, rear) if each.text.startswith(BED_IN)]
    assert ["f1", "f2"] == [each.for_ for each in found]


def test_suggestions_of_other_kinds_stay_and_numbers_go_on() -> None:
    other = Suggestion(id="s1", kind="vehicle_number", text="read it again", source="a source")
    walkaround = walk(PADS, suggestions=(other,))
    found = suggest_goes_with(walkaround, rules(), lexicon()).suggestions
    assert other == found[0]
    assert [f"s{number}" for number in range(1, len(found) + 1)] == [each.id for each in found]


def test_judging_again_suggests_the_same() -> None:
    asked = Asked(rule_set=None, today=date(2026, 1, 1))
    once = judge(walk(PADS), rules(), lexicon(), asked)
    assert KIND in {each.kind for each in once.suggestions}
    assert once == judge(once, rules(), lexicon(), asked)


def test_findings_are_not_touched() -> None:
    before: Walkaround = walk(PADS)
    assert before.findings == suggest_goes_with(before, rules(), lexicon()).findings
