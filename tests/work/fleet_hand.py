"""A worker of a fleet in a process of its own, with steps that take a while and hear nothing."""

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from narrate.hear.digests import sha256_of
from narrate.records.order import Order
from narrate.records.recording import Recording
from narrate.records.walkaround import Concern, MadeBy, Walkaround
from narrate.store.engine import open_store
from narrate.work import fleet, fleet_member, fleet_queue
from narrate.work.fleet_audio import shared_audio
from narrate.work.fleet_member import Member


@dataclass(frozen=True)
class Slow:
    """Steps that take `delay_s` and say everywhere which lexicon they had."""

    lexicon: str = "sha256:old"
    delay_s: float = 0.0
    hang_at: Path | None = None
    """Where this file lies, it goes away and the steps hang."""

    def process(
        self, paths: Sequence[Path], *, order: Order | None, progress: Callable[[float, float], None]
    ) -> Walkaround:
        for step in range(5):
            time.sleep(self.delay_s / 5)
            progress(step + 1.0, 5.0)
        if self.hang_at and self.hang_at.exists():
            self.hang_at.unlink()
            time.sleep(600)
        made = tuple(Recording(id=f"r{n}", name=p.name, sha256=sha256_of(p)) for n, p in enumerate(paths, 1))
        concerns = tuple(Concern(id=f"c{n}", text=self.lexicon, origin="spoken") for n in range(1, 4))
        by = MadeBy(program="p", lexicon=self.lexicon, settings="s")
        return Walkaround(made_by=by, recordings=made, concerns=concerns)

    def find(self, recordings: Sequence[Recording], *, order: Order | None) -> Walkaround:
        raise NotImplementedError

    def compare(self, walkaround: Walkaround, *, order: Order | None, previous: Walkaround | None) -> Walkaround:
        return walkaround


QUICK = (
    (fleet, "LOOK_EVERY_S", 0.3),
    (fleet, "SWEEP_EVERY_S", 1.0),
    (fleet_member, "TELL_EVERY_S", 0.1),
    (fleet_member, "PAUSE_S", 0.1),
    (fleet_queue, "LOOK_EVERY_S", 0.5),
    (fleet_queue, "HEARTBEAT_S", 0.3),
    (fleet_queue, "SILENT_S", 1.5),
)
"""How often things are looked at for which a test has no patience."""


def work(
    data: Path, url: str, steps: Slow, *, lease_s: float = 1.0, limit_s: float | None = None, audio: str | None = None
) -> None:
    """Work until killed. Forked from a process without threads, so that it begins at once."""
    for module, name, value in QUICK:
        setattr(module, name, value)
    store = open_store(data, url)
    place = shared_audio(store, audio) if audio else None
    member = Member(store=store, steps=steps, lease_s=lease_s, limit_s=limit_s, audio=place, most_silent=50)
    fleet.work_in_fleet(member, device="cpu", once=False)
