"""The customer's answer: taken down by telephone with the document's digest, refused where it cannot be."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from estimate_desk import Shop

from narrate.store.estimates import documents_of, read_estimate


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    made = Shop(tmp_path)
    made.estimate()
    yield made
    made.close()


def test_what_it_comes_to_is_told_before_it_is_kept(shop: Shop):
    answers = {"j1": {"state": "authorized"}}
    told = shop.client.post("/api/estimates/e1/would", json={"who": "?", "how": "telephone", "answers": answers}).json()
    assert told == {"total": "$158.50", "plain": "158.50", "text": "1 to be done"}
    assert read_estimate(shop.store, "e1").estimate.consents == ()


def test_an_answer_is_kept_with_the_digest_of_what_was_read_out(shop: Shop):
    page = shop.client.get("/estimates/e1/paper")
    shown = documents_of(shop.store, "e1")[-1].sha256
    assert shown in page.text
    view = shop.say("e1", {"j1": {"state": "authorized"}}, words="Go ahead", total="158.50")
    [consent] = read_estimate(shop.store, "e1").estimate.consents
    assert consent.document == shown, "looking at the paper and reading it out is one and the same document"
    assert (consent.who, consent.how, consent.number, consent.words) == (
        "Joan Doe",
        "telephone",
        "555 0100",
        "Go ahead",
    )
    assert consent.read_back
    assert str(consent.total) == "158.50"
    assert view["jobs"][0]["state"] == "authorized"
    assert view["agreed"] == "$158.50"


def test_totals_follow_what_is_declined_and_put_off(shop: Shop):
    shop.ask("e1", "price", thing="p1", hours="1", rate="100")
    view = shop.say("e1", {"j1": {"state": "declined"}, "j2": {"state": "decide_by", "decide_by_date": "2027-01-10"}})
    assert [job["state"] for job in view["jobs"]] == ["declined", "decide_by"]
    assert view["total"] == "$100.00"
    assert "10 January 2027" in view["jobs"][1]["state_said"]


@pytest.mark.parametrize(
    ("status", "answers", "keys"),
    [
        (422, {}, {}),
        (422, {"j9": {"state": "authorized"}}, {}),
        (422, {"j1": {"state": "perhaps"}}, {}),
        (422, {"j1": {"state": "decide_by"}}, {}),
        (422, {"j1": {"state": "authorized", "choice": "k99"}}, {}),
        (422, {"j1": {"state": "authorized"}}, {"who": ""}),
        (422, {"j1": {"state": "authorized"}}, {"number": None}),
        (422, {"j1": {"state": "authorized"}}, {"how": "link"}),
        (409, {"j1": {"state": "authorized"}}, {"total": "100.00"}),
        (409, {"j1": {"state": "authorized", "amount": "99"}}, {}),
    ],
)
def test_what_is_no_answer(shop: Shop, status: int, answers, keys):
    shop.not_answered("e1", status, answers, **keys)
    assert read_estimate(shop.store, "e1").estimate.consents == ()


def test_a_draft_is_not_answered(shop: Shop):
    draft = shop.estimate(shop.add("Front pads are worn out, replace them."))
    assert "draft" in shop.not_answered(draft, 422, {"j1": {"state": "authorized"}})


def test_another_price_asks_again(shop: Shop):
    shop.say("e1", {"j1": {"state": "authorized"}})
    line = next(each for each in shop.view("e1")["jobs"][0]["choices"][0]["lines"] if each["kind"] == "part")
    view = shop.ask("e1", "line", line=line["id"], field="unit_price", to="50", seen=line["unit_price"])["view"]
    assert view["jobs"][0]["state"] == "offered"
    assert len(view["consents"]) == 1, "what was said stays said"


def test_what_came_of_it_is_recorded(shop: Shop):
    shop.say("e1", {"j1": {"state": "authorized"}})
    view = shop.ask("e1", "outcome", job="j1", what="part_ordered", promised="2026-12-01")["view"]
    view = shop.ask("e1", "outcome", job="j1", what="found_worse", note="the rotor too")["view"]
    assert [each["text"] for each in view["jobs"][0]["outcomes"]] == ["part ordered", "found worse"]


def test_work_that_nobody_authorized_is_not_done(shop: Shop):
    assert "ask" in shop.not_changed("e1", 422, "outcome", job="j1", what="done").lower()


def test_a_technician_says_what_came_of_it_and_answers_for_nobody(shop: Shop):
    shop.say("e1", {"j1": {"state": "authorized"}})
    shop.sign_in_as("technician")
    told = shop.client.post("/api/estimates/e1/outcomes", json={"job": "j1", "what": "done", "note": None})
    assert told.json()["view"]["jobs"][0]["outcomes"][0]["by"] == "Some technician"
    assert shop.client.post("/api/estimates/e1/outcomes", json={"job": "j1", "what": "sold"}).status_code == 422
    shop.not_answered("e1", 403, {"j1": {"state": "authorized"}})
