"""Plain sentences a technician says, and the finding a careful advisor writes down for each."""

from collections.abc import Callable

import pytest

from narrate.find.findings import Context
from narrate.find.mining import mine, text_recording
from narrate.find.stages import run_stages
from narrate.find.vocabulary import Vocabulary
from narrate.records.recording import Word
from narrate.records.walkaround import Finding

Told = tuple[str, tuple[str, ...], str, set[str], str | None, list[tuple[str, str]]]
Found = Callable[..., tuple[Finding, ...]]


@pytest.fixture(scope="module")
def found(ready: Vocabulary) -> Found:
    """The findings of a text, in a market that drives on the right or, as in Britain, on the left."""

    def find(text: str, market: str = "us") -> tuple[Finding, ...]:
        context = Context(market, "left" if market == "us" else "right", "r1")
        return mine(run_stages(text_recording(text).words, ready), ready, context).findings

    return find


def told(finding: Finding) -> Told:
    """Name, places, status, conditions, action and (value, unit) of each amount."""
    return (
        finding.component.name,
        finding.locations,
        finding.status,
        {c.id for c in finding.conditions},
        finding.recommendation.action,
        [(str(m.value), m.unit) for m in finding.measurements],
    )


US: list[tuple[str, Told]] = [
    ("It needs a new battery.", ("battery", (), "work", set(), "replace", [])),
    ("Left front strut is leaking, needs replacing.", ("strut", ("front left",), "fault", {"leaking"}, "replace", [])),
    ("The serpentine belt is cracked and needs replacing.", ("drive belt", (), "fault", {"cracked"}, "replace", [])),
    ("Rear brake pads are at 8 mm, they're fine.", ("brake pad", ("rear",), "ok", set(), None, [("8", "mm")])),
    ("The engine air filter is filthy, change it.", ("air filter", (), "fault", {"dirty"}, "replace", [])),
    (
        "Front right tire is at two thirty seconds, needs replacing.",
        ("tire", ("front right",), "fault", {"worn"}, "replace", [("2", "1/32in")]),
    ),
    (
        "Battery tested at 310 cold cranking amps, rated for 650, replace the battery.",
        ("battery", (), "fault", set(), "replace", [("310", "CCA")]),
    ),
    ("Power steering fluid is dark, recommend a flush.", ("power steering fluid", (), "fault", {"dark"}, "flush", [])),
    ("Transmission fluid looks clean and full.", ("transmission fluid", (), "ok", set(), None, [])),
    ("Coolant is low, topped it up.", ("coolant", (), "fault", {"low"}, "top_up", [])),
    ("Sway bar link on the passenger side is loose.", ("sway bar link", ("right",), "fault", {"loose"}, None, [])),
    (
        "The right rear tire has a nail in it, patch it.",
        ("tire", ("rear right",), "fault", {"punctured"}, "repair", []),
    ),
    ("Replace the wiper blades.", ("wiper blade", (), "work", set(), "replace", [])),
    ("The battery terminals are corroded, clean them.", ("battery terminal", (), "fault", {"corroded"}, "clean", [])),
    (
        "Rear shocks are leaking, replace both.",
        ("shock absorber", ("rear left", "rear right"), "fault", {"leaking"}, "replace", []),
    ),
    (
        "Left outer tie rod end is loose, replace it.",
        ("tie rod end", ("left outer",), "fault", {"loose"}, "replace", []),
    ),
    (
        "Upper radiator hose is swollen and needs replacing.",
        ("radiator hose", ("upper",), "fault", {"swollen"}, "replace", []),
    ),
    (
        "The front brake rotors are warped, resurface them.",
        ("brake rotor", ("front",), "fault", {"warped"}, "resurface", []),
    ),
    ("The headlights are hazy, polish them.", ("headlight", (), "fault", {"cloudy"}, "refinish", [])),
    ("Couldn't get to the cabin filter.", ("cabin air filter", (), "unchecked", set(), None, [])),
    ("The ball joints have no play.", ("ball joint", (), "ok", set(), None, [])),
    (
        "Wheel bearing on the left front is at about point four millimeters of play.",
        ("wheel bearing", ("front left",), "fault", {"play"}, None, [("0.4", "mm")]),
    ),
    (
        "left front, no wait, right front caliper is leaking",
        ("brake caliper", ("front right",), "fault", {"leaking"}, None, []),
    ),
    (
        "Brake fluid is dark and needs flushing.",
        ("brake fluid", (), "fault", {"dark"}, "flush", []),
    ),
    (
        "Exhaust flange is rusted through, needs welding.",
        ("exhaust flange", (), "fault", {"rusted_through"}, "repair", []),
    ),
    (
        "Left front pads are worn to three, scratch that, two millimeters.",
        ("brake pad", ("front left",), "fault", {"worn"}, None, [("2", "mm")]),
    ),
    ("Spark plugs are worn, replace all six.", ("spark plug", (), "fault", {"worn"}, "replace", [])),
    ("The left strut is leaking, actually no, the right one.", ("strut", ("right",), "fault", {"leaking"}, None, [])),
    ("The driver side window is stuck.", ("window glass", ("left",), "fault", {"stuck"}, None, [])),
    ("The upper, no, lower ball joint is loose.", ("ball joint", ("lower",), "fault", {"loose"}, None, [])),
    ("Blower motor is noisy.", ("blower motor", (), "fault", {"noisy"}, None, [])),
    (
        "There is a nail in the right rear tire, patch it.",
        ("tire", ("rear right",), "fault", {"punctured"}, "repair", []),
    ),
    (
        "Third brake light is out, replace the bulb.",
        ("third brake light", (), "fault", {"not_working"}, "replace", []),
    ),
]
GB: list[tuple[str, Told]] = [
    (
        "The nearside, no, hang on, offside front tyre is at two mil and needs replacing.",
        ("tyre", ("front right",), "fault", {"worn"}, "replace", [("2", "mm")]),
    ),
    (
        "Offside rear tyre is at 1.6 millimetres and needs replacing.",
        ("tyre", ("rear right",), "fault", {"worn"}, "replace", [("1.6", "mm")]),
    ),
    (
        "Nearside front lower ball joint has play in it, replace.",
        ("ball joint", ("front left lower",), "fault", {"play"}, "replace", []),
    ),
    ("Front tyres are at 5 mil, no problem.", ("tyre", ("front",), "ok", set(), None, [("5", "mm")])),
    (
        "Nearside rear coil spring is snapped, needs replacing.",
        ("coil spring", ("rear left",), "fault", {"broken"}, "replace", []),
    ),
    ("Handbrake cable is seized, replace it.", ("handbrake cable", (), "fault", {"seized"}, "replace", [])),
    ("Pollen filter is filthy, needs changing.", ("cabin filter", (), "fault", {"dirty"}, "replace", [])),
    ("Windscreen is chipped, needs repairing.", ("windscreen", (), "fault", {"chipped"}, "repair", [])),
    (
        "Both rear shock absorbers are misting.",
        ("shock absorber", ("rear left", "rear right"), "fault", {"seeping"}, None, []),
    ),
    ("Track rod end on the offside has play in it.", ("track rod end", ("right",), "fault", {"play"}, None, [])),
    ("Front shocks are dry, no leaks.", ("shock absorber", ("front",), "ok", set(), None, [])),
    (
        "The drop link on the passenger side is knocking.",
        ("anti roll bar link", ("left",), "fault", {"knocking"}, None, []),
    ),
]


@pytest.mark.parametrize(("said", "expected"), US)
def test_what_a_technician_in_america_says_is_found_whole(found: Found, said: str, expected: Told) -> None:
    assert [expected] == [told(f) for f in found(said)]


@pytest.mark.parametrize(("said", "expected"), GB)
def test_what_a_technician_in_britain_says_is_found_whole(found: Found, said: str, expected: Told) -> None:
    assert [expected] == [told(f) for f in found(said, "gb")]


@pytest.mark.parametrize(
    "said", ["The nearside, no, hang on, offside front tyre is at two mil.", "Offside front tyre is at two mil."]
)
def test_a_number_near_its_limit_is_not_called_fine_without_a_doubt(found: Found, said: str) -> None:
    (finding,) = found(said, "gb")
    assert ("tyre", ("front right",), [("2", "mm")]) == (told(finding)[0], told(finding)[1], told(finding)[5])
    assert finding.status == "fault" or "status" in {doubt.field for doubt in finding.doubts}


def test_the_same_words_are_read_for_the_market(found: Found) -> None:
    said = "the passenger side tyre is bald"
    assert [("tire", ("right",)), ("tyre", ("left",))] == [
        (f.component.name, f.locations) for market in ("us", "gb") for f in found(said, market)
    ]


@pytest.mark.parametrize(
    ("said", "certainty"),
    [
        ("The left ball joint is worn.", "stated"),
        ("The left ball joint might be worn.", "suspected"),
        ("The rack seal is starting to seep.", "starting"),
    ],
)
def test_a_condition_keeps_how_sure_the_technician_was(found: Found, said: str, certainty: str) -> None:
    assert [certainty] == [c.certainty for f in found(said) for c in f.conditions]


@pytest.mark.parametrize(
    "said",
    [
        "If that belt goes it'll overheat.",
        "Customer states there's a clunk over bumps.",
        "My truck has a rusted frame.",
        "The phone rang twice while I had a coffee.",
        "",
    ],
)
def test_what_is_no_statement_about_this_vehicle_is_no_finding(found: Found, said: str) -> None:
    assert () == found(said)


def test_a_guess_is_shown_as_a_guess(found: Found) -> None:
    (finding,) = found("The kaliper is seized.")
    assert ("brake_caliper", "kaliper", ["component"], True) == (
        finding.component.id,
        finding.component.heard,
        [doubt.field for doubt in finding.doubts if doubt.field != "status"],
        finding.confidence.component < 1.0,
    )


def test_what_was_heard_stands_beside_what_it_means(found: Found) -> None:
    (finding,) = found("The offside front disc is lipped.", "gb")
    assert ("brake disc", "disc", "lipped.") == (
        finding.component.name,
        finding.component.heard,
        finding.conditions[0].said,
    )


def test_confidence_is_the_least_of_its_fields(found: Found) -> None:
    (finding,) = found("Left front strut is leaking, needs replacing.")
    sure = finding.confidence
    assert sure.overall == min(sure.component, sure.location, sure.condition, sure.recommendation)


def test_a_part_poorly_heard_is_less_sure(ready: Vocabulary) -> None:
    words = tuple(Word(text=w, probability=0.3 if w == "strut" else 0.99) for w in "left strut is leaking".split())
    (finding,) = mine(run_stages(words, ready), ready, Context("us", "left", "r1")).findings
    assert 0.3 == finding.confidence.component


def test_a_price_beside_a_part_option_is_a_price(found: Found) -> None:
    (finding,) = found("Quote the alternator, rebuilt one is one forty.")
    assert ([], ["140.00"]) == (list(finding.measurements), [str(p.amount) for p in finding.quoted_prices])


def test_a_limit_spoken_beside_the_value_is_kept(found: Found) -> None:
    (finding,) = found("Rotors measured 22 millimeters, minimum is 24, replace them.")
    assert [("22", "24")] == [(str(m.value), str(m.spoken_limit)) for m in finding.measurements]


@pytest.mark.parametrize("said", ["The coolant needs flushing.", "Brake fluid is dark and needs flushing."])
def test_what_needs_flushing_is_not_replaced(found: Found, said: str) -> None:
    (finding,) = found(said)
    assert ("fault", True) == (finding.status, finding.recommendation.action in ("flush", None))
    assert "replace" not in finding.recommendation.otherwise


@pytest.mark.parametrize(
    ("said", "action"),
    [
        ("The coolant needs flushing.", "flush"),
        ("Transmission fluid needs flushing.", "flush"),
        ("The battery terminals need cleaning.", "clean"),
    ],
)
def test_needs_before_a_verb_asks_for_that_work(found: Found, said: str, action: str) -> None:
    assert [action] == [f.recommendation.action for f in found(said)]


def test_a_condition_taken_from_a_number_is_shown_as_a_guess(found: Found) -> None:
    (finding,) = found("Front right tire is at two thirty seconds, needs replacing.")
    assert [("worn", "suspected", "two thirty seconds,")] == [(c.id, c.certainty, c.said) for c in finding.conditions]
    assert ["taken from 'two thirty seconds,' alone"] == [d.why for d in finding.doubts if d.field == "condition"]


def test_a_number_of_a_part_that_is_fine_says_nothing_is_wrong(found: Found) -> None:
    (finding,) = found("Front right tire is at nine thirty seconds, that's fine.")
    assert () == finding.conditions
