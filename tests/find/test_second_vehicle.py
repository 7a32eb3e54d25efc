"""Where a second vehicle begins in one recording, and where it does not."""

from collections.abc import Callable

import pytest

from narrate.export.html_file import findings_page
from narrate.find.mining import find_findings, text_recording
from narrate.records.walkaround import MadeBy, Walkaround
from narrate.words.lexicon import Lexicon

MADE_BY = MadeBy(program="narrate 0.0.0", lexicon="sha256:0", settings="sha256:0")
BEGINS = [
    ("Front pads are worn out, replace. | Okay next one up is the silver van, reg AB12 CDE. Rear tyres are bald."),
    "left strut is leaking. | right, moving over to the other car, job 4410. brake hose is cracked.",
    "that's the muffler rusted through. | Second car now. The battery is dead.",
    ("wipers are torn | okay next vehicle white transit plate kilo lima six one two nearside headlight is out"),
    (
        "Oil pan is leaking, reseal it. That's that one done. | Now on to the Corolla, RO 4472. Left front "
        "tire has a nail."
    ),
    ("Rear shocks leaking, both. | Moving on to the next car, it's a blue hatchback. Radiator hose is split."),
    "water pump is seeping. | alright next car, job card five five one three. belt is cracked",
    ("Front rotors are scored. So that's the Focus. | Next up is the red pickup, ticket 319. Ball joint has play."),
    "coil spring broken offside. | car number two, reg L R one seven V E G. exhaust is blowing",
    "The clutch is slipping. | New vehicle. Ford Ranger, rego 1AB 7CD. Left axle seal leaking.",
    (
        "battery is weak, so that finish. | now other car, the black sedan, plate four four nine bravo "
        "juliet. tire is worn"
    ),
    ("Brake fluid is black, flush it. | Different car now, this is the plumber's ute. The alternator is noisy."),
    (
        "right front caliper is seized. RO 4471 is finished. | RO 4480, twenty twelve Honda Civic. Front pads"
        " are at two millimeters."
    ),
    "air filter is dirty, change it. | over to the second van now, unit fifteen. wiper blades are torn.",
    ("Upper hose swollen. | Okay, switching to the next one, the green estate on bay four. Track rod end has play."),
    ("tyres are good. right that's him done, | next motor, the little fiat, job 881. handbrake cable is frayed"),
    "Rear shocks are leaking. | Alright, next one, silver Camry, RO 5514. Cabin filter is plugged.",
    (
        "belt is cracked. that's all for that one. | moving on to the second vehicle, the white transit, two "
        "oh one thousand miles. nearside headlight out."
    ),
    "fuel filler neck is rusted. | now then next van, reg kilo papa six six. tyres are worn.",
    "Struts are fine. | Okay, now the Jeep, order 7781. Left front ball joint has play.",
    "handbrake cable frayed. | right onto the next car then. screen wash empty.",
    ("oil leaking from the sump. | next I have the customer's Polo, plate CA 448 199. brake discs are scored."),
]
"""The bar stands where the other vehicle begins."""
GOES_ON = [
    ("Front pads are worn. Had one of these last week with the same noise, the rack was leaking on that one."),
    "left strut is leaking. The other car had the same thing. right one is dry.",
    ("changed it, no that was the hatchback, sorry, the other car, this one's still in there, air filter is dirty"),
    "manifold is cracked. next one back, the flex pipe, is split.",
    "Water pump is leaking. The customer's other car has a new one. Belt is cracked.",
    "Rear tire is worn. Now the other one's the same but worse. Replace both.",
    "pads at three. okay next up is the rear brakes. shoes are worn out.",
    "next one, the hybrid on the two poster. the cabin filter is plugged up.",
    "Moving on to the other side. right front tire has a bulge.",
    "battery is dead. his second car does it too, he says. alternator is fine.",
    "gasket is leaking. I saw it on another van last month. replace the gasket.",
    "muffler is rusted. second car this week with that. flange is rotten too.",
    "oil is black, change it. the next car is waiting so I'll be quick. wipers are torn.",
    ("Strut mount is worn. It's the same as the silver van we did yesterday, reg AB12 CDE. Replace the pair."),
    "ball joint has play. my brother's pickup did that and the wheel came off. tie rod is fine.",
    "brake hose cracked. compared to the other truck this one is bad. order two hoses.",
    "right, the second wheel now. rear left bearing is noisy. now the boot seal is torn.",
    "The next job on it is the water pump, it leaks. Then the belt.",
    "front pads worn. My wife's car has the same noise. rear shoes are fine.",
    "okay so that's the front done, moving on to the rear of the car, shocks are leaking.",
    "battery is dead, jump it from the other truck. alternator is noisy.",
    "right now the truck pulls to the left, tie rod is bent. tire is worn.",
    "Now this van had a new clutch at 60,000 miles. gearbox is leaking.",
    "strut leaking. another car like this came in yesterday, plate AB12 CDE, same thing.",
    "pads worn. now the van needs two tyres, 195 65 15, at 70 each.",
    "wipers torn. and the car has 88,000 miles on it so do the timing belt.",
]


@pytest.fixture(scope="module")
def walk(lexicon: Lexicon) -> Callable[[str], Walkaround]:
    """The walkaround of a text."""
    return lambda text: find_findings([text_recording(text)], lexicon=lexicon, made_by=MADE_BY)


@pytest.mark.parametrize("text", BEGINS)
def test_a_vehicle_that_is_plainly_begun_is_offered_as_its_own(text: str, walk: Callable[[str], Walkaround]) -> None:
    before, after = text.split("| ")
    walkaround = walk(before + after)
    (split,) = [s for s in walkaround.suggestions if s.kind == "split"]
    (evidence,) = split.evidence
    assert (len(before.split()), len(text.split()) - 2) == (evidence.first_word, evidence.last_word)
    assert after == evidence.said


@pytest.mark.parametrize("text", BEGINS)
def test_findings_lie_on_one_side_of_the_cut(text: str, walk: Callable[[str], Walkaround]) -> None:
    """Both sides keep findings, each with evidence that quotes its own words."""
    before, after = text.split("| ")
    cut = len(before.split())
    walkaround = walk(before + after)
    words = (before + after).split()
    sides = [
        {e.first_word >= cut for e in f.evidence} | {e.last_word >= cut for e in f.evidence}
        for f in walkaround.findings
    ]
    assert {True, False} == {side for one in sides for side in one}
    assert all(1 == len(side) for side in sides)
    for evidence in (e for f in walkaround.findings for e in f.evidence):
        assert " ".join(words[evidence.first_word : evidence.last_word + 1]) == evidence.said


@pytest.mark.parametrize("text", GOES_ON)
def test_stories_comparisons_and_other_corners_begin_no_vehicle(text: str, walk: Callable[[str], Walkaround]) -> None:
    assert [] == [s for s in walk(text).suggestions if s.kind == "split"]


def test_the_same_part_of_two_vehicles_is_two_findings(walk: Callable[[str], Walkaround]) -> None:
    text = "Front brake pads are worn out. Okay next car, RO 4480. Front brake pads are worn out."
    assert ["f1", "f2"] == [f.id for f in walk(text).findings if f.component.id == "brake_pad"]


def test_the_second_vehicles_numbers_are_not_the_first_ones(walk: Callable[[str], Walkaround]) -> None:
    """They are told in the offer."""
    walkaround = walk(
        "Left strut is leaking. Moving over to the other car, job 4410, plate AB12 CDE. Brake hose is cracked."
    )
    assert (None, None) == (walkaround.order_number, walkaround.vehicle.plate)
    assert "order number 4410, plate AB12CDE" in walkaround.suggestions[0].text


def test_three_vehicles_are_two_cuts(walk: Callable[[str], Walkaround]) -> None:
    """Each cut reaches to the next."""
    text = (
        "Left strut is leaking. Next car now, RO 4480. Battery is dead. Okay, third van now, RO 4490. Wipers are torn."
    )
    one, two = (s.evidence[0] for s in walk(text).suggestions)
    assert one.last_word + 1 == two.first_word
    assert two.last_word == len(text.split()) - 1


def test_the_page_shows_the_heading_and_the_offer_beside_the_order(walk: Callable[[str], Walkaround]) -> None:
    """Above the findings, and not once more among the suggestions."""
    page = findings_page(walk("RO 4471, strut is leaking. Okay next car, RO 4480. Battery is dead."))
    top = page[: page.index("<section>")]
    assert "<p>Order: 4471</p>" in top
    assert "<q>RO 4471,</q>" in top
    assert "To be decided: From here on the technician seems to speak of another vehicle (order number 4480)" in top
    assert 1 == page.count("another vehicle")
