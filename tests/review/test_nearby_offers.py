"""What the page is told of the words in hand, and who may ask."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from whole_page import Page

from narrate.find.mining import text_recording
from narrate.pipeline import process_words
from narrate.settings import Settings
from narrate.store.walkarounds import add_walkaround
from narrate.words.load import load_lexicon

SAID = (
    "Wiper blades are torn, replace them. The crack bar bushing is cracked. "
    "Battery tested good. The blimey hose whistles."
)


@pytest.fixture
def page(tmp_path: Path) -> Iterator[Page]:
    page = Page(tmp_path)
    yield page
    page.close()


@pytest.fixture
def walkaround(page: Page) -> str:
    found = process_words([text_recording(SAID)], settings=Settings(), lexicon=load_lexicon())
    return add_walkaround(page.store, found, who="Test")


def test_a_finding_and_what_else_it_may_be(page: Page, walkaround: str) -> None:
    findings = page.get(f"/api/walkarounds/{walkaround}")["view"]["findings"]
    bushing = next(each for each in findings if each["component"]["id"] == "sway_bar_bushing")
    near = page.get(f"/api/walkarounds/{walkaround}/nearby/finding/{bushing['id']}")
    assert {"id": "track_bar_bushing", "name": "track bar bushing"} in near["components"]
    assert "cracked" not in [each["id"] for each in near["conditions"]], "it is there already"
    assert near["told"] is None


def test_a_stretch_and_what_its_words_tell_of_each_part(page: Page, walkaround: str) -> None:
    unplaced = page.get(f"/api/walkarounds/{walkaround}")["view"]["unplaced"]
    about = next(each["id"] for each in unplaced if "hose" in each["evidence"][0]["said"])
    near = page.get(f"/api/walkarounds/{walkaround}/nearby/unplaced/{about}")
    assert near["components"][0]["id"] == "radiator_hose"
    assert near["told"]["radiator_hose"]["conditions"] == [{"id": "whistling"}]
    assert set(near["told"]) == {"", *(each["id"] for each in near["components"])}
    asked = {"do": "add", "component": "radiator_hose", **near["told"]["radiator_hose"], "unplaced": about}
    made = page.client.post(f"/api/walkarounds/{walkaround}/changes", json=asked)
    assert made.status_code == 200, made.text


def test_parts_that_are_in_no_finding(page: Page, walkaround: str) -> None:
    [hose] = page.get(f"/api/walkarounds/{walkaround}/unlisted")
    assert (hose["id"], hose["said"]) == ("radiator_hose", "The blimey hose whistles.")
    asked = {"do": "add", "component": hose["id"], **hose["told"], "evidence": hose["evidence"]}
    assert page.client.post(f"/api/walkarounds/{walkaround}/changes", json=asked).status_code == 200
    assert page.get(f"/api/walkarounds/{walkaround}/unlisted") == []


def test_what_is_not_there_offers_nothing(page: Page, walkaround: str) -> None:
    near = page.get(f"/api/walkarounds/{walkaround}/nearby/finding/f99")
    assert near["components"] == near["places"] == near["numbers"] == []
    assert page.client.get(f"/api/walkarounds/{walkaround}/nearby/concern/c1").status_code == 422
    assert page.client.get("/api/walkarounds/w99/unlisted").status_code == 404
