"""The page of an estimate: made from a list, changed value by value, undone, and kept from wrong requests."""

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from estimate_desk import BOOK, Shop

from narrate.store.books import read_book
from narrate.store.estimates import history, read_estimate


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    made = Shop(tmp_path)
    yield made
    made.close()


def line_of(view, kind="part", job=0):
    [line] = [each for each in view["jobs"][job]["choices"][0]["lines"] if each["kind"] == kind]
    return line


def test_a_signed_list_becomes_an_estimate_once(shop: Shop):
    walkaround = shop.signed()
    first, second = shop.estimate(walkaround), shop.estimate(walkaround)
    assert first == second == "e1"
    view = shop.view("e1")
    assert not view["draft"]
    assert [job["title"] for job in view["jobs"]] == ["Replace front brake pads"]
    assert [choice["subtotal"] for choice in view["jobs"][0]["choices"]] == ["$155.00", "$200.00"]
    assert [thing["component"] for thing in view["to_be_priced"]] == ["shock_absorber"]
    assert view["total"] == "$158.50", "a used set at 35.00 with a tenth of tax, and labor"
    assert view["head"]["customer"]["name"] == "Joan Doe"


def test_amounts_are_text_from_end_to_end(shop: Shop):
    shop.estimate()
    told = json.dumps(shop.view("e1"), default=str)
    view = shop.view("e1")
    line = line_of(view)
    assert line["unit_price"] == "35"
    assert line["amount_plain"] == "35"
    assert "35.0," not in told, "no amount is a JSON number"
    assert not [
        v for job in view["jobs"] for c in job["choices"] for ln in c["lines"] for v in ln.values() if type(v) is float
    ]


def test_a_line_is_changed_and_the_totals_follow(shop: Shop):
    shop.estimate()
    line = line_of(shop.view("e1"))
    answer = shop.ask("e1", "line", line=line["id"], field="unit_price", to="41.05", seen=line["unit_price"])
    assert line_of(answer["view"])["amount"] == "$41.05"
    assert answer["view"]["total"] == "$165.16", "41.05 + 4.105 tax, half up, + 120"
    assert answer["undo"]["what"] == "line"
    back = shop.client.post("/api/estimates/e1/undo").json()
    assert back["view"]["total"] == "$158.50"
    again = shop.client.post("/api/estimates/e1/redo").json()
    assert again["view"]["total"] == "$165.16"


def test_what_someone_else_changed_is_not_overwritten(shop: Shop):
    shop.estimate()
    line = line_of(shop.view("e1"))
    shop.ask("e1", "line", line=line["id"], field="unit_price", to="40", seen="35")
    sentence = shop.not_changed("e1", 409, "line", line=line["id"], field="unit_price", to="50", seen="35")
    assert "changed" in sentence
    assert line_of(shop.view("e1"))["unit_price"] == "40"


@pytest.mark.parametrize(
    ("do", "keys"),
    [
        ("line", {"line": "n1", "field": "unit_price", "to": "-5", "seen": "35"}),
        ("line", {"line": "n99", "field": "text", "to": "words", "seen": "x"}),
        ("line", {"line": "n1", "field": "amount", "to": "1", "seen": "1"}),
        ("discount", {"to": "10.00", "why": None, "seen": "0"}),
        ("discount", {"to": "1e3", "why": "friend", "seen": "0"}),
        ("discount", {"to": "100000", "why": "friend", "seen": "0"}),
        ("expires", {"to": "soon", "seen": None}),
        ("expires", {"to": "2026-02-31", "seen": None}),
        ("payer", {"job": "j1", "to": "fleet", "order": None, "seen": "customer"}),
        ("payer", {"job": "j1", "to": "nobody", "order": None, "seen": "customer"}),
        ("order", {"to": ["j1", "j1"], "seen": ["j1"]}),
        ("add_job", {"title": "Wash it"}),
        ("price", {"thing": "p1"}),
        ("price", {"thing": "p9", "hours": "1", "rate": "100"}),
        ("paint", {}),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(shop: Shop, do: str, keys: dict[str, object]):
    shop.estimate()
    before = read_estimate(shop.store, "e1")
    sentence = shop.not_changed("e1", 422, do, **keys)
    assert "\n" not in sentence
    assert read_estimate(shop.store, "e1") == before


def test_a_price_by_hand_can_be_kept_in_the_book(shop: Shop):
    shop.estimate()
    answer = shop.ask(
        "e1", "price", thing="p1", hours="2", rate="100", part="Shock", part_price="60", part_quantity="2", keep=True
    )
    assert "The book has this price now" in answer["note"]
    assert answer["view"]["to_be_priced"] == []
    assert answer["view"]["jobs"][1]["amount"] == "$320.00"
    book = read_book(shop.store)
    assert len(book.operations) == len(BOOK.operations) + 1
    assert [part.price for part in book.parts if part.component == "shock_absorber"] == [60]
    next_one = shop.view(shop.estimate(shop.signed()))
    assert next_one["to_be_priced"] == [], "the next walk-round is priced with it"


def test_a_shop_without_a_book_gets_one_by_pricing(tmp_path: Path):
    shop = Shop(tmp_path, book=None)
    try:
        shop.estimate()
        view = shop.view("e1")
        assert view["jobs"] == []
        assert len(view["to_be_priced"]) == 2
        first = view["to_be_priced"][0]["id"]
        shop.ask("e1", "price", thing=first, hours="1", rate="110", part="Pads", part_price="70", keep=True)
        assert [(rate.name, rate.price) for rate in read_book(shop.store).rates] == [("standard", 110)]
        assert len(shop.view(shop.estimate(shop.signed()))["jobs"]) == 1
    finally:
        shop.close()


def test_a_price_by_hand_need_not_be_kept(shop: Shop):
    shop.estimate()
    shop.ask("e1", "price", thing="p1", sublet="90")
    assert read_book(shop.store).operations == BOOK.operations
    assert shop.view("e1")["jobs"][1]["choices"][0]["lines"][0]["kind"] == "sublet"


def test_jobs_lines_terms_and_payers(shop: Shop):
    shop.estimate()
    line = {"kind": "labor", "text": "Wash", "quantity": "0.5", "unit": "h", "unit_price": "60"}
    view = shop.ask("e1", "add_job", title="Wash it", line=line)["view"]
    assert (view["jobs"][1]["title"], view["jobs"][1]["amount"]) == ("Wash it", "$30.00")
    wash = view["jobs"][1]["id"]
    view = shop.ask("e1", "order", to=[wash, "j1"], seen=["j1", wash])["view"]
    assert [job["title"] for job in view["jobs"]] == ["Wash it", "Replace front brake pads"]
    view = shop.ask("e1", "payer", job="j1", to="fleet", order="F-77", seen="customer")["view"]
    assert view["jobs"][1]["payer_said"] == "the fleet, order F-77"
    assert {each["payer"] for each in view["payers"]} == {"customer", "fleet"}
    view = shop.ask("e1", "remove_job", job=wash, why="a slip", seen="offered")["view"]
    assert len(view["jobs"]) == 1
    choice = view["jobs"][0]["choices"][1]["id"]
    view = shop.ask("e1", "choose", job="j1", to=choice, seen=view["jobs"][0]["seen_chosen"])["view"]
    assert view["jobs"][0]["amount"] == "$200.00"
    view = shop.ask("e1", "discount", to="20", why="second visit", seen="0")["view"]
    assert {"name": "Discount (second visit)", "amount": "−$20.00", "whole": False} in view["sums"]
    view = shop.ask("e1", "expires", to="2027-01-31", seen=None)["view"]
    assert view["head"]["expires_said"] == "31 January 2027"
    shop.ask("e1", "old_parts", to="asked_back", seen="not_stated")
    view = shop.ask("e1", "tax_exempt", to="certificate 12", seen=None)["view"]
    assert view["total"] == "$180.00"
    added = shop.ask("e1", "add_line", job="j1", choice=choice, line={**line, "text": "More"})["view"]
    more = added["jobs"][0]["choices"][1]["lines"][-1]
    assert shop.ask("e1", "remove_line", line=more["id"], seen=more["amount_plain"])["view"]["total"] == "$180.00"
    whys = [event.why for event in history(shop.store, "e1") if event.why]
    assert whys == ["a slip", "second visit"]


def test_a_draft_becomes_whole_when_the_list_is_signed(shop: Shop):
    walkaround = shop.add("Front pads are worn out, replace them.")
    estimate = shop.estimate(walkaround)
    state = shop.get(f"/api/estimates/{estimate}")
    assert state["view"]["draft"]
    assert not state["behind"]
    shop.settle(walkaround)
    assert shop.get(f"/api/estimates/{estimate}")["behind"]
    line = line_of(shop.view(estimate))
    shop.ask(estimate, "line", line=line["id"], field="unit_price", to="33", seen=line["unit_price"])
    again = shop.client.post(f"/api/estimates/{estimate}/again").json()
    assert not again["view"]["draft"]
    assert not again["behind"]
    assert line_of(again["view"])["unit_price"] == "33", "what was edited stays"


def test_the_list_and_its_search(shop: Shop):
    shop.estimate()
    assert "/estimates/e1" in shop.text("/estimates")
    assert "/estimates/e1" in shop.text("/estimates?q=joan")
    assert "Nothing matches" in shop.text("/estimates?q=zebra")
    assert "Make the estimate" in shop.text("/walkarounds/w1/about")
    assert "Estimate e1" in shop.text("/estimates/e1")


@pytest.mark.parametrize(
    "path", ["/estimates/e9", "/api/estimates/e9", "/estimates/zz/paper", "/api/estimates/e9/live"]
)
def test_one_that_is_not_there(shop: Shop, path: str):
    assert shop.client.get(path).status_code == 404


def test_a_technician_looks_and_does_not_change(shop: Shop):
    shop.estimate()
    shop.sign_in_as("technician")
    assert "Estimate e1" in shop.text("/estimates/e1")
    assert (
        shop.client.post("/api/estimates/e1/changes", json={"do": "deposit", "to": "1", "seen": "0"}).status_code == 403
    )
    assert shop.client.post("/api/estimates/e1/undo").status_code == 403
    assert shop.client.post("/walkarounds/w1/estimate").status_code == 403
    assert shop.client.get("/prices").status_code == 403
    assert shop.client.get("/offers").status_code == 403


def test_nobody_looks_without_signing_in(shop: Shop):
    shop.estimate()
    shop.sign_in_as("advisor")
    shop.client.cookies.clear()
    assert shop.client.get("/api/estimates/e1").status_code == 401
    assert shop.client.get("/estimates/e1").status_code == 303
    assert shop.client.get("/estimates/e1/paper").status_code == 303
