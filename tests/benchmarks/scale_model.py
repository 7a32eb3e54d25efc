"""Days of many shops, simulated event by event: recordings come in, machines hear them, one writer keeps what was made.

A cell is one store with its shops and machines. Cells share nothing, so that many are one, many times over.
"""

import heapq
import random
from bisect import bisect
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import accumulate

DAY_S = 86_400.0
PEAKS = ((6.5, 7.5, 0.04), (7.5, 9.5, 0.25), (9.5, 16.5, 0.26), (16.5, 18.0, 0.45))
"""From hour, to hour, share of a day's recordings: opening and closing, all shops in one time zone (the worst case)."""


@dataclass(frozen=True, kw_only=True)
class Machine:
    """A kind of machine: how many processes hear on it at once, and how many seconds of sound each does in one."""

    name: str
    processes: int
    times_real: float
    dollars_an_hour: float


@dataclass(frozen=True, kw_only=True)
class Cell:
    """What is simulated. Times are seconds."""

    shops: int
    machine: Machine
    machines: int
    recordings_a_shop: float = 40.0
    sound_s: float = 89.0
    sound_spread: float = 0.6
    """The standard deviation of the sound's logarithm."""
    around_s: float = 0.5
    """What a recording takes besides hearing: to be told of, fetched, found in, judged."""
    finish_s: float = 0.015
    """How long the one writer is held for what was made of a recording."""
    again: float = 0.01
    """The share of recordings that fail once and are heard again."""
    hours_between_losses: float = 200.0
    """Of one machine."""
    back_after_s: float = 600.0
    lease_s: float = 120.0


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What came of a day."""

    waits: list[tuple[float, float]]
    """When each recording came, and how long it took until it was kept."""
    longest_line: int
    writer_busy: float
    """The share of the busiest quarter of an hour in which the writer was held; over 1: it fell behind."""
    worked_s: float
    """Of all processes."""
    heard: int
    """How often recordings were heard, those lost and heard again counted each time."""
    lost_machines: int

    def within(self, share: float) -> float:
        """In how many seconds so many of the recordings were kept."""
        waits = sorted(wait for _, wait in self.waits)
        return waits[min(len(waits) - 1, int(share * len(waits)))] if waits else 0.0


def arrivals(cell: Cell, chance: random.Random) -> list[tuple[float, float]]:
    """When recordings come in, in order, and how long their sound is."""
    ends = list(accumulate(share for _, _, share in PEAKS))
    middle = cell.sound_s * 2.718281828 ** (-(cell.sound_spread**2) / 2)
    found = []
    for _ in range(round(cell.shops * cell.recordings_a_shop)):
        begin, end, _ = PEAKS[bisect(ends, chance.random() * ends[-1])]
        sound_s = middle * chance.lognormvariate(0.0, cell.sound_spread)
        found.append((3600 * chance.uniform(begin, end), sound_s))
    return sorted(found)


def simulate(cell: Cell, seed: int = 15) -> Outcome:
    """One day of a cell, until the last recording is kept."""
    return _Day(cell, random.Random(seed)).run()


class _Day:
    """The day under way. Events are (when, order, what, about); a machine lost has another `life` afterwards."""

    def __init__(self, cell: Cell, chance: random.Random) -> None:
        self.cell, self.chance = cell, chance
        self.jobs = arrivals(cell, chance)
        self.order = 0
        self.events: list[tuple[float, int, str, tuple[int, ...]]] = []
        self.line: deque[int] = deque()
        self.free = [machine for machine in range(cell.machines) for _ in range(cell.machine.processes)]
        self.life = [0] * cell.machines
        self.in_hand: list[set[int]] = [set() for _ in range(cell.machines)]
        self.writer_free, self.writes = 0.0, [0.0] * 400
        self.kept: dict[int, float] = {}
        self.longest = self.heard = self.lost = 0
        self.worked_s = 0.0

    def run(self) -> Outcome:
        for number, (when, _) in enumerate(self.jobs):
            self._at(when, "came", number)
        for machine in range(self.cell.machines):
            self._at(self._next_loss(0.0), "lost", machine)
        while len(self.kept) < len(self.jobs):
            when, _, what, about = heapq.heappop(self.events)
            getattr(self, f"_{what}")(when, *about)
            self._give_out(when)
        waits = [(self.jobs[number][0], when - self.jobs[number][0]) for number, when in self.kept.items()]
        return Outcome(
            waits=waits,
            longest_line=self.longest,
            writer_busy=max(self.writes) / 900.0,
            worked_s=self.worked_s,
            heard=self.heard,
            lost_machines=self.lost,
        )

    def _at(self, when: float, what: str, *about: int) -> None:
        self.order += 1
        heapq.heappush(self.events, (when, self.order, what, about))

    def _next_loss(self, when: float) -> float:
        return when + self.chance.expovariate(1 / (3600 * self.cell.hours_between_losses))

    def _came(self, when: float, number: int) -> None:
        self.line.append(number)
        self.longest = max(self.longest, len(self.line))

    def _give_out(self, when: float) -> None:
        while self.line and self.free:
            machine = self.free.pop()
            number = self.line.popleft()
            self.in_hand[machine].add(number)
            took_s = self.cell.around_s + self.jobs[number][1] / self.cell.machine.times_real
            self.heard += 1
            self.worked_s += took_s
            self._at(when + took_s, "made", number, machine, self.life[machine])

    def _made(self, when: float, number: int, machine: int, life: int) -> None:
        """It is heard, and waits for the writer; the process waits with it."""
        if life != self.life[machine]:
            return
        if self.chance.random() < self.cell.again:
            self._let_go(number, machine)
            self._came(when, number)
            return
        self.writer_free = max(when, self.writer_free) + self.cell.finish_s
        self.writes[min(399, int(when // 900))] += self.cell.finish_s
        self._at(self.writer_free, "finished", number, machine, life)

    def _finished(self, when: float, number: int, machine: int, life: int) -> None:
        if life == self.life[machine]:
            self._let_go(number, machine)
            self.kept[number] = when

    def _let_go(self, number: int, machine: int) -> None:
        self.in_hand[machine].discard(number)
        self.free.append(machine)

    def _lost(self, when: float, machine: int) -> None:
        """What it had in hand waits for its lease to run out; another machine comes in its place."""
        self.lost += 1
        self.life[machine] += 1
        self.free = [each for each in self.free if each != machine]
        for number in self.in_hand[machine]:
            self._at(when + self.cell.lease_s, "came", number)
        self.in_hand[machine].clear()
        self._at(when + self.cell.back_after_s, "back", machine)

    def _back(self, when: float, machine: int) -> None:
        self.free += [machine] * self.cell.machine.processes
        self._at(self._next_loss(when), "lost", machine)


def fewest(cell: Cell, share: float, within_s: float) -> tuple[Cell, Outcome]:
    """The fewest machines with which so many of a day's recordings are kept in time, and what comes of the day.

    Raises ValueError where no number of machines does: something else is too slow.
    """

    def tried(machines: int) -> tuple[Cell, Outcome]:
        fitted = replace(cell, machines=machines)
        return fitted, simulate(fitted)

    low, high = 0, 1
    best = tried(high)
    while best[1].within(share) > within_s:
        if best[1].writer_busy > 1 or high > 4096:
            message = f"{cell.shops} shops are too many for one store: its writer falls behind."
            raise ValueError(message)
        low, high = high, 2 * high
        best = tried(high)
    while high - low > max(1, high // 50):
        middle = (low + high) // 2
        found = tried(middle)
        if found[1].within(share) > within_s:
            low = middle
        else:
            high, best = middle, found
    return best


def by_quarter(outcome: Outcome, share: float = 0.95) -> Iterator[tuple[float, int, float]]:
    """For each quarter of an hour: its hour, recordings that came, and in how many seconds so many were kept."""
    for quarter in range(96):
        waits = sorted(wait for came, wait in outcome.waits if came // 900 == quarter)
        yield quarter / 4, len(waits), waits[min(len(waits) - 1, int(share * len(waits)))] if waits else 0.0
