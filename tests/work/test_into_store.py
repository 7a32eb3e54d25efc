"""Walkarounds made from files are kept in the store once, with their recordings and their order."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from narrate import find_in_text
from narrate.hear.digests import sha256_of
from narrate.records.order import Order
from narrate.records.walkaround import Walkaround
from narrate.store.engine import Store, open_store
from narrate.store.orders import list_orders
from narrate.store.recordings import recording_file
from narrate.store.walkarounds import read_walkaround
from narrate.work.into_store import keep_walkaround

SAMPLE = Path(__file__).parents[2] / "sample_audio" / "compact_brakes_tires.ogg"


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = open_store(tmp_path / "data")
    yield opened
    opened.close()


@pytest.fixture
def made() -> Walkaround:
    found = find_in_text("left front tire is worn out, replace it")
    heard = found.recordings[0].model_copy(update={"sha256": sha256_of(SAMPLE)})
    return found.model_copy(update={"recordings": (heard,)})


def test_walkaround_and_recording_are_kept_once(store: Store, made: Walkaround) -> None:
    """Kept twice gives the same walkaround; the recording lies there byte for byte."""
    first = keep_walkaround(store, made, [SAMPLE])
    assert keep_walkaround(store, made, [SAMPLE]) == first
    assert read_walkaround(store, first).walkaround.findings == made.findings
    assert recording_file(store, sha256_of(SAMPLE)).read_bytes() == SAMPLE.read_bytes()


def test_an_order_is_found_by_its_number(store: Store, made: Walkaround, tmp_path: Path) -> None:
    """Two recordings of one order number make one order with two walkarounds."""
    other = tmp_path / "other.ogg"
    other.write_bytes(SAMPLE.read_bytes() + b"\0")
    again = made.recordings[0].model_copy(update={"sha256": sha256_of(other)})
    order = Order(number="4711")
    first = keep_walkaround(store, made, [SAMPLE], order=order)
    second = keep_walkaround(store, made.model_copy(update={"recordings": (again,)}), [other], order=order)
    assert first != second
    assert [each.order.number for each in list_orders(store)] == ["4711"]
    assert read_walkaround(store, first).visit_id == read_walkaround(store, second).visit_id
