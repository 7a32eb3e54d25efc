"""The shop's own words: what they change, what they may not, and that nothing else changes."""

from collections.abc import Iterable
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_lexicon import SMALL

from narrate.errors import NarrateError
from narrate.words.lexicon import Lexicon, Phrase
from narrate.words.meanings import OwnWord, tidy
from narrate.words.overlay import OwnWords, add, hide, lay_over

IDS = (*SMALL.components, *SMALL.conditions, *SMALL.actions)
MEANT = sorted({(" ".join(p.words), p.id) for p in SMALL.phrases() if p.id in IDS and p.how != "plural"})
invented = st.text("kqvxz", min_size=4, max_size=9).map(tidy)
"""Letters that no word of the lexicon is made of."""


def meanings(lexicon: Lexicon, words: str) -> set[tuple[str, str]]:
    """What these words mean, as (how, id)."""
    return {(phrase.how, phrase.id) for phrase in lexicon.phrases() if phrase.words == tuple(words.split())}


def laid(*own_words: OwnWord, over: Lexicon = SMALL) -> Lexicon:
    """The lexicon with these words, none of which may be refused."""
    lexicon, refusals = lay_over(over, own_words)
    assert [None] * len(own_words) == list(refusals)
    return lexicon


def told(own_words: OwnWords, own: OwnWord, lexicon: Lexicon = SMALL) -> str:
    """What is said to a word that is refused."""
    with pytest.raises(NarrateError) as raised:
        add(lexicon, own_words, own)
    return str(raised.value)


def phrases(lexicon: Lexicon) -> set[Phrase]:
    return set(lexicon.phrases())


def test_added_words_mean_what_they_were_added_to() -> None:
    """An alias and its plural are names of the part; nothing else is changed."""
    lexicon = laid(OwnWord(words="spinny plate", means="brake_rotor"))
    new = phrases(lexicon) - phrases(SMALL)
    assert {("spinny", "plate"), ("spinny", "plates")} == {phrase.words for phrase in new}
    assert {"brake_rotor"} == {phrase.id for phrase in new}
    assert phrases(SMALL) <= phrases(lexicon)


def test_a_mishearing_has_no_plural_and_is_marked() -> None:
    """What was heard once is matched as it was heard."""
    lexicon = laid(OwnWord(words="break router", means="brake_rotor", kind="heard"))
    assert {("heard", "brake_rotor")} == meanings(lexicon, "break router")
    assert set() == meanings(lexicon, "break routers")


@pytest.mark.parametrize(("words", "means"), [("chuffing out", "leaking"), ("bosh it", "replace")])
def test_conditions_and_actions_take_words_too(words: str, means: str) -> None:
    """The id tells what the words are for."""
    assert {("alias", means)} == meanings(laid(OwnWord(words=words, means=means)), words)


def test_hidden_words_no_longer_mean_the_part() -> None:
    """Neither they nor their plural; the other part they name keeps them, and the part keeps its other names."""
    lexicon = laid(OwnWord(words="rotor", means="distributor_rotor", kind="hide"))
    assert {("alias", "brake_rotor")} == meanings(lexicon, "rotor")
    assert {"brake_rotor"} == {id_ for _, id_ in meanings(lexicon, "rotors")}
    assert {("name", "distributor_rotor")} == meanings(lexicon, "distributor rotor")


def test_hidden_words_are_not_guessed() -> None:
    """A word that was hidden must not come back by its spelling."""
    assert "roader" not in SMALL.everyday
    assert "roader" in laid(OwnWord(words="roader", means="brake_rotor", kind="hide")).everyday


def test_even_the_name_can_be_hidden() -> None:
    """The shown name stays, the words just do not mean the part any more."""
    lexicon = laid(OwnWord(words="brake rotor", means="brake_rotor", kind="hide"))
    assert set() == meanings(lexicon, "brake rotor")
    assert "brake rotor" == lexicon.name("brake_rotor", "us")


def test_words_of_another_part_are_refused_until_hidden_there() -> None:
    """The refusal names the other part and says how to hide the words there."""
    own = OwnWord(words="brake disc", means="distributor_rotor")
    said = told((), own)
    assert "'brake disc' means brake_rotor already" in said
    assert 'narrate lexicon hide "brake disc" brake_rotor' in said
    hidden = hide(SMALL, (), OwnWord(words="brake disc", means="brake_rotor", kind="hide"))
    assert {("alias", "distributor_rotor")} == meanings(laid(*add(SMALL, hidden, own)), "brake disc")


def test_a_bare_word_of_many_parts_is_refused() -> None:
    """The words around it tell which part is meant, and one part must not take it from the others."""
    assert "'hose' means" in told((), OwnWord(words="hose", means="brake_rotor", needs_context=True))


def test_a_plural_is_not_taken_from_another_part() -> None:
    """The plural is made by itself and must not redefine anything either."""
    taken = OwnWord(words="qxzes", means="radiator_hose")
    assert "'qxzes' means radiator_hose already" in told((taken,), OwnWord(words="qxz", means="brake_hose"))


@pytest.mark.parametrize(
    ("words", "means", "why"),
    [
        ("good", "brake_rotor", "word for understanding sentences (approval)"),
        ("front", "brake_rotor", "word for places (front)"),
        ("mm", "brake_rotor", "word for measuring"),
        ("leaking", "brake_rotor", "word for the condition leaking"),
        ("replace", "brake_rotor", "word for the action replace"),
        ("brake rotor", "worn", "word for the component brake_rotor"),
        ("left spinner", "brake_rotor", "'left' in 'left spinner' says where"),
        ("front rotor", "brake_rotor", "'front' in 'front rotor' says where"),
        ("brake rotor", "brake_rotor", "means brake_rotor already"),
        ("boot", "brake_rotor", "everyday word"),
        ("the boot", "brake_rotor", "everyday word"),
        ("", "brake_rotor", "not as people say it"),
        ("stop, plate", "brake_rotor", "not as people say it"),
    ],
)
def test_words_that_serve_something_else_are_refused(words: str, means: str, why: str) -> None:
    """One sentence says what they are for."""
    said = told((), OwnWord(words=words, means=means))
    assert why in said
    assert 1 == len(said.splitlines())


def test_only_components_have_mishearings() -> None:
    """A mis-hearing of a condition could not be marked as a guess."""
    assert "only components" in told((), OwnWord(words="lee king", means="leaking", kind="heard"))


@pytest.mark.parametrize("kind", ["alias", "heard"])
def test_an_everyday_word_counts_only_beside_car_talk(kind: str) -> None:
    """With the mark it is taken, and each of its phrases carries the mark."""
    lexicon = laid(OwnWord(words="boot", means="brake_rotor", kind=kind, needs_context=True))
    new = phrases(lexicon) - phrases(SMALL)
    assert new
    assert all(phrase.needs_context for phrase in new)


@pytest.mark.parametrize(
    ("asked", "id_"), [("brake_roter", "brake_rotor"), ("brake disc", "brake_rotor"), ("repear", "repair")]
)
def test_an_unknown_id_is_refused_with_the_nearest(asked: str, id_: str) -> None:
    """By their spelling, and by any name of theirs."""
    assert f"called '{asked}'; did you mean {id_}" in told((), OwnWord(words="spinny plate", means=asked))


def test_what_does_not_mean_a_part_cannot_be_hidden_from_it() -> None:
    """A slip of the pen would else look like a success."""
    with pytest.raises(NarrateError, match="'brake disc' does not mean brake_hose, it means brake_rotor"):
        hide(SMALL, (), OwnWord(words="brake disc", means="brake_hose", kind="hide"))


def test_what_made_room_does_not_return_while_the_room_is_taken() -> None:
    """Bringing hidden words back would redefine what was added meanwhile."""
    hidden = OwnWord(words="brake disc", means="brake_rotor", kind="hide")
    added = OwnWord(words="brake disc", means="distributor_rotor")
    said = told((hidden, added), OwnWord(words="brake disc", means="brake_rotor"))
    assert 'hide it there first: narrate lexicon hide "brake disc" distributor_rotor' in said


def test_the_order_of_lines_does_not_matter() -> None:
    """What is hidden makes room for what is added, wherever the lines stand."""
    lines = (
        OwnWord(words="brake disc", means="distributor_rotor"),
        OwnWord(words="brake disc", means="brake_rotor", kind="hide"),
    )
    assert laid(*lines).digest == laid(*reversed(lines)).digest


def test_a_line_that_no_longer_fits_is_left_out() -> None:
    """After an update the rest still counts, and what is so anyway is no reason to warn."""
    lines = (
        OwnWord(words="spinny plate", means="gone_part"),
        OwnWord(words="brake disc", means="brake_rotor"),
        OwnWord(words="spinny plate", means="brake_rotor"),
    )
    lexicon, (gone, shipped, fine) = lay_over(SMALL, lines)
    assert gone is not None
    assert shipped is not None
    assert (False, True, None) == (gone.idle, shipped.idle, fine)
    assert laid(lines[2]).digest == lexicon.digest


def test_the_digest_tells_what_the_words_change() -> None:
    """Another word is another digest; no word and another note are not."""
    one, other = (OwnWord(words=words, means="brake_rotor") for words in ("spinny plate", "spinny thing"))
    context = replace(one, needs_context=True)
    assert 4 == len({SMALL.digest, laid(one).digest, laid(other).digest, laid(context).digest})
    assert SMALL is laid()
    assert laid(one).digest == laid(replace(one, note="Kev")).digest


def test_the_same_words_give_the_same_object() -> None:
    """What find makes ready of a lexicon is kept by the object and takes seconds to make."""
    own = OwnWord(words="spinny plate", means="brake_rotor")
    assert laid(own) is laid(OwnWord(words="spinny plate", means="brake_rotor"))


@pytest.mark.parametrize(
    ("said", "kept"),
    [
        ("Way-Bar  Link", "way bar link"),
        ("a b s ring", "abs ring"),
        ("driver’s thing", "driver's thing"),
        ("4WD", "4 wd"),
    ],
)
def test_words_are_kept_as_speech_is_compared(said: str, kept: str) -> None:
    """However they are typed, they meet what becomes of the same words when they are spoken."""
    assert kept == tidy(said)


@settings(deadline=None, max_examples=60)
@given(words=st.lists(invented, min_size=1, max_size=3).map(" ".join), means=st.sampled_from(IDS))
def test_adding_and_then_hiding_changes_nothing(words: str, means: str) -> None:
    """The lexicon is as it was, and the list too."""
    added = add(SMALL, (), OwnWord(words=words, means=means, needs_context=True))
    assert {means} == {id_ for _, id_ in meanings(laid(*added), words)}
    assert () == hide(SMALL, added, OwnWord(words=words, means=means, kind="hide"))


@settings(deadline=None, max_examples=60)
@given(st.sampled_from(MEANT))
def test_hiding_and_then_adding_changes_nothing(meant: tuple[str, str]) -> None:
    """Words of narrate's own come back as they were."""
    words, means = meant
    hidden = hide(SMALL, (), OwnWord(words=words, means=means, kind="hide"))
    assert means not in {id_ for _, id_ in meanings(laid(*hidden), words)}
    assert () == add(SMALL, hidden, OwnWord(words=words, means=means))


@settings(deadline=None, max_examples=60)
@given(st.lists(st.tuples(invented | st.sampled_from([w for w, _ in MEANT]), st.sampled_from(IDS)), max_size=8))
def test_no_words_are_taken_from_anything(lines: list[tuple[str, str]]) -> None:
    """However many words are added, every phrase of the lexicon keeps its meanings and gets no others."""
    added = tuple(OwnWord(words=words, means=means, needs_context=True) for words, means in lines)
    lexicon = lay_over(SMALL, added).lexicon
    assert phrases(SMALL) <= phrases(lexicon)
    assert _owners(SMALL.phrases()).items() <= _owners(lexicon.phrases()).items()


def _owners(phrases: Iterable[Phrase]) -> dict[tuple[str, ...], set[tuple[str, str]]]:
    owners: dict[tuple[str, ...], set[tuple[str, str]]] = {}
    for phrase in phrases:
        owners.setdefault(phrase.words, set()).add((phrase.family, phrase.id))
    return owners
