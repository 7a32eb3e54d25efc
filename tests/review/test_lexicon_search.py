"""What the pickers ask for: names by letters, units by their words."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from whole_page import Page

from narrate.store.own_words import change_own_words
from narrate.words.meanings import OwnWord


@pytest.fixture
def page(tmp_path: Path) -> Iterator[Page]:
    page = Page(tmp_path)
    yield page
    page.close()


def test_letters_lead_to_names(page: Page) -> None:
    assert page.get("/api/names/component?q=brake pad")[0] == {"id": "brake_pad", "name": "brake pad", "by": None}
    assert page.get("/api/names/condition?q=leak")[0]["id"] == "leaking"
    assert page.get("/api/names/action?q=repl")[0]["id"] == "replace"


def test_no_letters_lead_nowhere(page: Page) -> None:
    assert page.get("/api/names/component") == []
    assert page.get("/api/names/component?q=%20%20") == []


def test_names_are_those_of_the_market(page: Page) -> None:
    names = {market: page.get(f"/api/names/component?q=tire&market={market}")[0] for market in ("us", "gb")}
    assert names["us"]["id"] == names["gb"]["id"] == "tire"
    assert (names["us"]["name"], names["gb"]["name"]) == ("tire", "tyre")
    assert names["gb"]["by"] == "tire"


@pytest.mark.parametrize("path", ["/api/names/verdict?q=a", "/api/names/?q=a", "/api/names/component?q=" + "a" * 81])
def test_what_cannot_be_asked_is_refused(page: Page, path: str) -> None:
    answer = page.client.get(path, headers={"sec-fetch-dest": "empty"})
    assert answer.status_code in (404, 422)
    assert answer.json()["detail"].endswith(".")


def test_the_shops_own_words_count_at_once(page: Page) -> None:
    before = page.get("/api/names/component?q=squeezer")
    assert "brake_pad" not in [each["id"] for each in before]
    own = OwnWord(words="squeezer block", means="brake_pad")
    change_own_words(page.store, lambda words: [*words, own], who="Ann", what="added")
    assert {"id": "brake_pad", "name": "brake pad", "by": "squeezer block"} in page.get("/api/names/component?q=squeez")


def test_units_tell_the_words_for_them(page: Page) -> None:
    units = page.get("/api/units")
    assert {"mm", "psi"} <= set(units)
    assert {"millimeter", "millimeters"} <= set(units["mm"])
    assert all(words and all(isinstance(word, str) for word in words) for words in units.values())


def test_one_signs_in_to_ask(page: Page) -> None:
    page.sign_in_as("technician")
    assert page.get("/api/names/component?q=brake")
    page.client.cookies.clear()
    assert page.client.get("/api/names/component?q=brake").status_code == 401
    assert page.client.get("/api/units").status_code == 401
