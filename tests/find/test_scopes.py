"""Stretches whose meaning a cue changes: denied, doubted, beginning, supposed, the customer's, another car's."""

from collections.abc import Callable

import pytest

from narrate.find.draft import Draft
from narrate.find.scopes import scopes_by_token

Read = Callable[[str], Draft]


def stretches(draft: Draft, kind: str) -> list[str]:
    """The words of each stretch of one kind."""
    return [" ".join(t.text for t in draft.tokens[s.first : s.last + 1]) for s in draft.scopes if s.kind == kind]


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("not the belt, the tensioner is noisy", ["the belt the tensioner is"]),
        ("the hose isn't cracked. the clip is loose", ["cracked"]),
        ("the hose isn't cracked but the clip is loose", ["cracked"]),
        ("the hose is not cracked, not swollen", ["cracked not swollen", "swollen"]),
        ("it never leaked", ["leaked"]),
    ],
)
def test_a_denial_reaches_on_but_not_past_an_ending_or_a_but(read: Read, said: str, expected: list[str]) -> None:
    assert expected == stretches(read(said), "denied")


@pytest.mark.parametrize("said", ["not only is it leaking", "the seal is no good", "no longer holds pressure"])
def test_what_only_looks_like_a_denial_denies_nothing(read: Read, said: str) -> None:
    assert [] == stretches(read(said), "denied")


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("the boot might be torn", ["the boot might be torn"]),
        ("might be the strut, the boot is torn", ["might be the strut the boot is torn"]),
    ],
)
def test_a_doubt_reaches_both_ways_within_its_sentence(read: Read, said: str, expected: list[str]) -> None:
    assert expected == stretches(read(said), "doubted")


def test_a_beginning_ends_at_a_comma(read: Read) -> None:
    assert ["leak"] == stretches(read("the seal is starting to leak, the hose is cracked"), "beginning")


def test_a_supposition_survives_a_comma_but_no_full_stop(read: Read) -> None:
    said = "if the belt breaks, the engine overheats. the pump is leaking"
    assert ["the belt breaks the engine overheats"] == stretches(read(said), "supposed")


def test_the_customer_is_heard_on_past_a_comma(read: Read) -> None:
    said = "customer says it squeals when cold, and grinds when hot"
    assert ["it squeals when cold and grinds when hot"] == stretches(read(said), "customer")


@pytest.mark.parametrize("said", ["customer states", "the lady says", "owner reports", "came in for"])
def test_many_words_bring_in_the_customer(read: Read, said: str) -> None:
    assert ["a whine at speed"] == stretches(read(f"{said} a whine at speed"), "customer")


def test_another_cars_story_goes_on_past_a_full_stop(read: Read) -> None:
    said = "last week we had one with a broken spring. the strut was gone"
    assert ["one with a broken spring the strut was gone"] == stretches(read(said), "other vehicle")


def test_plain_statements_stand_in_no_scope(read: Read) -> None:
    assert () == read("the front pads are worn. the rotors are lipped").scopes


def test_a_stretch_rests_on_the_cue_that_opened_it(read: Read) -> None:
    draft = read("it never leaked")
    (scope,) = draft.scopes
    assert scope.because == tuple(m.id for m in draft.mentions if m.key == "negation")


def test_a_token_knows_every_scope_it_stands_in(read: Read) -> None:
    kinds = scopes_by_token(read("battery's weak. customer says it might be leaking"))
    assert (frozenset(), frozenset({"customer", "doubted"})) == (kinds[0], kinds[-1])


def test_the_customers_words_end_at_a_full_stop(read: Read) -> None:
    said = "customer says it pulls to the left when braking. the left front tire is bald"
    assert ["it pulls to the left when braking"] == stretches(read(said), "customer")


def test_a_no_that_corrects_denies_nothing(read: Read) -> None:
    assert [] == stretches(read("the upper, no, lower ball joint is loose"), "denied")


def test_a_doubt_does_not_reach_back_past_a_full_stop(read: Read) -> None:
    assert ["i think the seal is weeping"] == stretches(
        read("the boot is torn. I think the seal is weeping"), "doubted"
    )
