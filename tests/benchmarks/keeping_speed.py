"""How long backing up, restoring, checking and forgetting take, and how far a backup holds writers up.

Run from the repository root: `python tests/benchmarks/keeping_speed.py [WALKAROUNDS]`. Recordings are noise of 240 kB
each. The result goes to results/keeping_speed.json.
"""

import json
import os
import sys
import tempfile
import threading
import time
from contextlib import closing
from pathlib import Path

from narrate.find.mining import text_recording
from narrate.pipeline import process_words
from narrate.records.order import Customer, Order, OrderVehicle
from narrate.settings import Settings
from narrate.store.backing_up import back_up
from narrate.store.engine import Store, open_store
from narrate.store.forget_plan import ALL
from narrate.store.forgetting import forget, plan_customer
from narrate.store.orders import add_order, attach
from narrate.store.recordings import keep_recording
from narrate.store.restoring import restore
from narrate.store.shop import change_shop
from narrate.store.verifying import verify
from narrate.store.walkarounds import add_walkaround
from narrate.words.load import load_lexicon

RESULT = Path(__file__).parent / "results" / "keeping_speed.json"
SAID = (
    "customer says it grinds when braking. front pads are at three millimeters, replace them. left rear tire is at "
    "four thirty seconds. the serpentine belt is cracked, recommend a new one. oil is seeping at the valve cover. "
)
SOUND_BYTES = 240_000


def filled(folder: Path, count: int) -> Store:
    """A store with so many customers, each with an order, a recording and a walkaround."""
    store = open_store(folder / "data")
    found = process_words([text_recording(SAID * 4, name="bay.ogg")], settings=Settings(), lexicon=load_lexicon())
    for number in range(count):
        file = folder / "sound"
        file.write_bytes(os.urandom(SOUND_BYTES))
        sha256 = keep_recording(store, file, name="bay.ogg", suffix=".ogg", duration_s=60.0)
        recordings = (found.recordings[0].model_copy(update={"sha256": sha256}),)
        vehicle = OrderVehicle(plate=f"P {number}")
        order = Order(number=f"R-{number}", vehicle=vehicle, customer=Customer(name=f"Customer {number}"))
        id_ = add_walkaround(store, found.model_copy(update={"recordings": recordings}), who="Dana")
        attach(store, id_, add_order(store, order, who="Dana"), who="Dana")
    return store


def longest_write_s(store: Store, over: threading.Event, waits: list[float]) -> None:
    """Write small changes until it is over; keep how long each took."""
    number = 0
    while not over.is_set():
        number += 1
        began = time.perf_counter()
        change_shop(store, {"name": f"Garage {number}"}, who="Ann")
        waits.append(time.perf_counter() - began)
        time.sleep(0.01)


def main() -> None:
    """Measure and write the result."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    with tempfile.TemporaryDirectory(prefix="narrate-") as place:
        folder = Path(place)
        figures: dict[str, float] = {"walkarounds": count, "load": os.getloadavg()[0]}
        with closing(filled(folder, count)) as store:
            waits: list[float] = []
            over = threading.Event()
            writer = threading.Thread(target=longest_write_s, args=(store, over, waits))
            writer.start()
            began = time.perf_counter()
            made = back_up(store, folder / "shop.tar")
            figures["backup_s"] = time.perf_counter() - began
            over.set()
            writer.join()
            figures |= {"backup_mb": made.bytes / 1e6, "writes_meanwhile": len(waits), "longest_write_s": max(waits)}
            began = time.perf_counter()
            restored = restore(folder / "shop.tar", folder / "again")
            figures["restore_s"] = time.perf_counter() - began
            assert restored.problems == ()
            began = time.perf_counter()
            assert verify(store) == []
            figures["check_s"] = time.perf_counter() - began
            began = time.perf_counter()
            for number in range(1, 21):
                forget(store, plan_customer(store, str(number), ALL), who="Ann")
            figures["forget_customer_s"] = (time.perf_counter() - began) / 20
            assert verify(store) == []
    rounded = {key: round(value, 3) for key, value in figures.items()}
    RESULT.write_text(json.dumps(rounded, indent=1) + "\n", "utf-8")
    print(json.dumps(rounded, indent=1))


if __name__ == "__main__":
    main()
