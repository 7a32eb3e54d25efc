"""The customer's link: one estimate and nothing else, an answer looked at before it is kept, and refusals."""

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from estimate_desk import Shop

from narrate.store.estimates import read_estimate


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    made = Shop(tmp_path)
    made.estimate()
    # From here on everybody signs in, but for who has a link.
    made.sign_in_as("advisor")
    yield made
    made.close()


def link(shop: Shop, days: int = 7) -> str:
    told = shop.client.post("/api/estimates/e1/links", json={"days": days})
    assert told.status_code == 200, told.text
    shop.client.cookies.clear()
    return str(told.json()["path"])


def form(shop: Shop, path: str, **fields: str) -> dict[str, Any]:
    document = re.search('name="document" value="([0-9a-f]{64})"', shop.text(path))
    assert document
    return {"document": document[1], "who": "Joan", **fields}


def test_who_has_the_link_sees_the_estimate_and_nothing_else(shop: Shop):
    path = link(shop)
    page = shop.text(path)
    assert "Replace front brake pads" in page
    assert "<nav" not in page
    assert "Hear it" not in page
    assert shop.client.get(f"{path}/paper").status_code == 200
    assert shop.client.get(f"{path}/paper.pdf").content.startswith(b"%PDF-")
    for closed in ("/api/estimates/e1", "/estimates/e1/files/estimate.json", "/api/walkarounds/w1"):
        assert shop.client.get(closed).status_code in (303, 401)


def test_an_answer_is_looked_at_and_then_kept(shop: Shop):
    path = link(shop)
    fields = form(shop, path, **{"state-j1": "authorized", "way-j1": shop_choice(shop)})
    looked = shop.client.post(path, data=fields)
    assert looked.status_code == 200
    assert "$208.00" in looked.text
    assert read_estimate(shop.store, "e1").estimate.consents == ()
    kept = shop.client.post(path, data={**fields, "sure": "yes", "total": "208.00"})
    assert kept.status_code == 303, kept.text
    [consent] = read_estimate(shop.store, "e1").estimate.consents
    assert (consent.how, consent.who, str(consent.total)) == ("link", "Joan", "208.00")
    assert consent.document == fields["document"]
    assert "Thank you" in shop.text(f"{path}?thanks=1")


def shop_choice(shop: Shop) -> str:
    """The way with new pads."""
    return read_estimate(shop.store, "e1").estimate.jobs[0].choices[1].id


@pytest.mark.parametrize(
    ("status", "fields"),
    [
        (422, {}),
        (422, {"state-j1": "perhaps"}),
        (422, {"state-j1": "decide_by"}),
        (422, {"state-j1": "authorized", "who": ""}),
        (409, {"state-j1": "authorized", "document": "0" * 64}),
        (409, {"state-j1": "authorized", "sure": "yes", "total": "1.00"}),
    ],
)
def test_what_is_no_answer(shop: Shop, status: int, fields: dict[str, str]):
    path = link(shop)
    answer = shop.client.post(path, data={**form(shop, path), **fields})
    if status == 422 and not fields:
        answer = shop.client.post(path, data={**form(shop, path), "sure": "yes"})
    assert answer.status_code == status, answer.text
    assert 'role="alert"' in answer.text
    assert read_estimate(shop.store, "e1").estimate.consents == ()


def test_a_link_that_was_ended_or_never_made_shows_nothing(shop: Shop):
    cookies = dict(shop.client.cookies)
    path = link(shop)
    shop.client.cookies.update(cookies)
    assert shop.client.post("/api/estimates/e1/links/end").json()["view"]["links"] == 0
    shop.client.cookies.clear()
    assert shop.client.get(path).status_code == 404
    guessed = shop.client.get("/e/" + "A" * 22)
    assert guessed.status_code == 404
    assert "brake" not in guessed.text


@pytest.mark.parametrize("days", [0, 91, -1])
def test_days_out_of_bounds(shop: Shop, days: int):
    assert shop.client.post("/api/estimates/e1/links", json={"days": days}).status_code == 422
