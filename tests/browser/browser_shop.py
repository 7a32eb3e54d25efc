"""A shop for the tests in a browser: a real server over a data folder, and walk-rounds put into it."""

import os
import re
import select
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from functools import cache
from pathlib import Path
from urllib.request import urlopen

from narrate.find.mining import text_recording
from narrate.pipeline import process_words
from narrate.records.order import Order, OrderVehicle
from narrate.records.recording import Recording, Word
from narrate.records.walkaround import Finding, Walkaround
from narrate.settings import Settings
from narrate.store.engine import open_store
from narrate.store.orders import add_order, read_visit
from narrate.store.recordings import keep_recording
from narrate.store.walkarounds import add_walkaround, history, read_walkaround
from narrate.words.lexicon import Lexicon
from narrate.words.load import load_lexicon

SAMPLES = Path(__file__).parents[2] / "sample_audio"
SOUND = SAMPLES / "compact_brakes_tires.ogg"
WORD_S = 0.4
UP_WITHIN_S = 60
TEXT = (
    "Front pads are at three millimeters, rotors are scored, recommend pads and rotors. "
    "Left rear tire has a nail in it, needs a patch. Air filter looks okay. "
    "The thingamajig is wobbling around. Both front lower ball joints have play. "
    "Wiper blades are torn, replace. Battery tested good at 12.6 volts."
)
"""Seven findings, one stretch that is not understood, and suggestions."""


class Shop:
    """One data folder and the server that shows it."""

    def __init__(self, data: Path, *options: str) -> None:
        self.data = data
        self.options = options
        self.store = open_store(data)
        self.server: subprocess.Popen[bytes] | None = None
        self.url = ""

    def start(self, port: int = 0) -> "Shop":
        """Start the server and wait until it has told where it is."""
        program = str(Path(sys.executable).with_name("narrate"))
        told = {key: value for key, value in os.environ.items() if key != "NARRATE_STORE"}
        self.server = subprocess.Popen(
            [program, "review", "--data", str(self.data), "--port", str(port), "--no-browser", *self.options],
            stderr=subprocess.PIPE,
            env=told,
        )
        self.url = _address(self.server)
        return self

    @property
    def port(self) -> int:
        return int(self.url.rsplit(":", 1)[1])

    def kill(self) -> None:
        """The power goes: no time to finish anything."""
        self._end(signal.SIGKILL)

    def stop(self, *, quickly: bool = True) -> None:
        """End it as Ctrl+C does, or `quickly`, where nothing is to be finished."""
        self._end(signal.SIGKILL if quickly else signal.SIGINT)
        self.store.close()

    def _end(self, how: signal.Signals) -> None:
        if self.server is None:
            return
        self.server.send_signal(how)
        self.server.wait(timeout=20)
        if self.server.stderr:
            self.server.stderr.close()
        self.server = None

    # --- what is put into it

    def add(self, text: str = TEXT, *, order: Order | None = None) -> str:
        """A walk-round from typed words; its id."""
        return self._add([text_recording(text)], order)

    def add_spoken(self, text: str = TEXT, *, sound: Path = SOUND) -> str:
        """A walk-round with sound to listen to: one word every 0.4 s; what is really said there does not matter."""
        sha256 = keep_recording(self.store, sound, name=sound.name, suffix=sound.suffix)
        words = tuple(
            Word(text=word, start_s=number * WORD_S, end_s=(number + 1) * WORD_S, probability=0.9)
            for number, word in enumerate(text.split())
        )
        recording = Recording(name=sound.name, sha256=sha256, duration_s=len(words) * WORD_S, words=words)
        return self._add([recording], None)

    def add_order(self, order: Order) -> int:
        return add_order(self.store, order, who="Test")

    def _add(self, recordings: Sequence[Recording], order: Order | None) -> str:
        visit = None if order is None else read_visit(self.store, self.add_order(order))
        walkaround = process_words(recordings, settings=Settings(), lexicon=words_known(), order=order)
        return add_walkaround(
            self.store, walkaround, who="Test", visit_id=visit and visit.id, vehicle_id=visit and visit.vehicle_id
        )

    # --- what is in it

    def walkaround(self, id_: str) -> Walkaround:
        return read_walkaround(self.store, id_).walkaround

    def revision(self, id_: str) -> int:
        return read_walkaround(self.store, id_).revision

    def finding(self, id_: str, finding: str) -> Finding:
        return next(each for each in self.walkaround(id_).findings if each.id == finding)

    def whats(self, id_: str) -> list[str]:
        """What was done, the oldest first."""
        return [event.what for event in history(self.store, id_)]


@cache
def words_known() -> Lexicon:
    return load_lexicon()


def order(number: str, *, plate: str = "7ABC123", concerns: tuple[str, ...] = ()) -> Order:
    vehicle = OrderVehicle(plate=plate, year=2019, make="Ford", model="F-150")
    return Order(number=number, technician="Dana", vehicle=vehicle, concerns=concerns)


def until(true: Callable[[], object], *, within_s: float = 40) -> None:
    """Wait for something that another program does."""
    end = time.monotonic() + within_s
    while not true():
        assert time.monotonic() < end, f"it did not come true within {within_s} s"
        time.sleep(0.05)


def _address(server: subprocess.Popen[bytes]) -> str:
    told = b""
    end = time.monotonic() + UP_WITHIN_S
    pipe = server.stderr
    assert pipe is not None
    while time.monotonic() < end:
        ready, _, _ = select.select([pipe], [], [], 0.2)
        if ready:
            told += os.read(pipe.fileno(), 4096)
        if found := re.search(rb"http://127\.0\.0\.1:\d+", told):
            url = found[0].decode()
            with urlopen(f"{url}/static/base.css", timeout=20) as answer:
                assert answer.status == 200
            return url
        assert server.poll() is None, told.decode()
    message = f"The server told no address within {UP_WITHIN_S} s: {told.decode()}"
    raise AssertionError(message)
