"""The symptom file: its references are checked, and every entry can be said and leads somewhere."""

from pathlib import Path

import pytest

from narrate.errors import LexiconError
from narrate.find.symptoms import symptoms_of
from narrate.words.lexicon import Lexicon
from narrate.words.load import load_lexicon

HEAD = 'schema = "narrate.lexicon/1"\nsource = "common practice, no source"\n'
NOISE = '[symptom.noise]\nname = "noise"\nsays = ["noise*"]\ncomponents = ["brake_rotor"]\n'


def problems(folder: Path, text: str) -> tuple[str, ...]:
    (folder / "symptoms.toml").write_text(HEAD + text, "utf-8")
    with pytest.raises(LexiconError) as raised:
        load_lexicon(folder)
    return raised.value.problems


@pytest.fixture(scope="module")
def own() -> Lexicon:
    """narrate's own lexicon."""
    return load_lexicon()


def test_a_lexicon_may_have_no_symptoms(folder: Path) -> None:
    assert {} == load_lexicon(folder).symptoms


def test_symptoms_are_read(folder: Path) -> None:
    (folder / "symptoms.toml").write_text(HEAD + NOISE, "utf-8")
    assert ("brake_rotor",) == load_lexicon(folder).symptoms["noise"].components


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('["brake_rotor"]', '["brake_disk"]', ":7: symptom.noise.components: no component is called 'brake_disk'"),
        (
            "components",
            'conditions = ["bad"]\ncomponents',
            ":7: symptom.noise.conditions: no condition is called 'bad'",
        ),
        ("components", 'under = "sound"\ncomponents', ":7: symptom.noise.under: no symptom is called 'sound'"),
        ("components", 'under = "noise"\ncomponents', ":7: symptom.noise.under: 'noise' lies under itself"),
        ("components", 'cause = "x"\ncomponents', ":7: symptom.noise.cause: "),
    ],
)
def test_a_mistake_is_told_with_file_line_and_key(folder: Path, old: str, new: str, told: str) -> None:
    (problem,) = problems(folder, "\n" + NOISE.replace(old, new))
    assert problem.startswith(f"symptoms.toml{told}")


def test_a_symptom_nobody_can_say_is_told(folder: Path) -> None:
    (problem,) = problems(folder, NOISE.replace('says = ["noise*"]\n', ""))
    assert "symptom.noise.says: neither it nor a wider symptom says which words mean it" in problem


def test_there_are_at_least_sixty_symptoms(own: Lexicon) -> None:
    assert len(own.symptoms) >= 60


def test_every_symptom_has_a_cause_or_is_the_wider_one_of_others(own: Lexicon) -> None:
    wider = {entry.under for entry in own.symptoms.values()}
    assert [] == [key for key, entry in own.symptoms.items() if not entry.components and key not in wider]


def test_no_cause_is_listed_twice(own: Lexicon) -> None:
    assert [] == [key for key, e in own.symptoms.items() if len(set(e.components)) < len(e.components)]


def test_every_symptom_is_named_by_its_own_words(own: Lexicon) -> None:
    """The first phrase of each, and of its circumstances, names it."""
    table = symptoms_of(own)
    missed = []
    for key, entry in own.symptoms.items():
        says = next(own.symptoms[k].says for k in (key, *table.wider[key]) if own.symptoms[k].says)
        words = " ".join((says[0], *entry.when[:1])).replace("*", "")
        if key not in table.named([own.spelling.get(word, word) for word in words.split()]):
            missed.append(key)
    assert [] == missed


@pytest.mark.parametrize(
    ("said", "symptom"),
    [
        ("grinding when braking", "grinding_braking"),
        ("it clunks going over bumps", "clunk_bumps"),
        ("a humming that gets louder above fifty", "hum_speed"),
        ("pulls a bit to the left", "pull"),
        ("shudder when pulling away", "shudder_pulling_away"),
        ("hard to start when cold", "hard_start_cold"),
        ("overheats in traffic", "overheats_traffic"),
        ("no cold air", "no_cold_air"),
        ("battery goes flat overnight", "battery_flat"),
        ("smell of petrol", "smell_fuel"),
        ("water in the boot", "water_inside"),
        ("airbag light on", "lamp_airbag"),
        ("knocks on full lock", "clunk_turning"),
    ],
)
def test_what_customers_say_names_the_symptom(own: Lexicon, said: str, symptom: str) -> None:
    table = symptoms_of(own)
    assert symptom in table.particular(table.named(said.split()))


@pytest.mark.parametrize(
    ("one", "other", "related"),
    [
        ("noise", "grinding", True),
        ("noise", "humming", True),
        ("leak", "puddle", True),
        ("shake", "shimmy at sixty", True),
        ("vibration", "wobble", True),
        ("clunk", "whine", False),
        ("smell", "noise", False),
    ],
)
def test_words_answer_by_their_symptom(own: Lexicon, one: str, other: str, related: bool) -> None:
    """The wider symptom answers the narrower and the other way round; two cases of one do not."""
    table = symptoms_of(own)
    assert related is table.related(table.named(one.split()), table.named(other.split()))
