"""Which heads speak of one finding, and what kind of statement it is."""

from collections.abc import Callable

import pytest

from narrate.find.draft import Draft, Group, Mention
from narrate.find.grouping import cluster_heads, gather
from narrate.find.mining import text_recording
from narrate.find.scene import Scene
from narrate.find.stages import run_stages
from narrate.find.vocabulary import Vocabulary

Run = Callable[[str], Draft]


@pytest.fixture(scope="module")
def grouped(ready: Vocabulary) -> Run:
    """The draft of a text after all stages."""
    return lambda text: run_stages(text_recording(text).words, ready)


def heads(draft: Draft, group: Group) -> list[str]:
    """The words of the heads of a group."""
    spans = {m.id: (m.first, m.last) for m in draft.mentions}
    return [" ".join(t.text for t in draft.tokens[spans[h][0] : spans[h][1] + 1]) for h in group.heads]


def clusters(draft: Draft) -> list[list[str]]:
    """The words of all groups' heads."""
    return [heads(draft, group) for group in draft.groups]


@pytest.mark.parametrize(
    ("said", "status"),
    [
        ("the left front strut is leaking, replace it", "fault"),
        ("the offside rear wheel bearing is noisy and needs replacing", "fault"),
        ("the rear brake pads look good, plenty of life left", "ok"),
        ("the brake hoses are fine", "ok"),
        ("I didn't check the spare tire", "unchecked"),
        ("couldn't get to the cabin filter", "unchecked"),
    ],
)
def test_each_kind_of_statement_is_told(grouped: Run, said: str, status: str) -> None:
    assert [status] == [group.status for group in grouped(said).groups]


def test_two_parts_are_two_groups(grouped: Run) -> None:
    assert [["brake pads"], ["battery"]] == clusters(grouped("the front brake pads are worn. the battery is weak"))


def test_words_without_a_part_make_no_group(grouped: Run) -> None:
    assert () == grouped("it is leaking and that is bad").groups


def test_each_group_holds_one_kind_of_part(grouped: Run) -> None:
    draft = grouped("it's the water pump, it is leaking, that and the alternator, they are both noisy")
    keys = {m.id: m.key for m in draft.mentions if m.family == "component"}
    assert [1] * len(draft.groups) == [len({keys[h] for h in g.heads if h in keys}) for g in draft.groups]


def test_a_head_speaks_of_one_group_only(grouped: Run) -> None:
    draft = grouped("left front strut is leaking, right front strut is leaking, they need replacing")
    every = [head for group in draft.groups for head in group.heads]
    assert sorted(every) == sorted(set(every))


def test_a_group_rests_on_its_heads_and_their_links(grouped: Run) -> None:
    draft = grouped("the left front strut is leaking, replace it")
    (group,) = draft.groups
    links = tuple(link.id for link in draft.links if link.head in group.heads)
    assert set(group.because) == {*group.heads, *links}


def test_a_group_holds_what_is_linked_to_its_heads(grouped: Run) -> None:
    draft = grouped("the left front strut is leaking, replace it")
    assert [{link.dependent for link in draft.links}] == [set(group.dependents) for group in draft.groups]


def test_the_customers_words_alone_are_no_statement(grouped: Run) -> None:
    assert ["none"] == [g.status for g in grouped("customer says the alternator is noisy when cold").groups]


def test_what_is_linked_twice_counts_once_with_its_best_chance() -> None:
    part, other = Mention("m0", "component", "strut", 0, 0, "name"), Mention("m1", "cue", "pronoun", 4, 4, "alias")
    fault = Mention("m2", "condition", "leaking", 2, 2, "alias")
    work = Mention("m3", "action", "replace", 1, 1, "alias")
    linked = {"m0": [("condition", fault, 0.4)], "m1": [("condition", fault, 0.9), ("action", work, 0.5)]}
    assert [("action", work, 0.5), ("condition", fault, 0.9)] == gather([part, other], linked)


def test_no_words_have_no_groups(ready: Vocabulary) -> None:
    assert [] == cluster_heads(Scene(Draft(()), ready))


@pytest.mark.parametrize(
    "said",
    [
        "Blower motor is noisy.",
        "The alternator is noisy.",
        "The alternator looks seized to me.",
        "Checked the alternator and that is noisy.",
        "Horn doesn't work.",
        "The wheel bearing is bad.",
    ],
)
def test_a_condition_stated_with_no_approval_is_never_fine(grouped: Run, said: str) -> None:
    assert ["fault"] == [g.status.replace("unclear", "fault") for g in grouped(said).groups]


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("the left front strut, it is leaking. it needs replacing", [["strut", "it is", "it"]]),
        ("the belt is cracked. it is also frayed", [["belt", "it is"]]),
        ("front rotors, they're scored, they need replacing", [["rotors", "they're", "they"]]),
        ("the caliper, that one is seized", [["caliper", "that one"]]),
    ],
)
def test_a_pronoun_joins_the_part_it_stands_for(grouped: Run, said: str, expected: list[list[str]]) -> None:
    assert expected == clusters(grouped(said))


def test_a_number_said_to_fall_short_is_no_approval(grouped: Run) -> None:
    said = "Handbrake efficiency's only eleven percent, should be sixteen."
    assert ["fault"] == [group.status for group in grouped(said).groups]
