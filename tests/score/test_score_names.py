"""When two names are the same."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from narrate.score.names import name_key, spoken_at


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("brake pad", "front brake pads"),
        ("anti-roll bar link", "anti roll bar links"),
        ("re-attach", "reattach"),
        ("a/c condenser", "ac condenser"),
        ("top_up", "top up"),
        ("battery", "Batteries"),
        ("brake bush", "brake bushes"),
        ("rear left lower control arm bushing", "control arm bushing"),
    ],
)
def test_plurals_hyphens_and_places_do_not_count(one: str, other: str) -> None:
    """The two names mean one part."""
    assert name_key(one) == name_key(other)


@pytest.mark.parametrize(
    ("one", "other"),
    [("brake pad", "brake shoe"), ("left", "right"), ("brake", "bra"), ("gas", "ga"), ("cv boot", "cv axle")],
)
def test_different_names_stay_different(one: str, other: str) -> None:
    """The two names mean two parts, and places alone keep their words."""
    assert name_key(one) != name_key(other)


@given(st.text())
def test_a_name_is_itself_in_any_case(name: str) -> None:
    """Upper case and blanks around make no other name."""
    assert name_key(name) == name_key(f"  {name.casefold()} ")


@pytest.mark.parametrize(
    ("said", "places"),
    [
        ("the front brake pads, are worn", [range(2, 4)]),
        ("brake-pads and brake pad", [range(0, 1), range(2, 4)]),
        ("brake lines", []),
        ("", []),
    ],
)
def test_a_name_is_found_where_it_is_said(said: str, places: list[range]) -> None:
    """Word numbers are those of the words as heard, however they are hyphenated."""
    assert places == spoken_at(["brake pad"], said.split())
