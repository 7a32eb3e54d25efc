"""Names for a few letters: the whole lexicon by its own names, and letters of every kind."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from narrate.words.lexicon import Lexicon
from narrate.words.load import load_lexicon
from narrate.words.meanings import OwnWord
from narrate.words.overlay import lay_over
from narrate.words.search import SORTS, Match, Sort, search_names

MARKETS = ("us", "gb", "eu")


@pytest.fixture(scope="module")
def lexicon() -> Lexicon:
    return load_lexicon()


def ids(matches: list[Match]) -> list[str]:
    return [match.id for match in matches]


def names_of(lexicon: Lexicon, sort: Sort, market: str) -> dict[str, str]:
    """The name that is shown of each entry."""
    if sort == "component":
        return {id_: lexicon.name(id_, market) for id_ in lexicon.components}
    entries = lexicon.conditions if sort == "condition" else lexicon.actions
    return {id_: each.name for id_, each in entries.items()}


@pytest.mark.parametrize("market", MARKETS)
@pytest.mark.parametrize("sort", SORTS)
def test_everything_is_found_by_the_name_that_is_shown(lexicon: Lexicon, sort: Sort, market: str) -> None:
    names = names_of(lexicon, sort, market)
    if market != "us":
        names = {id_: name for id_, name in names.items() if name != names_of(lexicon, sort, "us")[id_]}
    shared = {name for name in names.values() if list(names.values()).count(name) > 1}
    late = {
        id_: ids(found)[:4]
        for id_, name in names.items()
        if id_ not in ids(found := search_names(lexicon, sort, name, market=market))[: 3 if name in shared else 1]
    }
    assert not late


def test_every_other_word_for_a_component_leads_to_it(lexicon: Lexicon) -> None:
    said = [(id_, name) for id_, part in lexicon.components.items() for name in part.names]
    lost = [(id_, name) for id_, name in said[::100] if id_ not in ids(search_names(lexicon, "component", name))[:3]]
    assert not lost


@pytest.mark.parametrize(
    ("letters", "component"),
    [
        ("brp", "brake_pad"),
        ("pad br", "brake_pad"),
        ("brake pd", "brake_pad"),
        ("BRAKE-PAD", "brake_pad"),
        ("  brake   pad ", "brake_pad"),
        ("brak", "brake_pad"),
        ("cab air", "cabin_air_filter"),
        ("caf", "cabin_air_filter"),
        ("serpentine", "drive_belt"),
        ("altenator", "alternator"),
        ("shok absorber", "shock_absorber"),
        ("tyre", "tire"),
        ("batery", "battery"),
    ],
)
def test_letters_beginnings_and_misspellings_lead_to_the_part(lexicon: Lexicon, letters: str, component: str) -> None:
    assert component in ids(search_names(lexicon, "component", letters))[:5]


def test_what_is_said_most_comes_first(lexicon: Lexicon) -> None:
    assert ids(search_names(lexicon, "component", "ti"))[0] == "tire"
    assert ids(search_names(lexicon, "component", "bat"))[0] == "battery"


def test_a_name_by_another_word_says_so(lexicon: Lexicon) -> None:
    [first, *_] = search_names(lexicon, "component", "serpentine belt")
    assert (first.name, first.by) == ("drive belt", "serpentine belt")
    [own, *_] = search_names(lexicon, "component", "drive belt")
    assert own.by is None


def test_markets_show_their_own_names(lexicon: Lexicon) -> None:
    shown = {market: search_names(lexicon, "component", "hood", market=market)[0] for market in ("us", "gb")}
    assert shown["us"].id == shown["gb"].id
    assert (shown["us"].name, shown["gb"].name) == ("hood", "bonnet")


@pytest.mark.parametrize("letters", ["", " ", "-", "\n\t", "--  -"])
def test_nothing_typed_finds_nothing(lexicon: Lexicon, letters: str) -> None:
    assert search_names(lexicon, "component", letters) == []


def test_nonsense_finds_little(lexicon: Lexicon) -> None:
    assert len(search_names(lexicon, "component", "qqqqqqqqqqqq")) < 12
    assert search_names(lexicon, "component", "漢字") == []


def test_own_words_are_searched_too(lexicon: Lexicon) -> None:
    laid = lay_over(lexicon, (OwnWord(words="squeezer block", means="brake_pad"),)).lexicon
    assert search_names(laid, "component", "squeezer")[0] == Match("brake_pad", "brake pad", "squeezer block")
    hidden = lay_over(lexicon, (OwnWord(words="serpentine belt", means="drive_belt", kind="hide"),)).lexicon
    assert search_names(hidden, "component", "serpentine belt")[:1] != [
        Match("drive_belt", "drive belt", "serpentine belt")
    ]


TYPED = st.one_of(st.text(max_size=80), st.text("abcdeprst -", max_size=20), st.sampled_from(["b p", "l f", "é", "ß"]))


@given(sort=st.sampled_from(SORTS), letters=TYPED, limit=st.integers(1, 15), market=st.sampled_from(MARKETS))
@settings(max_examples=60, deadline=None)
def test_whatever_is_typed_gives_at_most_so_many_and_each_once(
    sort: Sort, letters: str, limit: int, market: str
) -> None:
    lexicon = load_lexicon()
    found = search_names(lexicon, sort, letters, limit=limit, market=market)
    assert len(found) <= limit
    assert len(set(ids(found))) == len(found)
    names = names_of(lexicon, sort, market)
    assert all(names[match.id] == match.name for match in found)


@given(st.data())
@settings(max_examples=30, deadline=None)
def test_more_letters_of_a_name_keep_it_in_reach(data: st.DataObject) -> None:
    lexicon = load_lexicon()
    id_ = data.draw(st.sampled_from(sorted(lexicon.components)))
    name = lexicon.name(id_, "us")
    at = data.draw(st.integers(max(1, len(name) * 2 // 3), len(name)))
    assert id_ in ids(search_names(lexicon, "component", name[:at], limit=40))
