"""Words for the customer: why a part matters and what may happen if it is left, always with their source."""

import pytest
from judged import finding, lexicon, rules, walk

from narrate.judge.plain_words import add_plain_words
from narrate.records.walkaround import Condition, Finding, PlainWords, Status
from narrate.words.entries import ConditionClass
from narrate.words.rule_entries import NO_SOURCE

PLAIN = [*rules().systems.items(), *rules().kinds.items(), *rules().condition_classes.items()]
CLASSES = sorted({entry.class_ for entry in lexicon().conditions.values()})
SYSTEMS = sorted(set(lexicon().system_of.values()))


def words(given: Finding) -> dict[str, PlainWords]:
    """The plain words of a finding, by what they are about."""
    [judged] = add_plain_words(walk(given), rules(), lexicon()).findings
    assert all(each.source.strip() for each in judged.plain_words)
    assert all(each.text.strip() for each in judged.plain_words)
    assert len(judged.plain_words) == len({each.about for each in judged.plain_words})
    return {each.about: each for each in judged.plain_words}


@pytest.mark.parametrize("system", SYSTEMS)
def test_every_system_says_why_its_parts_matter(system: str) -> None:
    plain = rules().kinds
    for component, of in lexicon().system_of.items():
        if of == system:
            kind = lexicon().components[component].kind
            due = plain[kind] if kind in plain else rules().systems[system]
            assert due.text == words(finding(component))["matters"].text


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_part_that_the_lexicon_lacks_goes_by_its_system(system: str) -> None:
    ghost = finding("ghost")
    ghost = ghost.model_copy(update={"component": ghost.component.model_copy(update={"system": system})})
    assert rules().systems[system].text == words(ghost)["matters"].text


def test_a_part_of_no_system_has_no_words() -> None:
    assert {} == words(finding("ghost"))


@pytest.mark.parametrize("class_", CLASSES)
def test_every_class_of_condition_says_what_may_happen(class_: ConditionClass) -> None:
    conditions = [key for key, entry in lexicon().conditions.items() if entry.class_ == class_]
    for condition in conditions:
        told = words(finding("brake_pad", conditions=[condition]))["if_left"]
        assert (rules().condition_classes[class_].text, NO_SOURCE) == (told.text, told.source)


def test_the_first_condition_decides() -> None:
    told = words(finding("brake_hose", conditions=["leaking", "worn"]))["if_left"]
    assert rules().condition_classes["leak"].text == told.text


def test_what_the_technician_said_of_the_consequence_stands_instead() -> None:
    told = words(finding("brake_pad", conditions=["worn"], consequence="it will eat the rotor"))
    assert {"matters"} == set(told)


def test_work_says_only_why_it_matters() -> None:
    assert {"matters"} == set(words(finding("brake_pad", status="work", conditions=["worn"])))


@pytest.mark.parametrize("status", ["ok", "unclear", "unchecked"])
def test_what_is_no_fault_and_no_work_has_no_words(status: Status) -> None:
    assert {} == words(finding("brake_pad", status=status, conditions=["worn"]))


def test_a_fault_without_a_condition_says_only_why_it_matters() -> None:
    assert {"matters"} == set(words(finding("brake_pad")))


def test_an_unknown_condition_does_no_harm() -> None:
    ghost = Condition(id="ghost", name="ghost", said="ghost")
    given = finding("brake_pad", conditions=["worn"])
    both = given.model_copy(update={"conditions": (ghost, *given.conditions)})
    assert rules().condition_classes["wear"].text == words(both)["if_left"].text
    assert {"matters"} == set(words(given.model_copy(update={"conditions": (ghost,)})))


@pytest.mark.parametrize(("key", "plain"), PLAIN, ids=[key for key, _ in PLAIN])
def test_a_text_is_short_and_no_verdict(key: str, plain: PlainWords) -> None:
    assert len(plain.text) < 200
    assert plain.text.endswith(".")
    assert plain.source.strip()


def test_saying_again_gives_the_same() -> None:
    once = add_plain_words(walk(finding("brake_pad", conditions=["worn"])), rules(), lexicon())
    assert once == add_plain_words(once, rules(), lexicon())
