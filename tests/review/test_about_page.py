"""The page around a walk-round: its head, its order, its files, its history."""

import csv
import io
import json
import re
import zipfile
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest
from corrected import AT, SAID, found
from whole_page import Page

from narrate.records.order import Customer, Order, OrderVehicle
from narrate.records.reviewed import Signed
from narrate.records.walkaround import Odometer
from narrate.store.orders import add_order
from narrate.store.vehicles import vehicle_of
from narrate.store.walkarounds import history

FIELDS = ("order_number", "technician", "plate", "vin", "year", "make", "model", "odometer")


@pytest.fixture
def page(tmp_path: Path) -> Iterator[Page]:
    page = Page(tmp_path)
    yield page
    page.close()


def form_of(shown: str) -> dict[str, str]:
    """The head form as a browser would send it back."""
    names = [*FIELDS, *(f"seen_{field}" for field in FIELDS)]
    return {name: re.findall(f'name="{name}" value="([^"]*)"', shown)[0] for name in names}


def test_the_page_shows_head_files_and_history(page: Page) -> None:
    id_ = page.add(plate="7ABC123", odometer=Odometer(value=Decimal(48210), unit="mi"))
    page.change(id_, "drop", finding="f2", why="of the car before")
    shown = page.text(f"/walkarounds/{id_}/about")
    assert form_of(shown) == {
        **dict.fromkeys([*FIELDS, *(f"seen_{field}" for field in FIELDS)], ""),
        **dict.fromkeys(("plate", "seen_plate"), "7ABC123"),
        **dict.fromkeys(("odometer", "seen_odometer"), "48210 mi"),
    }
    for name in ("csv", "xlsx", "json", "html", "svg"):
        assert f'href="/walkarounds/{id_}/files/findings.{name}"' in shown
    assert "of the car before" in shown
    assert shown.index("dropped f2") < shown.index("heard and found"), "the latest comes first"


def test_only_what_was_typed_anew_changes(page: Page) -> None:
    id_ = page.add(plate="7ABC123", make="Toyota")
    form = form_of(page.text(f"/walkarounds/{id_}/about"))
    # Meanwhile somebody else changes what this form does not touch.
    page.change(id_, "head", field="make", to="Honda", seen="Toyota")
    form |= {"year": "2015", "odometer": "48,210 Mi", "technician": " Sam "}
    answer = page.client.post(f"/walkarounds/{id_}/head", data=form)
    assert (answer.status_code, answer.headers["location"]) == (303, f"/walkarounds/{id_}/about")
    walkaround = page.held(id_).walkaround
    assert (walkaround.vehicle.year, walkaround.vehicle.make, walkaround.technician) == (2015, "Honda", "Sam")
    assert walkaround.vehicle.odometer == Odometer(value=Decimal(48210), unit="mi")
    events = [event for event in history(page.store, id_) if event.what == "head"]
    assert len(events) == 1 + 3, "one event for each line that was changed"


def test_a_form_sent_as_it_was_changes_nothing(page: Page) -> None:
    id_ = page.add(plate="7ABC123", year=2015, odometer=Odometer(value=Decimal("48210.5"), unit="km"))
    before = page.held(id_)
    form = form_of(page.text(f"/walkarounds/{id_}/about"))
    assert page.client.post(f"/walkarounds/{id_}/head", data=form).status_code == 303
    assert page.held(id_) == before


def test_lines_can_be_emptied(page: Page) -> None:
    id_ = page.add(plate="7ABC123", year=2015, odometer=Odometer(value=Decimal("48210.567"), unit="km"))
    form = form_of(page.text(f"/walkarounds/{id_}/about")) | {"plate": "", "year": "", "odometer": ""}
    assert page.client.post(f"/walkarounds/{id_}/head", data=form).status_code == 303
    vehicle = page.held(id_).walkaround.vehicle
    assert (vehicle.plate, vehicle.year, vehicle.odometer) == (None, None, None)


@pytest.mark.parametrize(
    ("typed", "value", "unit"),
    [("48210 mi", "48210", "mi"), ("48,210mi", "48210", "mi"), ("77 600 KM", "77600", "km"), ("0.5 km", "0.5", "km")],
)
def test_distances_are_read(page: Page, typed: str, value: str, unit: str) -> None:
    id_ = page.add()
    form = form_of(page.text(f"/walkarounds/{id_}/about")) | {"odometer": typed}
    assert page.client.post(f"/walkarounds/{id_}/head", data=form).status_code == 303
    odometer = page.held(id_).walkaround.vehicle.odometer
    assert odometer is not None
    assert (str(odometer.value), odometer.unit) == (value, unit)


@pytest.mark.parametrize(
    ("field", "typed", "told"),
    [
        ("year", "15", "no year"),
        ("year", "soon", "no year"),
        ("year", "²⁰¹⁵", "no year"),
        ("year", "9" * 9000, "no year"),
        ("odometer", "48210", "with its unit"),
        ("odometer", "a lot of mi", "with its unit"),
        ("odometer", "48.210 km", "with its unit"),
        ("odometer", "1,2,3 mi", "with its unit"),
        ("odometer", "1.2.3 mi", "with its unit"),
        ("odometer", "-5 km", "with its unit"),
    ],
)
def test_what_cannot_be_read_is_told_and_the_form_kept(page: Page, field: str, typed: str, told: str) -> None:
    id_ = page.add(plate="7ABC123")
    before = page.held(id_)
    form = form_of(page.text(f"/walkarounds/{id_}/about")) | {"plate": "NEW1", field: typed}
    answer = page.client.post(f"/walkarounds/{id_}/head", data=form)
    assert answer.status_code == 422
    [sentence] = re.findall('role="alert">([^<]*)<', answer.text)
    assert told in sentence
    assert len(sentence) < 150
    assert form_of(answer.text) == form, "what was typed stands there still, beside what was shown"
    assert page.held(id_) == before, "no line is kept where one cannot be read"


def test_a_conflict_is_told_and_what_was_typed_is_kept(page: Page) -> None:
    id_ = page.add(plate="7ABC123")
    form = form_of(page.text(f"/walkarounds/{id_}/about")) | {"plate": "MINE1"}
    page.change(id_, "head", field="plate", to="THEIRS1", seen="7ABC123")
    page.change(id_, "head", field="make", to="Honda", seen=None)
    answer = page.client.post(f"/walkarounds/{id_}/head", data=form)
    assert answer.status_code == 409
    assert "THEIRS1" in answer.text
    again = form_of(answer.text)
    assert (again["plate"], again["seen_plate"]) == ("MINE1", "THEIRS1")
    assert (again["make"], again["seen_make"]) == ("Honda", "Honda"), "what was not touched is as it is now"
    assert page.client.post(f"/walkarounds/{id_}/head", data=again).status_code == 303
    assert page.held(id_).walkaround.vehicle.plate == "MINE1"


def test_a_signed_one_keeps_its_head(page: Page) -> None:
    id_ = page.keep(found(SAID).model_copy(update={"signed": Signed(by="Ann", at=AT)}))
    form = form_of(page.text(f"/walkarounds/{id_}/about")) | {"plate": "NEW1"}
    answer = page.client.post(f"/walkarounds/{id_}/head", data=form)
    assert answer.status_code == 422
    assert "reopen" in answer.text


def test_an_order_brings_its_concerns_and_vehicle(page: Page) -> None:
    id_ = page.add()
    order = Order(
        number="R-77",
        customer=Customer(name="Ida Ödegård"),
        vehicle=OrderVehicle(plate="7ABC123", make="Toyota"),
        concerns=("the heater smells",),
    )
    visit = add_order(page.store, order, who="Ann")
    shown = page.text(f"/walkarounds/{id_}/about")
    assert "R-77 – Ida Ödegård – 7ABC123 – Toyota" in shown
    answer = page.client.post(f"/walkarounds/{id_}/order", data={"visit": str(visit)})
    assert (answer.status_code, answer.headers["location"]) == (303, f"/walkarounds/{id_}/about")
    held = page.held(id_)
    assert held.visit_id == visit
    assert held.walkaround.order_number == "R-77"
    assert held.walkaround.vehicle.plate == "7ABC123"
    assert "the heater smells" in [concern.text for concern in held.walkaround.concerns]
    assert vehicle_of(page.store, id_) is not None


@pytest.mark.parametrize(("visit", "status"), [("99", 404), ("x", 422), ("", 422), ("9" * 30, 422), ("-1", 422)])
def test_an_order_that_is_not_there_cannot_be_tied(page: Page, visit: str, status: int) -> None:
    id_ = page.add()
    answer = page.client.post(f"/walkarounds/{id_}/order", data={"visit": visit})
    assert answer.status_code == status
    assert "That did not work" in answer.text
    assert page.held(id_).visit_id is None


def test_files_are_sent_to_be_kept(page: Page) -> None:
    id_ = page.add(plate="7ABC123")
    contents = {}
    for name, kind in (
        ("csv", "text/csv"),
        ("xlsx", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"),
        ("json", "application/json"),
        ("html", "text/html"),
        ("svg", "image/svg+xml"),
    ):
        answer = page.client.get(f"/walkarounds/{id_}/files/findings.{name}")
        assert answer.status_code == 200
        assert answer.headers["content-type"].startswith(kind)
        assert answer.headers["content-disposition"] == f'attachment; filename="{id_}-findings.{name}"'
        contents[name] = answer.content
    rows = list(csv.reader(io.StringIO(contents["csv"].decode("utf-8-sig"))))
    assert len(rows) >= 1 + len(found(SAID).findings)
    assert zipfile.ZipFile(io.BytesIO(contents["xlsx"])).testzip() is None
    findings = json.loads(contents["json"])["findings"]
    assert [each["id"] for each in findings] == [each.id for each in found(SAID).findings]
    assert b"brake pad" in contents["html"]
    assert contents["svg"].lstrip().startswith((b"<svg", b"<?xml"))


@pytest.mark.parametrize(
    "name", ["findings.pdf", "passwd", "findings.csv.bak", "..%2f..%2fnarrate.sqlite3", "findings"]
)
def test_other_files_are_not_there(page: Page, name: str) -> None:
    id_ = page.add()
    answer = page.client.get(f"/walkarounds/{id_}/files/{name}")
    assert answer.status_code == 404
    assert "That did not work" in answer.text


def test_others_of_the_same_plate_are_offered_to_join(page: Page) -> None:
    id_ = page.add(plate="7ABC123")
    same = page.add(plate="7ABC123")
    other = page.add(plate="XYZ9")
    shown = page.text(f"/walkarounds/{id_}/about")
    assert f'<option value="{same}"' in shown
    assert f'<option value="{other}"' not in shown
    assert f'<option value="{id_}"' not in shown
    assert f'<option value="{same}"' in page.text(f"/walkarounds/{other}/about"), "without its like, the others wait"
