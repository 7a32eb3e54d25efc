"""What the server gives the recording page: itself, what keeps it on the phone, and orders without customers."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from narrate.records.order import Customer, Order, OrderVehicle
from narrate.review import capture_page
from narrate.review.app import make_app
from narrate.review.desk import make_desk
from narrate.settings import Settings
from narrate.store.engine import Store, open_store
from narrate.store.orders import add_order
from narrate.store.people import add_person

HERE = "http://127.0.0.1:8000"


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = open_store(tmp_path / "data")
    yield opened
    opened.close()


@pytest.fixture
def page(store: Store) -> TestClient:
    return TestClient(make_app(make_desk(store, Settings())), base_url=HERE, follow_redirects=False)


def shell(script: str) -> list[str]:
    """The paths that the phone keeps."""
    line = next(line for line in script.splitlines() if line.startswith("const SHELL"))
    return [part.strip().strip('"') for part in line.split("[")[1].split("]")[0].split(",")]


def test_the_page_says_what_can_be_said(page: TestClient):
    answer = page.get("/capture")
    assert answer.status_code == 200
    assert "“australia take that back”" in answer.text
    assert "<script>" not in answer.text


def test_the_phone_keeps_everything_that_the_page_asks_for(page: TestClient):
    answer = page.get("/capture-worker.js")
    assert answer.headers["content-type"].startswith("text/javascript")
    paths = shell(answer.text)
    assert paths[0] == "/capture"
    for path in paths:
        assert page.get(path).status_code == 200, path
        text = page.get(path).text if path.endswith(".js") else ""
        for line in text.splitlines():
            if line.startswith("import "):
                assert f"/static/{line.rsplit('./', 1)[1].split(chr(34))[0]}" in paths
    assert "/static/capture_worklet.js" in paths
    assert "/static/capture_shell.js" not in paths


def test_a_changed_page_is_another_script(page: TestClient, monkeypatch: pytest.MonkeyPatch):
    before = page.get("/capture-worker.js").text
    assert page.get("/capture-worker.js").text == before
    monkeypatch.setattr(capture_page, "BUTTONS", (("mark", "Mark"),))
    assert page.get("/capture-worker.js").text.splitlines()[0] != before.splitlines()[0]


def test_the_page_can_be_installed(page: TestClient):
    answer = page.get("/capture.webmanifest")
    assert answer.headers["content-type"] == "application/manifest+json"
    manifest = answer.json()
    assert manifest["start_url"] == manifest["scope"] == "/capture"
    for icon in manifest["icons"]:
        assert page.get(icon["src"]).status_code == 200


def test_orders_are_told_without_their_customers(page: TestClient, store: Store):
    vehicle = OrderVehicle(plate="7ABC123", year=2019, make="Ford", model="F-150")
    customer = Customer(name="Pat Doe", phone="555 0100")
    number = add_order(store, Order(number="1040", vehicle=vehicle, customer=customer), who="Test")
    answer = page.get("/api/capture-orders")
    assert answer.json() == {
        "orders": [{"visit": number, "number": "1040", "plate": "7ABC123", "vehicle": "2019 Ford F-150"}]
    }
    assert "Pat" not in answer.text


def test_whoever_is_not_signed_in_gets_nothing_of_the_shop(page: TestClient, store: Store):
    add_person(store, name="Robin", role="owner", who="Test", pin="482913")
    assert page.get("/capture").status_code == 303
    assert page.get("/api/capture-orders").status_code == 401
    assert page.get("/capture.webmanifest").status_code == 200
