"""Stand-ins for a day's tests: files that say what is heard in them, and processes that are threads."""

import itertools
import threading
from collections.abc import Callable, Sequence
from pathlib import Path

from narrate.errors import AudioError
from narrate.hear.digests import sha256_of
from narrate.records.order import Order
from narrate.records.recording import Recording, Word
from narrate.records.walkaround import Evidence, HeadingValue, MadeBy, Suggestion, Vehicle, Walkaround
from narrate.store.engine import Store
from narrate.work.queue import Steps, work_off

FIELDS = {"order": "order_number", "plate": "plate", "vin": "vin"}


class Said:
    """Hears what a file says: `order=1042 plate=7ABC123 pads worn`; `broken` cannot be used, `split` tells of two."""

    def __init__(self, at: Callable[[Path], None] = lambda _: None) -> None:
        self.at = at
        self.heard: list[str] = []

    def process(
        self, paths: Sequence[Path], *, order: Order | None, progress: Callable[[float, float], None]
    ) -> Walkaround:
        made = []
        for number, path in enumerate(paths, 1):
            progress(1.0, 2.0)
            self.at(path)
            text = path.read_text("utf-8").strip("\0\n ")
            self.heard.append(text)
            if "broken" in text:
                message = f"{path.name} is not a recording that can be read; save it again."
                raise AudioError(message)
            words = tuple(Word(text=word) for word in text.split())
            made.append(Recording(id=f"r{number}", name=path.name, sha256=sha256_of(path), words=words))
        return self.find(made, order=order)

    def find(self, recordings: Sequence[Recording], *, order: Order | None) -> Walkaround:
        words = [(each, word.text) for each in recordings for word in each.words]
        said = {FIELDS[key]: value for _, word in words for key, _, value in [word.partition("=")] if key in FIELDS}
        heading = tuple(
            HeadingValue(field=field, value=value, evidence=_evidence(recordings[0])) for field, value in said.items()
        )
        number = (order and order.number) or said.get("order_number")
        plate = (order and order.vehicle.plate) or said.get("plate")
        split = any(word == "split" for _, word in words)
        return Walkaround(
            made_by=MadeBy(program="p", lexicon="l", settings="s"),
            recordings=tuple(recordings),
            order_number=number,
            vehicle=Vehicle(plate=plate, vin=said.get("vin")),
            heading=heading,
            suggestions=(Suggestion(id="s1", kind="split", text="two", source="test"),) if split else (),
        )

    def compare(self, walkaround: Walkaround, *, order: Order | None, previous: Walkaround | None) -> Walkaround:
        return walkaround


class Threaded:
    """A process that is a thread of this one."""

    numbers = itertools.count(2_000_000_000)

    def __init__(self, store: Store, steps: Steps) -> None:
        self.pid, self._ending = next(self.numbers), threading.Event()
        self._thread = threading.Thread(target=lambda: work_off(store, steps=steps, stop=self._ending.is_set))
        self._thread.start()

    def poll(self) -> int | None:
        return None if self._thread.is_alive() else 0

    def terminate(self) -> None:
        self._ending.set()

    def kill(self) -> None:
        self._ending.set()


def _evidence(recording: Recording) -> Evidence:
    return Evidence(recording=recording.id, first_word=0, last_word=0, said=recording.words[0].text)
