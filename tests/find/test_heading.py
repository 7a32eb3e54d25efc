"""What is said at the start about the job and the vehicle: sentences as technicians say and recognisers write them."""

import tomllib
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from narrate.find.draft import Draft
from narrate.find.heading import hush_heading, read_heading
from narrate.find.mining import find_findings, text_recording
from narrate.find.vocabulary import Vocabulary
from narrate.records.order import Order, OrderVehicle
from narrate.records.walkaround import MadeBy, Odometer, Walkaround
from narrate.words.lexicon import Lexicon

MADE_BY = MadeBy(program="narrate 0.0.0", lexicon="sha256:0", settings="sha256:0")
SAID = tomllib.loads(Path(__file__).with_name("headings.toml").read_text("utf-8"))
SPOKEN: list[tuple[str, str, dict[str, Any]]] = [(s["said"], s["market"], s["says"]) for s in SAID["spoken"]]
SILENT: list[str] = SAID["silent"]["said"]


def values(walkaround: Walkaround) -> dict[str, Any]:
    """Everything the heading filled."""
    vehicle = walkaround.vehicle
    odometer = vehicle.odometer
    known = {
        "order_number": walkaround.order_number,
        "technician": walkaround.technician,
        "vin": vehicle.vin,
        "plate": vehicle.plate,
        "year": vehicle.year,
        "make": vehicle.make,
        "model": vehicle.model,
        "odometer": f"{odometer.value} {odometer.unit}" if odometer else None,
    }
    return {name: value for name, value in known.items() if value is not None}


@pytest.fixture(scope="module")
def walk(lexicon: Lexicon) -> Callable[..., Walkaround]:
    """The walkaround of a text, with an order and a market."""

    def found(text: str, market: str = "us", order: Order | None = None) -> Walkaround:
        return find_findings([text_recording(text)], lexicon=lexicon, made_by=MADE_BY, market=market, order=order)

    return found


@pytest.mark.parametrize(("text", "market", "expected"), SPOKEN)
def test_what_is_said_at_the_start_fills_the_record(
    text: str, market: str, expected: dict[str, Any], walk: Callable[..., Walkaround]
) -> None:
    walkaround = walk(text, market)
    assert expected == values(walkaround)
    assert set(expected) == {value.field for value in walkaround.heading}


@pytest.mark.parametrize("text", SILENT)
def test_talk_of_other_things_fills_nothing(text: str, walk: Callable[..., Walkaround]) -> None:
    assert {} == values(walk(text))


@pytest.mark.parametrize(("text", "market", "expected"), SPOKEN)
def test_numbers_of_the_heading_measure_nothing(
    text: str, market: str, expected: dict[str, Any], walk: Callable[..., Walkaround]
) -> None:
    walkaround = walk(text, market)
    heard = {n for v in walkaround.heading for n in range(v.evidence.first_word, v.evidence.last_word + 1)}
    said = [word.text for word in walkaround.recordings[0].words]
    distances = [m for f in walkaround.findings for m in f.measurements if m.unit in ("mi", "km")]
    assert [] == distances
    assert [] == [p for f in walkaround.findings for p in f.quoted_prices]
    for unplaced in walkaround.unplaced:
        for piece in unplaced.evidence:
            inside = heard.intersection(range(piece.first_word, piece.last_word + 1))
            assert not any(said[number].strip(".,").isdecimal() for number in inside)


def test_each_value_says_where_it_was_said(walk: Callable[..., Walkaround]) -> None:
    """Evidence counts the words as heard and quotes them."""
    walkaround = walk("Okay, RO forty four seventy one, this is Dana on bay three.")
    told = [
        (v.field, v.value, v.evidence.first_word, v.evidence.last_word, v.evidence.said) for v in walkaround.heading
    ]
    assert told == [
        ("order_number", "4471", 1, 5, "RO forty four seventy one,"),
        ("technician", "Dana", 6, 8, "this is Dana"),
    ]


def test_the_stage_that_hushes_the_heading_leaves_it_as_readable_as_before(
    read: Callable[[str], Draft], ready: Vocabulary
) -> None:
    for text, _, _ in SPOKEN:
        draft = read(text)
        assert read_heading(draft, ready) == read_heading(hush_heading(draft, ready), ready)


def test_what_the_order_gave_stays_and_another_value_is_suggested(walk: Callable[..., Walkaround]) -> None:
    order = Order(number="5500", technician="Ana", vehicle=OrderVehicle(make="VW", plate="AB12 CDE"))
    text = "RO 5512, this is Dana. Volkswagen Golf, plate AB12 CDE. Front pads are worn."
    walkaround = walk(text, order=order)
    assert ("5500", "Ana", "VW") == (walkaround.order_number, walkaround.technician, walkaround.vehicle.make)
    assert "Golf" == walkaround.vehicle.model
    assert [("heading", "RO 5512,"), ("heading", "this is Dana.")] == [
        (s.kind, s.evidence[0].said) for s in walkaround.suggestions
    ]
    assert "5500" in walkaround.suggestions[0].text
    assert "5512" in walkaround.suggestions[0].text


@pytest.mark.parametrize(("market", "unit"), [("us", "mi"), ("gb", "mi"), ("eu", "km")])
def test_a_distance_without_its_unit_is_in_the_markets(market: str, unit: str, walk: Callable[..., Walkaround]) -> None:
    odometer = walk("ninety eight six on the clock, pads are fine", market).vehicle.odometer
    assert odometer is not None
    assert (Decimal(98600), unit) == (odometer.value, odometer.unit)


def test_a_unit_that_is_said_counts_in_every_market(walk: Callable[..., Walkaround]) -> None:
    assert Odometer(value=Decimal(120000), unit="km") == walk("clock says 120k kays", "us").vehicle.odometer


def test_the_heading_goes_on_as_long_as_it_is_told(walk: Callable[..., Walkaround]) -> None:
    """Far behind the start a number is of the job no more."""
    filler = "front pads are fine and the rotors are smooth. " * 9
    assert "plate" not in values(walk(filler + "plate AB12 CDE"))
